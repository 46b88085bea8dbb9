#include "output/cli/say_print.hpp"

#include <fmt/format.h>

#include "output/cli/clock.hpp"
#include "output/cli/messages.hpp"

namespace platetally::cli {

std::string line_of(const LoggedPrint& print) {
  std::string line = fmt::format("logged: {} on {}{}, finished {}", print.path, print.machine,
                                 print.unit.empty() ? "" : fmt::format(" ({})", print.unit),
                                 utc_moment(static_cast<double>(print.finished_s)));
  if (print.purge_g)
    line += fmt::format(", {:.2f} g purge", *print.purge_g);
  if (print.energy_wh)
    line += fmt::format(", {:.1f} Wh", *print.energy_wh);
  return harmless(line);
}

void say_print(const LoggedPrint& print) {
  if (print.counted)
    say(line_of(print));
  else
    say(harmless(print.is_fault ? print.why : fmt::format("{}: {}", print.path, print.why)));
}

}  // namespace platetally::cli
