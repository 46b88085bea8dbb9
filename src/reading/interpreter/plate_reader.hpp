// Gives the lines of a plate to the interpreter: plain moves many at once, all others one by one.
#pragma once

#include <cstdint>
#include <string_view>

#include "reading/gcode/plain_moves.hpp"
#include "reading/gcode/words.hpp"
#include "reading/interpreter/interpreter.hpp"

namespace platetally::interpreter {

class PlateReader {
 public:
  explicit PlateReader(Interpreter& interpreter) : interpreter_(interpreter) {}

  /// Whole lines, the last one with or without its end.
  void take(std::string_view text);
  /// The beginning of a line that is longer than a reader's bound.
  void take_too_long(std::string_view text);

  std::uint64_t lines() const { return lines_; }
  std::uint64_t commands() const { return commands_; }

 private:
  const char* take_plain_moves(const char* at, const char* end);

  Interpreter& interpreter_;
  gcode::PlainMoves moves_;    // read ahead
  std::size_t next_move_ = 0;  // of them: on the next line, unless there are no more
  gcode::Line line_;
  std::uint64_t lines_ = 0;
  std::uint64_t commands_ = 0;
};

}  // namespace platetally::interpreter
