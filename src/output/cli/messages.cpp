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
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto byte = static_cast<unsigned char>(text[i]);
    const auto next = i + 1 < text.size() ? static_cast<unsigned char>(text[i + 1]) : 0U;
    // U+0080 to U+009F are controls as well, in UTF-8 and, to some terminals, as single bytes.
    const bool pair = byte == 0xC2 && next >= 0x80 && next < 0xA0;
    const bool tail = byte >= 0x80 && byte < 0xC0;
    const bool lone = tail && (i == 0 || static_cast<unsigned char>(text[i - 1]) < 0x80);
    out += byte < 0x20 || byte == 0x7F || pair || lone ? '?' : text[i];
    i += pair ? 1 : 0;
  }
  return out;
}

}  // namespace platetally::cli
