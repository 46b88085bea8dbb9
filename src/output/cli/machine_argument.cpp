#include "output/cli/machine_argument.hpp"

#include <fmt/format.h>

#include "output/cli/commands.hpp"
#include "output/cli/messages.hpp"
#include "output/cli/usage.hpp"
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
  return std::move(load).machine();
}

void require_machine(const std::string& name_or_path) {
  if (name_or_path.empty())
    throw UsageError(fmt::format("say which machine: --machine FILE, or one of {}",
                                 listed(embedded_machine_names())));
}

}  // namespace platetally::cli
