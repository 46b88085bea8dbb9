#include "output/cli/messages.hpp"

#include <spdlog/sinks/stdout_sinks.h>
#include <spdlog/spdlog.h>

#include <memory>

namespace platetally::cli {

namespace {

/// Plain lines: no time, no level.
spdlog::logger make_logger(const char* pattern) {
  spdlog::logger logger("platetally", std::make_shared<spdlog::sinks::stderr_sink_st>());
  logger.set_pattern(pattern);
  return logger;
}

}  // namespace

void say(std::string_view message) {
  make_logger("platetally: %v").info("{}", message);
}

void say_bare(std::string_view text) {
  while (text.ends_with('\n'))
    text.remove_suffix(1);
  make_logger("%v").info("{}", text);
}

std::string harmless(std::string_view text) {
  std::string out;
  for (const char c : text)
    out += static_cast<unsigned char>(c) < 0x20 || c == 0x7F ? '?' : c;
  return out;
}

}  // namespace platetally::cli
