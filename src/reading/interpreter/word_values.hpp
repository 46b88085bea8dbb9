// What the words of a move come to, in the units of its row: one place for moves that are read one
// by one and for strokes that are read many at once.
#pragma once

#include "base/units.hpp"

namespace platetally::interpreter {

/// Of X, Y or Z, which count from somewhere.
inline double place_mm(double word, double unit_mm, double from_mm) {
  return from_mm + word * unit_mm;
}

/// Of a relative E. `unit`: of a word in the register; `scale`: from there to mm of filament.
inline double fed_mm(double word, double unit, double scale) {
  return word * unit * scale;
}

/// Of an absolute E, from where the register stood.
inline double fed_since_mm(double word, double unit, double scale, double before) {
  return (word * unit - before) * scale;
}

inline double feed_rate_mm_s(double word, double unit_mm) {
  return base::mm_s_from_mm_min(word * unit_mm);
}

}  // namespace platetally::interpreter
