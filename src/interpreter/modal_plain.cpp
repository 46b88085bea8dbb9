// Plain moves, many at once: what the words of modal_motion.cpp would do with them, one by one. A
// test holds the two against each other.
#include <cmath>

#include "base/units.hpp"
#include "interpreter/modal_machine.hpp"

namespace platetally::interpreter {

bool ModalMachine::takes_plain_moves() const {
  return !ended_ && !skips() && !row_purge_ && !marks_.in_section() && !relative_ && !motors_off_ &&
         !inverse_time_ && !extruder_on_ && tool_ >= 0 && g0_is_rapid_ && g1_is_line_;
}

std::size_t ModalMachine::take_plain_moves(const gcode::PlainMoves& moves,
                                           std::uint64_t first_line) {
  std::size_t taken = 0;
  while (taken < moves.size()) {
    taken += take_strokes(moves, taken, first_line + taken);
    if (taken == moves.size() || !take_plain_move(moves, taken, first_line + taken))
      break;
    ++taken;
  }
  if (taken == 0)
    return 0;
  marks_.begin_line();
  machine_coordinates_ = false;
  motion_ = moves.is_rapid(taken - 1) ? MotionWord::rapid : MotionWord::line;
  moves_ += taken;
  return taken;
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
  using gcode::PlainMoves;
  const double z_mm = position_mm_[2];
  if (!layers_.is_level(z_mm))
    return 0;
  // All in single numbers, which stay in registers.
  const double offset_x_mm = offset_mm_[0], offset_y_mm = offset_mm_[1], unit_mm = unit_mm_;
  const double e_unit = volumetric_ ? 1.0 : unit_mm_;
  const double e_scale = e_scale_;
  const double feed_factor = feed_factor_, reach_mm = std::abs(z_mm);
  double x_mm = position_mm_[0], y_mm = position_mm_[1];
  double e_register = e_register_, feed_mm_s = feed_mm_s_;
  TowerAhead::Box box;
  StrokeColumns* run = out_.strokes(first_line);
  std::size_t next = first;
  for (; next < moves.size() && moves.feeds(next); ++next) {
    double next_feed_mm_s = feed_mm_s;
    if (!read_feed(moves, next, next_feed_mm_s))
      break;
    const double to_x_mm = moves.has(next, PlainMoves::kX)
                               ? offset_x_mm + moves.value(next, PlainMoves::kX) * unit_mm
                               : x_mm;
    const double to_y_mm = moves.has(next, PlainMoves::kY)
                               ? offset_y_mm + moves.value(next, PlainMoves::kY) * unit_mm
                               : y_mm;
    const double said_e = moves.value(next, PlainMoves::kE) * e_unit;
    const double e_mm = (e_relative_ ? said_e : said_e - e_register) * e_scale;
    const bool goes = to_x_mm != x_mm || to_y_mm != y_mm;
    if (!goes || !(e_mm > 0.0) ||
        !(std::abs(to_x_mm) + std::abs(to_y_mm) + reach_mm + e_mm < kMost_mm))
      break;
    if (run == nullptr || run->size == kMostStrokes) {
      out_.enter(layers_.current());
      run = out_.begin_strokes({first_line + (next - first), layers_.current(),
                                static_cast<std::int16_t>(last_tool_), plain_flags(), plane_, x_mm,
                                y_mm, z_mm});
      box.include(x_mm, y_mm);
    }
    feed_mm_s = next_feed_mm_s;
    e_register = e_relative_ ? e_register + said_e : said_e;
    x_mm = to_x_mm;
    y_mm = to_y_mm;
    run->push(x_mm, y_mm, e_mm, feed_mm_s * feed_factor);
    box.include(x_mm, y_mm);
  }
  if (next == first)
    return 0;
  feed_mm_s_ = feed_mm_s;
  e_register_ = e_register;
  position_mm_[0] = x_mm;
  position_mm_[1] = y_mm;
  laid_to_mm_ = position_mm_;
  has_e_words_ = true;
  flags_ = plain_flags();
  layers_.count_level(next - first);
  if (ahead_.is_watching())
    ahead_.lay_in(box);
  return next - first;
}

/// A plain move that is no such stroke: a travel, filament alone, a G0. False where it asks for
/// more.
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
      (goes ? e_mm > 0.0 : e_mm == 0.0))
    return false;
  feed_mm_s_ = feed_mm_s;
  e_register_ = e_after;
  has_e_words_ = has_e_words_ || moves.has(move, PlainMoves::kE);
  flags_ = plain_flags();
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
