// Plates of unlike figures, thin pillars, flat logos and coloured pictures.
#pragma once

#include <vector>

#include "strokes.hpp"

namespace plate_maker {

/// What `tool` lays in this layer of such a plate. `origin`: its lower left corner.
void lay_figures(const Strokes& strokes, int tool, Size origin);
void lay_pillars(const Strokes& strokes, int tool, Size origin);
void lay_logo(const Strokes& strokes, int tool, Size origin, int copy);
void lay_lithophane(const Strokes& strokes, int tool, Size origin);

}  // namespace plate_maker
