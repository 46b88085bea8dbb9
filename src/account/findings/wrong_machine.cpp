#include "account/findings/wrong_machine.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

namespace platetally::findings {

namespace {

constexpr double kRoundingMm = 0.01;  // plates touch the very edge; coordinates have 3 decimals

double hottest_head_c(const Machine& machine) {
  double hottest_c = 0.0;
  for (const Head& head : machine.heads)
    hottest_c = std::max(hottest_c, head.maximum_c);
  return hottest_c;
}

bool fits_area(const ledgers::Demand& demand, const BuildArea& area) {
  return !demand.lays_anything() || (demand.x_min_mm >= area.x_min_mm - kRoundingMm &&
                                     demand.x_max_mm <= area.x_max_mm + kRoundingMm &&
                                     demand.y_min_mm >= area.y_min_mm - kRoundingMm &&
                                     demand.y_max_mm <= area.y_max_mm + kRoundingMm &&
                                     demand.z_max_mm <= area.z_max_mm + kRoundingMm);
}

/// How the plate could lie within the area: moved, turned, or smaller.
std::string nearest_place(const ledgers::Demand& demand, const BuildArea& area) {
  const double room_x_mm = area.x_max_mm - area.x_min_mm + kRoundingMm;
  const double room_y_mm = area.y_max_mm - area.y_min_mm + kRoundingMm;
  const double wide_mm = demand.x_max_mm - demand.x_min_mm;
  const double deep_mm = demand.y_max_mm - demand.y_min_mm;
  const auto least_shift = [](double from, double to, double low, double high) {
    return from < low ? low - from : std::min(0.0, high - to);
  };
  const bool high_enough = demand.z_max_mm <= area.z_max_mm + kRoundingMm;
  if (high_enough && wide_mm <= room_x_mm && deep_mm <= room_y_mm)
    return fmt::format("moved by x {:+.1f}, y {:+.1f} mm it fits",
                       least_shift(demand.x_min_mm, demand.x_max_mm, area.x_min_mm, area.x_max_mm),
                       least_shift(demand.y_min_mm, demand.y_max_mm, area.y_min_mm, area.y_max_mm));
  if (high_enough && deep_mm <= room_x_mm && wide_mm <= room_y_mm)
    return "turned by 90 degrees and moved it fits";
  const double straight = std::min(room_x_mm / wide_mm, room_y_mm / deep_mm);
  const double turned = std::min(room_x_mm / deep_mm, room_y_mm / wide_mm);
  const double share = std::min({std::max(straight, turned), area.z_max_mm / demand.z_max_mm, 1.0});
  return fmt::format("at {:.0f} % of its size{} it fits, or split into several plates",
                     std::floor(100.0 * share),
                     turned > straight * (1.0 + 1e-9) ? " and turned by 90 degrees" : "");
}

std::string advice(const ledgers::Demand& demand, int tools) {
  BuildArea extent;
  if (demand.lays_anything())
    extent = {demand.x_min_mm, demand.x_max_mm, demand.y_min_mm, demand.y_max_mm, demand.z_max_mm};
  const std::vector<std::string> fitting =
      machines_that_fit(extent, tools, demand.bed_c, demand.head_c);
  if (fitting.empty())
    return "none of the embedded machines fits this plate; describe yours in a machine file";
  return fmt::format("embedded machines that fit this plate: {}", fmt::join(fitting, ", "));
}

Diagnostic warn(const char* code, std::string message) {
  Diagnostic warning;
  warning.code = code;
  warning.severity = Severity::warning;
  warning.message = std::move(message);
  return warning;
}

}  // namespace

std::vector<Diagnostic> check_machine(const ledgers::Demand& demand, int tools,
                                      const Machine& machine) {
  std::vector<Diagnostic> warnings;
  if (!fits_area(demand, machine.area))
    warnings.push_back(warn(
        "plate-leaves-area",
        fmt::format(
            "material is laid over x {:.1f} to {:.1f}, y {:.1f} to {:.1f}, z up to {:.1f} mm; "
            "expected it within x {} to {}, y {} to {}, z {} mm of '{}'; accounted for as if "
            "the machine could reach it",
            demand.x_min_mm, demand.x_max_mm, demand.y_min_mm, demand.y_max_mm, demand.z_max_mm,
            machine.area.x_min_mm, machine.area.x_max_mm, machine.area.y_min_mm,
            machine.area.y_max_mm, machine.area.z_max_mm, machine.name)));
  const bool leaves_area = !warnings.empty();
  const auto too_hot = [&](const char* code, const char* what, double asked_c, double most_c) {
    if (asked_c > most_c)
      warnings.push_back(warn(
          code, fmt::format("{} is set to {:g} degC; expected at most {:g} on '{}'; held at that",
                            what, asked_c, most_c, machine.name)));
  };
  too_hot("bed-beyond-machine", "the bed", demand.bed_c, machine.bed.maximum_c);
  too_hot("nozzle-beyond-machine", "a nozzle", demand.head_c, hottest_head_c(machine));
  if (machine.enclosure.present && machine.enclosure.heater_w > 0.0)
    too_hot("enclosure-beyond-machine", "the enclosure", demand.enclosure_c,
            machine.enclosure.maximum_c);
  for (Diagnostic& warning : warnings)
    warning.help = advice(demand, tools);
  if (leaves_area)
    warnings.front().help = nearest_place(demand, machine.area) + "; " + warnings.front().help;
  if (demand.lays_anything() && demand.head_c <= 0.0) {
    warnings.push_back(warn(
        "nozzle-never-heated",
        "material is laid and no nozzle is ever set to a temperature; expected M104 or M109; the "
        "hot ends count as cold"));
    warnings.back().help =
        "if a word of the machine's own heats up, say so in the machine file: "
        "docs/machine-words.md";
  }
  return warnings;
}

std::vector<Diagnostic> check_heads(const std::vector<ToolAccount>& tools,
                                    const std::vector<ledgers::ToolUse>& uses,
                                    const Machine& machine) {
  std::vector<bool> is_hot(machine.heads.size(), false);
  for (std::size_t tool = 0; tool < uses.size(); ++tool)
    if (uses[tool].first_hot_s >= 0.0)
      is_hot[static_cast<std::size_t>(machine.tools[tool].head)] = true;
  if (std::none_of(is_hot.begin(), is_hot.end(), [](bool hot) { return hot; }))
    return {};
  std::vector<std::string> cold;
  for (const ToolAccount& tool : tools) {
    const auto index = static_cast<std::size_t>(tool.tool);
    if (uses[index].first_laid_s >= 0.0 &&
        !is_hot[static_cast<std::size_t>(machine.tools[index].head)])
      cold.push_back(fmt::format("T{} on head {} lays {:.2f} g", tool.tool,
                                 machine.tools[index].head,
                                 tool.part_g + tool.purge_g + tool.start_up_g));
  }
  if (cold.empty())
    return {};
  std::vector<Diagnostic> warnings{
      warn("head-never-heated",
           fmt::format("{}, and that head is never set to a temperature; expected M104 or M109 "
                       "for it; it counts as cold",
                       fmt::join(cold, ", ")))};
  warnings.front().help =
      "is the number behind T in M104 and M109 that of another tool, or does a word of the "
      "machine's own heat up (docs/machine-words.md)?";
  return warnings;
}

}  // namespace platetally::findings
