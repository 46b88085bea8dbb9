#include "cli/machine_argument.hpp"

#include <fmt/format.h>

#include "cli/commands.hpp"
#include "cli/messages.hpp"
#include "platetally/report.hpp"

namespace platetally::cli {

void say_diagnostics(const std::vector<Diagnostic>& diagnostics, const std::string& path) {
  TextOptions options;
  options.width = 1000;  // one line each, for editors that jump to the place
  for (const Diagnostic& diagnostic : diagnostics)
    say_bare(to_text(diagnostic, path, options));
}

Machine load_machine_argument(const std::string& name_or_path) {
  MachineLoad load = load_machine(name_or_path);
  say_diagnostics(load.diagnostics, name_or_path);
  if (!load.ok())
    throw RunError(fmt::format("the machine '{}' cannot be used", name_or_path));
  return std::move(load.machine);
}

}  // namespace platetally::cli
