// What is printed: plant labels, lanterns, blocks and rings.
#pragma once

#include "strokes.hpp"

namespace plate_maker {

/// One copy's share of one tool in one layer. `copy` counts from 0.
void lay_shape(const Strokes& strokes, int tool, Size origin, int copy);

/// One turn of a lantern's wall, rising from the layer below to this layer's height.
void lay_spiral_turn(const Strokes& strokes, Size origin);

/// The indices of the tools that the plate needs in this layer, ascending.
std::vector<int> tools_of_layer(const Options& options, std::size_t layer);

}  // namespace plate_maker
