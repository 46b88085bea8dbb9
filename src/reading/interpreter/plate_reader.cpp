#include "reading/interpreter/plate_reader.hpp"

#include "reading/gcode/grammar.hpp"

namespace platetally::interpreter {

/// Goes over the plain moves from `at` on; returns where the first line begins that is left.
const char* PlateReader::take_plain_moves(const char* at, const char* end) {
  while (interpreter_.takes_plain_moves()) {
    if (next_move_ == moves_.size()) {
      moves_.read(at, end);
      next_move_ = 0;
    }
    const std::size_t taken = interpreter_.take(moves_, next_move_, lines_ + 1);
    if (taken == 0)
      break;
    lines_ += taken;
    commands_ += taken;
    next_move_ += taken;
    at = moves_.next(next_move_ - 1);
  }
  return at;
}

void PlateReader::take(std::string_view text) {
  const char* at = text.data();
  const char* const end = at + text.size();
  while (at != end) {
    at = take_plain_moves(at, end);
    if (at == end)
      return;
    const char* const from = at;
    at = gcode::parse_line(at, end, line_);
    commands_ += line_.commands;
    interpreter_.take(line_, gcode::line_text(from, at), ++lines_);
    if (next_move_ < moves_.size())
      ++next_move_;  // it was this line
  }
}

void PlateReader::take_too_long(std::string_view text) {
  gcode::parse_line(text.data(), text.data() + text.size(), line_);
  line_.commands = 0;
  line_.fault = gcode::LineFault::line_too_long;
  interpreter_.take(line_, gcode::line_text(text.data(), text.data() + text.size()), ++lines_);
}

}  // namespace platetally::interpreter
