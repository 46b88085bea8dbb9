#include "output/cli/terminal.hpp"

#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <cstdlib>
#include <string_view>

namespace platetally::cli {

namespace {

constexpr int kWidestProse = 100;

std::string_view environment(const char* name) {
  const char* value = std::getenv(name);
  return value == nullptr ? "" : value;
}

}  // namespace

bool wants_colour(const std::string& choice, bool to_standard_output) {
  if (choice != "auto" || !to_standard_output)
    return choice == "always" && to_standard_output;
  const std::string_view terminal = environment("TERM");
  return ::isatty(STDOUT_FILENO) == 1 && environment("NO_COLOR").empty() && !terminal.empty() &&
         terminal != "dumb";
}

bool standard_error_is_terminal() {
  return ::isatty(STDERR_FILENO) == 1;
}

int prose_width(bool to_standard_output) {
  winsize size{};
  if (!to_standard_output || ::isatty(STDOUT_FILENO) != 1 ||
      ::ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) != 0 || size.ws_col == 0)
    return kWidestProse;
  return std::min<int>(size.ws_col, kWidestProse);
}

}  // namespace platetally::cli
