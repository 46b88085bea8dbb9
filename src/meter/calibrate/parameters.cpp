// Standard deviations before any log was seen: 0.1 for the rated power of a heater, 0.3 for what is
// weighed or computed (heat capacities, electronics that were read off a plug), 0.4 to 0.7 for
// losses and motors, which differ between machines of one kind by that much (assumed; the losses of
// the logs that docs/accuracy.md names were 0.6 to 1.8 times the defaults). A head's still loss is
// wider: it is a third of what a head loses, the rest radiates or goes with the fan, so a head that
// loses two or three times as much as the defaults (one of four did) has four to seven times that.
#include "meter/calibrate/parameters.hpp"

#include <algorithm>

namespace platetally::calibrate {

namespace {

constexpr double kRated = 0.1;
constexpr double kComputed = 0.3;
constexpr double kLoss = 0.4;
constexpr double kVague = 0.5;
constexpr double kHeadLoss = 1.0;

/// A member of a part of the machine that there is once.
template <auto Part, auto Member>
constexpr Parameter one(const char* key, const char* unit, double low, double high, double prior,
                        const char* settled_by) {
  return {key,
          unit,
          low,
          high,
          prior,
          settled_by,
          [](const Machine& machine) { return machine.*Part.*Member; },
          [](Machine& machine, double value) { machine.*Part.*Member = value; }};
}

/// A member of every head; heads are taken to be alike.
template <auto Member>
constexpr Parameter heads(const char* key, const char* unit, double low, double high, double prior,
                          const char* settled_by) {
  return {key,
          unit,
          low,
          high,
          prior,
          settled_by,
          [](const Machine& machine) { return machine.heads.front().*Member; },
          [](Machine& machine, double value) {
            for (Head& head : machine.heads)
              head.*Member = value;
          }};
}

constexpr const char* kBedWarms = "warm-up of the bed (bed=60)";
constexpr const char* kBedHolds = "hold of the bed for half an hour (bed=60)";
constexpr const char* kNozzleWarms = "warm-up of a nozzle (nozzle=215)";
constexpr const char* kPlate = "a printed plate (plate=FILE)";
constexpr const char* kLongPlate = "a plate of hours with a hot bed (plate=FILE)";

}  // namespace

bool Parameter::applies(const Machine& machine) const {
  if (key.starts_with("enclosure.") && !machine.enclosure.present)
    return false;
  if (key ==
      (machine.enclosure.door_open ? "enclosure.loss_closed_w_k" : "enclosure.loss_open_w_k"))
    return false;
  if ((key == "bed.depth_conductance_w_m2k" || key == "bed.surface_heat_share") &&
      machine.bed.depth_nodes < 2)
    return false;
  return get(machine) > 0.0;
}

const std::vector<Parameter>& parameters() {
  static const std::vector<Parameter> all{
      one<&Machine::supply, &Supply::idle_w>("supply.idle_w", "W", 0.5, 300.0, kComputed, "idle"),
      one<&Machine::bed, &Bed::tile_power_w>("bed.tile_power_w", "W", 2.0, 5000.0, kRated,
                                             kBedWarms),
      one<&Machine::bed, &Bed::resistance_rise_per_k>("bed.resistance_rise_per_k", "1/K", 1e-4,
                                                      0.0099, kRated, kBedWarms),
      one<&Machine::bed, &Bed::areal_heat_capacity_j_m2k>("bed.areal_heat_capacity_j_m2k", "J/m2K",
                                                          1000.0, 1e5, kComputed, kBedWarms),
      one<&Machine::bed, &Bed::sensor_lag_s>("bed.sensor_lag_s", "s", 0.2, 120.0, kVague,
                                             kBedWarms),
      one<&Machine::bed, &Bed::surface_heat_share>("bed.surface_heat_share", "", 0.05, 0.95,
                                                   kComputed, kBedHolds),
      one<&Machine::bed, &Bed::depth_conductance_w_m2k>("bed.depth_conductance_w_m2k", "W/m2K", 5.0,
                                                        1e4, kVague, kBedHolds),
      one<&Machine::bed, &Bed::convection_factor>("bed.convection_factor", "", 0.05, 9.0, kComputed,
                                                  kBedHolds),
      one<&Machine::bed, &Bed::underside_loss_w_m2k>("bed.underside_loss_w_m2k", "W/m2K", 0.2, 99.0,
                                                     kVague, kBedHolds),
      one<&Machine::bed, &Bed::fan_loss_w_k>("bed.fan_loss_w_k", "W/K", 1e-4, 9.9, 0.7, kPlate),
      heads<&Head::power_w>("heads.power_w", "W", 3.0, 480.0, kRated, kNozzleWarms),
      heads<&Head::heat_capacity_j_k>("heads.heat_capacity_j_k", "J/K", 1.0, 900.0, kComputed,
                                      kNozzleWarms),
      heads<&Head::still_loss_w_k>("heads.still_loss_w_k", "W/K", 0.001, 1.0, kHeadLoss,
                                   "hold of a nozzle for ten minutes (nozzle=215)"),
      heads<&Head::part_fan_factor>("heads.part_fan_factor", "", 0.05, 9.9, kVague, kPlate),
      heads<&Head::fan_w>("heads.fan_w", "W", 0.05, 50.0, kVague,
                          "a nozzle that is switched off and cools (the plan has it)"),
      one<&Machine::enclosure, &Enclosure::heat_capacity_j_k>("enclosure.heat_capacity_j_k", "J/K",
                                                              20.0, 9e5, kVague, kLongPlate),
      one<&Machine::enclosure, &Enclosure::loss_closed_w_k>("enclosure.loss_closed_w_k", "W/K",
                                                            0.05, 900.0, kLoss, kLongPlate),
      one<&Machine::enclosure, &Enclosure::loss_open_w_k>("enclosure.loss_open_w_k", "W/K", 0.2,
                                                          900.0, kLoss, kLongPlate),
      one<&Machine::supply, &Supply::part_fan_w>("supply.part_fan_w", "W", 0.1, 300.0, kVague,
                                                 "the part fan alone (fan=1)"),
      one<&Machine::supply, &Supply::motors_holding_w>("supply.motors_holding_w", "W", 0.3, 500.0,
                                                       kVague,
                                                       "a printed plate with dwell (plate=FILE)"),
      one<&Machine::supply, &Supply::motors_moving_w>("supply.motors_moving_w", "W", 0.5, 500.0,
                                                      kVague, kPlate),
      one<&Machine::supply, &Supply::auxiliary_fans_w>("supply.auxiliary_fans_w", "W", 0.3, 500.0,
                                                       kVague, kPlate),
  };
  return all;
}

const Parameter& parameter_named(std::string_view key) {
  return *std::ranges::find(parameters(), key, &Parameter::key);
}

std::vector<std::size_t> applicable(const Machine& machine) {
  std::vector<std::size_t> those;
  for (std::size_t i = 0; i < parameters().size(); ++i)
    if (parameters()[i].applies(machine))
      those.push_back(i);
  return those;
}

}  // namespace platetally::calibrate
