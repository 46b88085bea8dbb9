// What sensors and duties of bed and first head were over one step.
#pragma once

#include <cstdint>

#include "heat/heat_result.hpp"
#include "heat/stepper.hpp"
#include "heat/thermal_machine.hpp"
#include "platetally/machine.hpp"

namespace platetally::heat {

/// Of the step that the stepper reports now, before it moves on. `active`: bits of the tiles that
/// are held at the bed's target.
HeaterSample heater_sample(const Machine& machine, const ThermalMachine& thermal,
                           const Stepper& stepper, const StepReport& step, std::uint64_t active,
                           double start_s);

}  // namespace platetally::heat
