// Centre and sweep of an arc from what a line says (NISTIR 6556, section 3.5.3).
#pragma once

#include <array>
#include <optional>

namespace platetally::interpreter {

/// In the two axes of the arc's plane, mm.
struct ArcRequest {
  std::array<double, 2> start_mm{};
  std::array<double, 2> end_mm{};
  bool clockwise = false;
  std::optional<std::array<double, 2>> offset_mm;  ///< I J (or K I, J K): start to centre
  std::optional<double> radius_mm;  ///< R: positive turns at most half, negative more
  int turns = 1;                    ///< P: turns begun; 1 is an ordinary arc
  bool returns_to_start = false;    ///< no end was stated, or it equals the start
};

struct Arc {
  std::array<double, 2> centre_mm{};
  double sweep_rad = 0.0;      ///< counter-clockwise positive
  double radius_gap_mm = 0.0;  ///< |start radius - end radius|
};

/// Empty where there is no such arc: no centre and no radius, R with end = start, radius too small
/// by more than rounding, or a centre on the start.
std::optional<Arc> find_arc(const ArcRequest& request);

}  // namespace platetally::interpreter
