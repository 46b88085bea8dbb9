// Plain moves, many at once: what the words of modal_motion.cpp would do with them, one by one. A
// test holds the two against each other.
#include <algorithm>

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
  return !ended_ && !conditions_.skip() && !marks_.outlasts_line() && !position_.is_relative() &&
         !motors_off_ && !feed_.is_inverse() && !filament_.feeds_by_switch() &&
         !hand_.is_parked() && !missing_.is_selected() && g0_is_rapid_ && g1_is_line_;
}

std::size_t ModalMachine::take_plain_moves(const PlainMoves& moves, std::size_t first,
                                           std::uint64_t first_line) {
  marks_.begin_line();
  update_flags();
  position_.begin_line();
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
  const Point& from_mm = position_.at_mm();
  if (!places_.is_level(from_mm[2]) || run.layer != places_.current() ||
      run.flags != events_.flags() || run.tool != hand_.feeding())
    return false;
  const double unit_mm = position_.unit_mm();
  const auto column = [&](PlainMoves::Word word) {
    return moves.has(first, word) ? moves.column(word) + first : nullptr;
  };
  const StrokeWords words{column(PlainMoves::kX), column(PlainMoves::kY), column(PlainMoves::kZ),
                          column(PlainMoves::kE), column(PlainMoves::kF)};
  const StrokeFrame frame{position_.offset_mm(),
                          unit_mm,
                          filament_.unit_mm(unit_mm),
                          filament_.scale(),
                          filament_.is_relative(),
                          from_mm,
                          filament_.at(),
                          feed_.in_force_mm_s(),
                          feed_.factor(),
                          kMost_mm};
  const RowRoom rows = out_.room();
  if (!write_strokes(frame, words, count, rows))
    return false;
  out_.add_strokes(count);
  filament_.keep_all(words.e, count, unit_mm);
  filament_.note_words();
  if (words.f != nullptr)
    feed_.take(words.f[count - 1], unit_mm);
  places_.lay_level(count, rows.to_x_mm, rows.to_y_mm, from_mm[2]);
  position_.go_to({rows.to_x_mm[count - 1], rows.to_y_mm[count - 1], from_mm[2]});
  moves_ += count;
  return true;
}

/// A plain move by itself. False where it asks for a remark on its words.
bool ModalMachine::take_plain_move(const PlainMoves& moves, std::size_t move, std::uint64_t line) {
  const PlainWords words{moves, move};
  const bool says_feed = words.has('F');
  const Way way = read_way(words);
  if ((says_feed && !FeedRate::is_sound(words['F'], kMost_mm)) || !way.is_in_range() ||
      way.fed.e_mm < -kLongestRetraction_mm)
    return false;
  if (says_feed)
    feed_.take(words['F'], position_.unit_mm());
  filament_.keep(way.fed);
  if (words.has('E'))
    filament_.note_words();
  if (!moves.says_nothing_but_feed(move))
    ++moves_;
  const bool goes = way.to_mm != position_.at_mm();
  if (!goes && way.fed.e_mm == 0.0)
    return true;
  remarks_.place.line = line;
  if (way.fed.e_mm > 0.0 && goes && !places_.is_level(way.to_mm[2]))
    remarks_.place = {line, moves.text(move), 1};  // opening a layer may be remarked on
  push_move(way, moves.is_rapid(move), nullptr);
  return true;
}

}  // namespace platetally::interpreter
