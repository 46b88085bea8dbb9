// The member "made_from" of every report.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <vector>

#include "output/report/strings.hpp"
#include "platetally/report.hpp"

namespace platetally {

using report::json_string;

std::string to_json(const MadeFrom& made) {
  std::vector<std::string> plates;
  for (const PlateUsed& plate : made.plates)
    plates.push_back(fmt::format(R"({{"path": {}, "hash": {}}})", json_string(plate.path),
                                 plate.hash.empty() ? "null" : json_string(plate.hash)));
  std::vector<std::string> machines;
  for (const MachineUsed& machine : made.machines)
    machines.push_back(fmt::format(R"({{"name": {}, "hash": {}}})", json_string(machine.name),
                                   json_string(machine.hash)));
  std::vector<std::string> options;
  for (const auto& [name, value] : made.options)
    options.push_back(fmt::format("{}: {}", json_string(name), json_string(value)));
  return fmt::format(R"({{"program": {}, "plates": [{}], "machines": [{}], "options": {{{}}}}})",
                     json_string(kVersion), fmt::join(plates, ", "), fmt::join(machines, ", "),
                     fmt::join(options, ", "));
}

}  // namespace platetally
