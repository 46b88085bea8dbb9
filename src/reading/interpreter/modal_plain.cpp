// Plain moves, many at once: what the words of modal_motion.cpp would do with them, one by one. A
// test holds the two against each other.
#include <algorithm>
#include <cmath>

#include "base/columns.hpp"
#include "base/units.hpp"
#include "reading/interpreter/modal_machine.hpp"
#include "reading/interpreter/stroke_batch.hpp"

namespace platetally::interpreter {

bool ModalMachine::takes_plain_moves() const {
  return !ended_ && !skips() && !row_purge_ && !marks_.in_section() && !relative_ && !motors_off_ &&
         !inverse_time_ && !extruder_on_ && tool_ >= 0 && !missing_.is_selected() && g0_is_rapid_ &&
         g1_is_line_;
}

std::size_t ModalMachine::take_plain_moves(const gcode::PlainMoves& moves, std::size_t first,
                                           std::uint64_t first_line) {
  std::size_t next = first;
  while (next < moves.size()) {
    next += take_strokes(moves, next, first_line + (next - first));
    if (next == moves.size() || !take_plain_move(moves, next, first_line + (next - first)))
      break;
    ++next;
  }
  if (next == first)
    return 0;
  marks_.begin_line();
  machine_coordinates_ = false;
  motion_ = moves.is_rapid(next - 1) ? MotionWord::rapid : MotionWord::line;
  return next - first;
}

/// What it says of the feed; false where that is nothing to go by.
bool ModalMachine::read_feed(const gcode::PlainMoves& moves, std::size_t move,
                             double& feed_mm_s) const {
  if (!moves.has(move, gcode::PlainMoves::kF))
    return true;
  const double said = moves.value(move, gcode::PlainMoves::kF);
  feed_mm_s = base::mm_s_from_mm_min(said * unit_mm_);
  return said > 0.0 && said <= kMost_mm;
}

/// Plain moves from `first` on that lay material in the layer in force, at a feed. Returns how
/// many.
std::size_t ModalMachine::take_strokes(const gcode::PlainMoves& moves, std::size_t first,
                                       std::uint64_t first_line) {
  constexpr std::size_t kFew = 4;
  if (!layers_.is_level(position_mm_[2]))
    return 0;
  std::size_t next = first;
  while (next < moves.size()) {
    const std::uint64_t line = first_line + (next - first);
    if (StrokeColumns* const run = out_.strokes(line)) {
      const std::size_t many = moves.strokes_from(next, kMostStrokes - run->size);
      if (many > kFew && push_strokes(moves, next, many, *run)) {
        next += many;
        continue;
      }
    }
    if (!push_stroke(moves, next, line))
      break;
    ++next;
  }
  if (next == first)
    return 0;
  laid_to_mm_ = position_mm_;
  has_e_words_ = true;
  flags_ = plain_flags();
  layers_.count_level(next - first);
  moves_ += next - first;
  return next - first;
}

/// Some that say X, Y and E and nothing else, at the feed of the run's last one.
bool ModalMachine::push_strokes(const gcode::PlainMoves& moves, std::size_t first,
                                std::size_t count, StrokeColumns& run) {
  using gcode::PlainMoves;
  const double e_unit = volumetric_ ? 1.0 : unit_mm_;
  const double* const e = moves.column(PlainMoves::kE) + first;
  const StrokeFrame frame{offset_mm_[0], offset_mm_[1],   unit_mm_,        e_unit,
                          e_scale_,      e_relative_,     position_mm_[0], position_mm_[1],
                          e_register_,   position_mm_[2], kMost_mm};
  if (!append_strokes(frame, moves.column(PlainMoves::kX) + first,
                      moves.column(PlainMoves::kY) + first, e, count, feed_mm_s_ * feed_factor_,
                      run))
    return false;
  if (e_relative_) {
    for (std::size_t i = 0; i < count; ++i)
      e_register_ += e[i] * e_unit;
  } else {
    e_register_ = e[count - 1] * e_unit;
  }
  position_mm_[0] = run.to_x_mm[run.size - 1];
  position_mm_[1] = run.to_y_mm[run.size - 1];
  if (ahead_.is_watching()) {
    const auto x_mm = base::extent_of(run.to_x_mm.data() + run.size - count, count);
    const auto y_mm = base::extent_of(run.to_y_mm.data() + run.size - count, count);
    ahead_.lay_in({x_mm.least, x_mm.most, y_mm.least, y_mm.most});
  }
  return true;
}

/// One, which may begin a run. False where it is none, or asks for more.
bool ModalMachine::push_stroke(const gcode::PlainMoves& moves, std::size_t move,
                               std::uint64_t line) {
  using gcode::PlainMoves;
  double feed_mm_s = feed_mm_s_;
  if (!moves.feeds(move) || !read_feed(moves, move, feed_mm_s))
    return false;
  const double from_x_mm = position_mm_[0], from_y_mm = position_mm_[1], z_mm = position_mm_[2];
  double x_mm = from_x_mm, y_mm = from_y_mm;
  if (moves.has(move, PlainMoves::kX))
    x_mm = offset_mm_[0] + moves.value(move, PlainMoves::kX) * unit_mm_;
  if (moves.has(move, PlainMoves::kY))
    y_mm = offset_mm_[1] + moves.value(move, PlainMoves::kY) * unit_mm_;
  double e_after = e_register_;
  const double e_mm = read_e(moves.value(move, PlainMoves::kE), e_after);
  const double way_x_mm = x_mm - from_x_mm, way_y_mm = y_mm - from_y_mm;
  if (!(way_x_mm * way_x_mm + way_y_mm * way_y_mm >= kLeastStroke_mm * kLeastStroke_mm) ||
      !(e_mm > 0.0) || !(feed_mm_s * feed_factor_ >= kLeastStrokeFeed_mm_s) ||
      !(std::abs(x_mm) + std::abs(y_mm) + std::abs(z_mm) + e_mm < kMost_mm))
    return false;
  StrokeColumns* run = out_.strokes(line);
  if (run == nullptr) {
    out_.enter(layers_.current());
    run = out_.begin_strokes({line, layers_.current(), static_cast<std::int16_t>(last_tool_),
                              plain_flags(), plane_, from_x_mm, from_y_mm, z_mm});
  }
  run->push(x_mm, y_mm, e_mm, feed_mm_s * feed_factor_);
  if (ahead_.is_watching())
    ahead_.lay_in({std::min(from_x_mm, x_mm), std::max(from_x_mm, x_mm), std::min(from_y_mm, y_mm),
                   std::max(from_y_mm, y_mm)});
  feed_mm_s_ = feed_mm_s;
  e_register_ = e_after;
  position_mm_[0] = x_mm;
  position_mm_[1] = y_mm;
  return true;
}

/// A plain move that is no such stroke: a travel, filament or a feed alone, one that leads nowhere.
/// False where it asks for more.
bool ModalMachine::take_plain_move(const gcode::PlainMoves& moves, std::size_t move,
                                   std::uint64_t line) {
  using gcode::PlainMoves;
  double feed_mm_s = feed_mm_s_;
  if (!read_feed(moves, move, feed_mm_s))
    return false;
  Vector3 to_mm = position_mm_;
  if (moves.has(move, PlainMoves::kX))
    to_mm[0] = offset_mm_[0] + moves.value(move, PlainMoves::kX) * unit_mm_;
  if (moves.has(move, PlainMoves::kY))
    to_mm[1] = offset_mm_[1] + moves.value(move, PlainMoves::kY) * unit_mm_;
  double e_mm = 0.0;
  double e_after = e_register_;
  if (moves.has(move, PlainMoves::kE))
    e_mm = read_e(moves.value(move, PlainMoves::kE), e_after);
  const bool goes = to_mm != position_mm_;
  if (!(std::abs(to_mm[0]) + std::abs(to_mm[1]) + std::abs(to_mm[2]) + std::abs(e_mm) < kMost_mm) ||
      (goes && e_mm > 0.0) || e_mm < -kLongestRetraction_mm)
    return false;
  feed_mm_s_ = feed_mm_s;
  e_register_ = e_after;
  has_e_words_ = has_e_words_ || moves.has(move, PlainMoves::kE);
  flags_ = plain_flags();
  if (!moves.says_nothing_but_feed(move))
    ++moves_;
  if (!goes && e_mm == 0.0)
    return true;
  const bool rapid = moves.is_rapid(move);
  const bool at_limits = rapid && !machine_.dialect.rapid_moves_use_feed;
  Record& record = out_.next(RecordKind::move, line);
  record.flags = static_cast<std::uint8_t>(flags_ | (rapid ? kRapid : 0));
  record.tool = static_cast<std::int16_t>(e_mm != 0.0 ? last_tool_ : tool_);
  record.move = {position_mm_, to_mm, e_mm,  at_limits ? 0.0 : feed_mm_s * feed_factor_,
                 {0.0, 0.0},   0.0,   plane_};
  position_mm_ = to_mm;
  return true;
}

}  // namespace platetally::interpreter
