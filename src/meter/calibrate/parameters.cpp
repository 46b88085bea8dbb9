#include "meter/calibrate/parameters.hpp"

namespace platetally::calibrate {

namespace {

/// A member of a part of the machine that there is once.
template <auto Part, auto Member>
constexpr Parameter one(const char* key, const char* unit, double low, double high,
                        const char* settled_by) {
  return {key,
          unit,
          low,
          high,
          settled_by,
          [](const Machine& machine) { return machine.*Part.*Member; },
          [](Machine& machine, double value) { machine.*Part.*Member = value; }};
}

/// A member of every head; heads are taken to be alike.
template <auto Member>
constexpr Parameter heads(const char* key, const char* unit, double low, double high,
                          const char* settled_by) {
  return {key,
          unit,
          low,
          high,
          settled_by,
          [](const Machine& machine) { return machine.heads.front().*Member; },
          [](Machine& machine, double value) {
            for (Head& head : machine.heads)
              head.*Member = value;
          }};
}

}  // namespace

const std::vector<Parameter>& parameters() {
  static const std::vector<Parameter> all{
      one<&Machine::supply, &Supply::idle_w>("supply.idle_w", "W", 0.5, 300.0, "idle"),
      one<&Machine::bed, &Bed::tile_power_w>("bed.tile_power_w", "W", 2.0, 5000.0,
                                             "warm-up of the bed (bed=60)"),
      one<&Machine::bed, &Bed::areal_heat_capacity_j_m2k>(
          "bed.areal_heat_capacity_j_m2k", "J/m2K", 1000.0, 1e5, "warm-up of the bed (bed=60)"),
      one<&Machine::bed, &Bed::convection_factor>("bed.convection_factor", "", 0.05, 9.0,
                                                  "hold of the bed for half an hour (bed=60)"),
      heads<&Head::power_w>("heads.power_w", "W", 3.0, 480.0, "warm-up of a nozzle (nozzle=215)"),
      heads<&Head::heat_capacity_j_k>("heads.heat_capacity_j_k", "J/K", 1.0, 900.0,
                                      "warm-up of a nozzle (nozzle=215)"),
      heads<&Head::still_loss_w_k>("heads.still_loss_w_k", "W/K", 0.001, 1.0,
                                   "hold of a nozzle for ten minutes (nozzle=215)"),
      heads<&Head::fan_w>("heads.fan_w", "W", 0.05, 50.0,
                          "a nozzle that is switched off and cools (the plan has it)"),
      one<&Machine::supply, &Supply::part_fan_w>("supply.part_fan_w", "W", 0.1, 300.0,
                                                 "the part fan alone (fan=1)"),
      one<&Machine::supply, &Supply::motors_holding_w>("supply.motors_holding_w", "W", 0.3, 500.0,
                                                       "a printed plate with dwell (plate=FILE)"),
      one<&Machine::supply, &Supply::motors_moving_w>("supply.motors_moving_w", "W", 0.5, 500.0,
                                                      "a printed plate (plate=FILE)"),
  };
  return all;
}

}  // namespace platetally::calibrate
