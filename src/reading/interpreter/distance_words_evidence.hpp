// Does G91 make E relative where M82 stands? Controllers differ, and a plate does not say for which
// it was written.
//
// The size of the E words tells. Between the first E word behind G91 and the first behind the next
// G90 both readings are kept, each with a register of its own, and what each would feed and draw
// back is summed up. Read the wrong way an E word moves about as much filament as the register
// holds: `G1 E-2` at 3786 mm draws 2 mm back, or 3788. Behind the first E word in absolute
// distances, or G92 E, both readings stand at the same register again; then the one that moved less
// wins, E as M82 has it where they are equal. Where one reading moves kClearRatio times what the
// other does and at least kClear_mm, it is clear, and holds for the rest of the plate (the longest
// retractions of practice draw back 5 to 10 mm; common practice, no source). A plate that prints in
// relative distances is decided by its bead, as one that never states the mode of E is.
#pragma once

#include <cmath>
#include <cstdint>

#include "reading/gcode/words.hpp"
#include "reading/interpreter/extrusion_evidence.hpp"

namespace platetally::interpreter {

class DistanceWordsEvidence {
 public:
  /// `e_mm`: what the register holds; `unit_mm`: of the words of E.
  DistanceWordsEvidence(double e_mm, double unit_mm, bool relative_distances)
      : bead_(e_mm / unit_mm, relative_distances),
        unit_mm_(unit_mm),
        relative_distances_(relative_distances),
        if_absolute_{e_mm, 0.0},
        if_relative_{e_mm, 0.0} {}

  /// The next command, in program order.
  void take(const gcode::Command& command);

  /// No word to come need be waited for.
  bool is_decided() const { return settled_ || is_clear(); }
  /// It holds for the rest of the plate.
  bool is_clear() const;
  bool says_relative() const;

  /// Fed and drawn back so far, both counted as positive.
  double moved_if_absolute_mm() const { return if_absolute_.moved_mm; }
  double moved_if_relative_mm() const { return if_relative_.moved_mm; }
  bool readings_differ() const {
    return std::abs(if_absolute_.moved_mm - if_relative_.moved_mm) > kSame_mm;
  }

 private:
  static constexpr double kClearRatio = 4.0;
  static constexpr double kClear_mm = 10.0;
  static constexpr double kSame_mm = 1e-6;

  struct Reading {
    double register_mm = 0.0;
    double moved_mm = 0.0;
    void feed(double e_mm) {
      moved_mm += std::abs(e_mm);
      register_mm += e_mm;
    }
  };

  bool is_clear_by_size() const;
  bool is_clear_by_bead() const { return bead_.is_enough() && !bead_.verdict().by_default; }
  void take_e(double word_mm);
  void set_e(double e_mm);

  ExtrusionEvidence bead_;
  double unit_mm_;
  bool relative_distances_;
  bool settled_ = false;
  Reading if_absolute_, if_relative_;
};

}  // namespace platetally::interpreter
