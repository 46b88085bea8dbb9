// Is E absolute or relative on a plate that never says so?
//
// The bead tells: along straight moves the filament fed per millimetre of path is much the same
// from move to move. Read the wrong way it is all over the place: absolute numbers read as relative
// grow without end, relative ones read as absolute jump up and down. For either reading the spread
// (standard deviation) of ln(feed / path) over the moves that feed is taken, plus the share of
// moves that would draw filament back; the smaller sum wins. Range: at least kLeastMoves moves and
// a difference of kLeastMargin, else the trade's power-on state, absolute, is taken.
#pragma once

#include <cstdint>

#include "reading/gcode/words.hpp"

namespace platetally::interpreter {

class ExtrusionEvidence {
 public:
  static constexpr std::uint64_t kEnoughMoves = 256;
  static constexpr std::uint64_t kLeastMoves = 8;
  static constexpr double kLeastMargin = 0.05;

  ExtrusionEvidence() = default;
  /// In the middle of a plate: what the register holds, in the unit of its words.
  ExtrusionEvidence(double e, bool relative_xy) : relative_xy_(relative_xy), e_mm_(e) {}

  /// The next command, in program order: moves, G90, G91, G92.
  void take(const gcode::Command& command);

  bool is_enough() const { return moves_ >= kEnoughMoves; }
  std::uint64_t moves() const { return moves_; }

  struct Verdict {
    bool relative = false;
    bool by_default = true;  ///< too little or contradictory evidence
    double absolute_score = 0.0, relative_score = 0.0;
  };
  Verdict verdict() const;

 private:
  /// One reading of the E words.
  struct Reading {
    std::uint64_t feeding = 0, drawing = 0;
    double sum = 0.0, sum_of_squares = 0.0;
    void add(double feed_mm, double path_mm);
    double score() const;
  };

  void take_move(const gcode::Words& words, bool straight);

  bool relative_xy_ = false;
  double x_mm_ = 0.0, y_mm_ = 0.0;
  bool knows_x_ = false, knows_y_ = false;
  double e_mm_ = 0.0;
  std::uint64_t moves_ = 0;
  Reading absolute_, relative_;
};

}  // namespace platetally::interpreter
