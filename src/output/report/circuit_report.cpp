// Machines on one circuit, for people and as JSON.
#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/counted.hpp"
#include "output/report/strings.hpp"
#include "platetally/circuit.hpp"
#include "platetally/report.hpp"

namespace platetally {

namespace {

constexpr const char* kCaution =
    "A hint from a model, not a design: the local electrical code and a licensed electrician "
    "decide\n"
    "what may hang on a circuit. A machine that heats is attended.\n";

std::string verdict(const CircuitReport& report) {
  if (!report.stagger_s)
    return fmt::format(
        "No stagger of up to two hours keeps {} machines below {:.0f} W: printing, they draw "
        "{:.0f} W on "
        "average.\n",
        report.machines, report.continuous_w, report.printing_w);
  if (*report.stagger_s == 0.0)
    return fmt::format("Started at one instant, {} below {:.0f} W.\n",
                       base::counted(report.machines, "machine stays", "machines stay"),
                       report.continuous_w);
  return fmt::format(
      "Started {} apart, {} machines stay below {:.0f} W (highest {:.0f} W, quarter hour {:.0f} "
      "W).\n",
      report::duration(*report.stagger_s), report.machines, report.continuous_w,
      report.staggered_peak_w, report.staggered_quarter_hour_w);
}

}  // namespace

std::string to_text(const CircuitReport& report) {
  std::string out = fmt::format("Circuit of {:.0f} W, {:.0f} W of it for hours\n\n",
                                report.circuit_w, report.continuous_w);
  out += fmt::format("  {:<14} {:>5} {:>12} {:>12} {:>12} {:>12} {:>12}\n", "machine", "count",
                     "connected W", "cold start W", "heating up", "printing W", "burst W");
  for (const CircuitRow& row : report.rows)
    out += fmt::format("  {:<14} {:>5} {:>12.0f} {:>12.0f} {:>12} {:>12.0f} {:>12.0f}\n",
                       report::printable(row.machine), row.count, row.connected_load_w,
                       row.cold_start_peak_w, report::duration(row.heat_up_s), row.printing_w,
                       row.burst_w);
  out += "  (each; burst: below it for 99 % of the time, heaters switching fully)\n\n";
  out += fmt::format(
      "  connected load of all  {:>7.0f} W\n"
      "  started together       {:>7.0f} W at most, highest quarter hour {:.0f} W\n"
      "  all printing           {:>7.0f} W on average, below {:.0f} W for 95 % and {:.0f} W for 99 "
      "% "
      "of the time\n\n",
      report.connected_load_w, report.together_peak_w, report.together_quarter_hour_w,
      report.printing_w, report.burst_95_w, report.burst_99_w);
  return out + verdict(report) + "\n" + kCaution;
}

std::string to_json(const CircuitReport& report) {
  nlohmann::ordered_json out;
  out["schema"] = "platetally.circuit/1";
  out["made_from"] = nlohmann::ordered_json::parse(to_json(report.made_from));
  out["circuit_w"] = report.circuit_w;
  out["continuous_w"] = report.continuous_w;
  out["machines"] = nlohmann::ordered_json::array();
  for (const CircuitRow& row : report.rows)
    out["machines"].push_back({{"name", report::valid_utf8(row.machine)},
                               {"count", row.count},
                               {"connected_load_w", row.connected_load_w},
                               {"cold_start_peak_w", row.cold_start_peak_w},
                               {"heat_up_s", row.heat_up_s},
                               {"printing_w", row.printing_w},
                               {"burst_99_w", row.burst_w}});
  out["connected_load_w"] = report.connected_load_w;
  out["together"] = {{"peak_w", report.together_peak_w},
                     {"quarter_hour_w", report.together_quarter_hour_w}};
  out["printing"] = {{"mean_w", report.printing_w},
                     {"burst_95_w", report.burst_95_w},
                     {"burst_99_w", report.burst_99_w}};
  if (report.stagger_s)
    out["staggered"] = {{"stagger_s", *report.stagger_s},
                        {"peak_w", report.staggered_peak_w},
                        {"quarter_hour_w", report.staggered_quarter_hour_w}};
  else
    out["staggered"] = nullptr;
  out["caution"] = kCaution;
  return out.dump(1) + "\n";
}

}  // namespace platetally
