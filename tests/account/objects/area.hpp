// Where the tests of objects lay.
#pragma once

#include "platetally/machine.hpp"

namespace platetally::objects {

inline BuildArea area() {
  BuildArea area;
  area.x_min_mm = area.y_min_mm = 0.0;
  area.x_max_mm = area.y_max_mm = 200.0;
  return area;
}

}  // namespace platetally::objects
