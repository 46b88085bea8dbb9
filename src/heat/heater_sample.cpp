#include "heat/heater_sample.hpp"

#include <algorithm>

namespace platetally::heat {

HeaterSample heater_sample(const Machine& machine, const ThermalMachine& thermal,
                           const Stepper& stepper, const StepReport& step, std::uint64_t active,
                           double start_s) {
  const auto mean_w = [&](std::size_t heater) {
    return (step.weight_s[0] * (*step.heater_w[0])[heater] +
            step.weight_s[1] * (*step.heater_w[1])[heater]) /
           step.duration_s;
  };
  const auto sensor_c = [&](std::size_t heater) {
    return 0.5 * (stepper.heaters()[heater].sensor_c + stepper.sensor_next_c(heater));
  };
  const auto full_w = [&](std::size_t heater) {
    const Heater& one = stepper.heaters()[heater];
    return one.full_w(stepper.temperatures_c()[one.node]);
  };
  HeaterSample sample;
  sample.start_s = start_s;
  sample.duration_s = step.duration_s;
  double bed_w = 0.0;
  double bed_full_w = 0.0;
  int tiles = 0;
  for (std::size_t tile = 0; tile < thermal.tiles(); ++tile) {
    if (((active >> tile) & 1U) == 0)
      continue;
    sample.bed_c += sensor_c(tile);
    bed_w += mean_w(tile);
    bed_full_w += full_w(tile) / machine.bed.duty_limit;
    ++tiles;
  }
  sample.bed_c /= std::max(1, tiles);
  sample.bed_duty = bed_full_w > 0.0 ? bed_w / bed_full_w : 0.0;
  const std::size_t head = thermal.head_heater(0);
  sample.head_c = sensor_c(head);
  sample.head_duty = mean_w(head) * machine.heads[0].duty_limit / full_w(head);
  return sample;
}

}  // namespace platetally::heat
