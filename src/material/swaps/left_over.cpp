#include "material/swaps/left_over.hpp"

#include <algorithm>
#include <cmath>

namespace platetally::swaps {

double share_left(double purged_mm3, const NeedModel& model) {
  if (!std::isfinite(purged_mm3))
    return 0.0;
  return std::min(1.0, std::exp((model.dead_mm3 - purged_mm3) / model.washout_mm3));
}

double difference_left_de00(Rgb old_colour, Rgb new_colour, double purged_mm3,
                            const NeedModel& model) {
  const LinearRgb from = as_filament(old_colour, model.reflectances);
  const LinearRgb to = as_filament(new_colour, model.reflectances);
  return delta_e00(lab_of(mix(from, to, share_left(purged_mm3, model))), lab_of(to));
}

}  // namespace platetally::swaps
