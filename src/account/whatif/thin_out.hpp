// Which layers stay where layers become thicker.
#pragma once

#include <vector>

namespace platetally::whatif {

/// By layer, whether it stays: the first, and `share` (0 to 1) of those above it, evenly spread.
/// Of the even ways, the one whose seconds come closest to their share, since few or unlike layers
/// leave a choice. `layer_s`: seconds of each layer.
std::vector<bool> layers_that_stay(const std::vector<double>& layer_s, double share);

}  // namespace platetally::whatif
