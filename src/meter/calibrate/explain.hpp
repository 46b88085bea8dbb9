// Which entry of the machine file, changed alone, explains a difference best.
#pragma once

#include <vector>

#include "meter/calibrate/experiment.hpp"

namespace platetally::calibrate {

/// A parameter alone set to its best.
struct Alone {
  double value = 0.0;
  double sum_w2 = 0.0;  ///< of squared differences of window means
};

struct OneByOne {
  double as_is_w2 = 0.0;     ///< the sum with the machine as it is
  std::vector<Alone> alone;  ///< by parameters()
};

OneByOne explain_by_one(const Machine& machine, const std::vector<Material>& materials,
                        const Experiment& experiment, const meter::Alignment& alignment,
                        double window_s);

}  // namespace platetally::calibrate
