// Plain moves, many at once: what the words of modal_motion.cpp would do with them, one by one. A
// test holds the two against each other.
#include <algorithm>
#include <cmath>

#include "base/columns.hpp"
#include "base/units.hpp"
#include "reading/interpreter/modal_machine.hpp"
#include "reading/interpreter/stroke_batch.hpp"

namespace platetally::interpreter {

namespace {

using gcode::PlainMoves;

/// A plain move's words, by their letters.
struct PlainWords {
  const PlainMoves& moves;
  std::size_t move;

  static constexpr PlainMoves::Word word(char letter) {
    return letter == 'X'   ? PlainMoves::kX
           : letter == 'Y' ? PlainMoves::kY
           : letter == 'Z' ? PlainMoves::kZ
           : letter == 'E' ? PlainMoves::kE
                           : PlainMoves::kF;
  }
  bool has(char letter) const { return moves.has(move, word(letter)); }
  double operator[](char letter) const { return moves.value(move, word(letter)); }
};

}  // namespace

bool ModalMachine::takes_plain_moves() const {
  return !ended_ && !skips() && !row_purge_ && !marks_.in_section() && !relative_ && !motors_off_ &&
         !inverse_time_ && !(extruder_on_ && !has_e_words_) && tool_ >= 0 &&
         !missing_.is_selected() && g0_is_rapid_ && g1_is_line_;
}

std::size_t ModalMachine::take_plain_moves(const PlainMoves& moves, std::size_t first,
                                           std::uint64_t first_line) {
  marks_.begin_line();
  update_marks();
  machine_coordinates_ = false;
  std::size_t next = first;
  std::size_t one_by_one = first;  // up to here, as they are no strokes in the layer in force
  while (next < moves.size()) {
    const std::uint64_t line = first_line + (next - first);
    if (next >= one_by_one) {
      const std::size_t many = moves.strokes_from(next, out_.strokes_room(line));
      if (many >= kMany && take_strokes(moves, next, many)) {
        next += many;
        continue;
      }
      one_by_one = next + std::max<std::size_t>(many, 1);
    }
    if (!take_plain_move(moves, next, line))
      break;
    ++next;
  }
  if (next == first)
    return 0;
  motion_ = moves.is_rapid(next - 1) ? MotionWord::rapid : MotionWord::line;
  return next - first;
}

/// Strokes that say the same words, for which there is room in the last run; false where one of
/// them does not go on with it.
bool ModalMachine::take_strokes(const PlainMoves& moves, std::size_t first, std::size_t count) {
  const Run& run = out_.last_run();
  if (!layers_.is_level(position_mm_[2]) || run.layer != layers_.current() || run.flags != flags_ ||
      run.tool != last_tool_)
    return false;
  const double e_unit = volumetric_ ? 1.0 : unit_mm_;
  const auto column = [&](PlainMoves::Word word) {
    return moves.has(first, word) ? moves.column(word) + first : nullptr;
  };
  const StrokeWords words{column(PlainMoves::kX), column(PlainMoves::kY), column(PlainMoves::kZ),
                          column(PlainMoves::kE), column(PlainMoves::kF)};
  const StrokeFrame frame{offset_mm_[0], offset_mm_[1],   offset_mm_[2],
                          unit_mm_,      e_unit,          e_scale_,
                          e_relative_,   position_mm_[0], position_mm_[1],
                          e_register_,   position_mm_[2], feed_mm_s_ * feed_factor_,
                          feed_factor_,  kMost_mm};
  const RowRoom rows = out_.room();
  if (!write_strokes(frame, words, count, rows))
    return false;
  out_.add_strokes(count);
  if (e_relative_) {
    for (std::size_t i = 0; i < count; ++i)
      e_register_ += words.e[i] * e_unit;
  } else {
    e_register_ = words.e[count - 1] * e_unit;
  }
  if (words.f != nullptr)
    feed_mm_s_ = base::mm_s_from_mm_min(words.f[count - 1] * unit_mm_);
  if (ahead_.is_watching()) {
    const auto x_mm = base::extent_of(rows.to_x_mm, count);
    const auto y_mm = base::extent_of(rows.to_y_mm, count);
    ahead_.lay_in({x_mm.least, x_mm.most, y_mm.least, y_mm.most});
  }
  position_mm_[0] = rows.to_x_mm[count - 1];
  position_mm_[1] = rows.to_y_mm[count - 1];
  laid_to_mm_ = position_mm_;
  has_e_words_ = true;
  layers_.count_level(count);
  moves_ += count;
  return true;
}

/// A plain move by itself. False where it asks for a remark on its words.
bool ModalMachine::take_plain_move(const PlainMoves& moves, std::size_t move, std::uint64_t line) {
  const PlainWords words{moves, move};
  double feed_mm_s = feed_mm_s_;
  if (words.has('F')) {
    const double said = words['F'];
    if (!(said > 0.0) || said > kMost_mm)
      return false;
    feed_mm_s = base::mm_s_from_mm_min(said * unit_mm_);
  }
  const Straight way = read_straight(words);
  if (!way.is_in_range() || way.e_mm < -kLongestRetraction_mm)
    return false;
  feed_mm_s_ = feed_mm_s;
  e_register_ = way.e_after;
  has_e_words_ = has_e_words_ || words.has('E');
  if (!moves.says_nothing_but_feed(move))
    ++moves_;
  const bool goes = way.to_mm != position_mm_;
  if (!goes && way.e_mm == 0.0)
    return true;
  remarks_.place.line = line;
  if (way.e_mm > 0.0 && goes && !layers_.is_level(way.to_mm[2]))
    remarks_.place = {line, moves.text(move), 1};  // opening a layer may be remarked on
  push_move(way.to_mm, way.e_mm, moves.is_rapid(move), nullptr);
  return true;
}

}  // namespace platetally::interpreter
