#include "meter/calibrate/plan.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/units.hpp"
#include "meter/calibrate/experiment.hpp"

namespace platetally::calibrate {

namespace {

using timeline::HeatEvent;
using timeline::HeatEventKind;

constexpr double kOff_min = 10.0;
constexpr double kAgain_min = 5.0;

constexpr const char* kCautions =
    "; A measuring plan of platetally: nothing moves and nothing is laid; it heats, waits and "
    "switches off.\n"
    "; Stay with the machine while it is hot. Keep the bed empty and the nozzle free of filament "
    "that could cook.\n"
    "; Measure with a listed plug-in meter only; never open a supply or a mains cable. Local codes "
    "apply, and\n"
    "; what feeds the machine is a licensed electrician's work. Start with everything at room "
    "temperature.\n";

class Builder {
 public:
  explicit Builder(double scale) : scale_(scale) { plan_.gcode = kCautions; }

  void heat(interpreter::Heater heater, double value_c, const std::string& word) {
    HeatEvent event;
    event.kind = HeatEventKind::set_heater;
    event.heater = heater;
    event.tool = 0;
    event.value = value_c;
    plan_.heat_log.events.push_back(event);
    plan_.gcode += word + "\n";
  }
  void fan(double duty, const std::string& word) {
    HeatEvent event;
    event.kind = HeatEventKind::set_fan;
    event.value = duty;
    plan_.heat_log.events.push_back(event);
    plan_.gcode += word + "\n";
  }
  void wait(double minutes, const std::string& why) { wait_exactly(minutes * scale_, why); }
  void wait_exactly(double minutes, const std::string& why) {
    const double seconds = std::round(base::kSecondsPerMinute * minutes);
    HeatEvent event;
    event.duration_s = seconds;
    plan_.heat_log.events.push_back(event);
    plan_.gcode += fmt::format("G4 S{:.0f} ; {}\n", seconds, why);
    plan_.seconds += seconds;
  }
  Plan take() { return std::move(plan_); }

 private:
  double scale_;
  Plan plan_;
};

}  // namespace

Plan plan_at(const Machine& machine, double scale) {
  const double bed_c = std::min(60.0, machine.bed.maximum_c);
  const double nozzle_c = std::min(215.0, machine.heads.front().maximum_c);
  Builder builder(scale);
  builder.wait(5.0, "idle");
  builder.heat(interpreter::Heater::bed, bed_c, fmt::format("M140 S{:g} ; the bed", bed_c));
  builder.wait(30.0, "warm-up and hold of the bed");
  builder.heat(interpreter::Heater::bed, 0.0, "M140 S0 ; off");
  // A plug does not see cooling, but what it takes to heat up again: without both, losses and heat
  // capacity look alike.
  builder.wait_exactly(kOff_min, "off: what it loses shows when it is heated again");
  builder.heat(interpreter::Heater::bed, bed_c, fmt::format("M140 S{:g} ; the bed again", bed_c));
  builder.wait_exactly(kAgain_min, "warm-up again");
  builder.heat(interpreter::Heater::bed, 0.0, "M140 S0 ; off");
  builder.wait(2.0, "off");
  builder.heat(interpreter::Heater::head, nozzle_c,
               fmt::format("M104 S{:g} ; the nozzle", nozzle_c));
  builder.wait(10.0, "warm-up and hold of the nozzle");
  builder.heat(interpreter::Heater::head, 0.0, "M104 S0 ; off");
  builder.wait_exactly(kOff_min, "the nozzle cools");
  builder.heat(interpreter::Heater::head, nozzle_c,
               fmt::format("M104 S{:g} ; the nozzle again", nozzle_c));
  builder.wait_exactly(kAgain_min, "warm-up again");
  builder.heat(interpreter::Heater::head, 0.0, "M104 S0 ; off");
  builder.wait(8.0, "the nozzle cools");
  builder.fan(1.0, "M106 S255 ; the part fan");
  builder.wait(4.0, "the fan alone");
  builder.fan(0.0, "M107 ; off");
  builder.wait(2.0, "idle");
  return builder.take();
}

}  // namespace platetally::calibrate
