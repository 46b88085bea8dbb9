// From the words of a plate to rows and events: the modal machine that a controller is, without its
// clock.
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/diagnostics.hpp"
#include "platetally/machine.hpp"
#include "platetally/unaccounted.hpp"
#include "reading/gcode/plain_moves.hpp"
#include "reading/gcode/words.hpp"
#include "reading/interpreter/rows.hpp"
#include "reading/interpreter/stated_figures.hpp"

namespace platetally::interpreter {

/// Memory is bounded by the number of layers (at most 100000) and by what is held back while it is
/// not yet known whether E is absolute. Machine and sink must outlive the interpreter.
class Interpreter {
 public:
  Interpreter(const Machine& machine, RowSink& sink);
  ~Interpreter();
  Interpreter(const Interpreter&) = delete;
  Interpreter& operator=(const Interpreter&) = delete;

  /// Comments that name objects are to make events; before the first line.
  void watch_objects();
  /// The names of objects, by the number in the events.
  const std::vector<std::string>& object_names() const;

  /// The next line; `line` was read from `text`, and both are needed only during the call.
  void take(const gcode::Line& line, std::string_view text, std::uint64_t line_number);

  /// While true, take() takes plain moves. It may change with every line.
  bool takes_plain_moves() const;
  /// The next lines are the moves from `first` on, of which it takes as many as need nothing that
  /// is not in them. Returns their number; the line behind them goes to take() above, whatever it
  /// is.
  std::size_t take(const gcode::PlainMoves& moves, std::size_t first,
                   std::uint64_t first_line_number);

  /// Emits end_of_plate and hands over what is left. Call once, after the last line.
  void finish();

  const base::Diagnostics& diagnostics() const;
  /// Those that may matter first, then most frequent first, then by word.
  std::vector<UnaccountedWord> unaccounted() const;
  /// Most frequent first, then by word.
  std::vector<LimitWord> read_by_key() const;
  /// By layer ordinal; [0], before the first layer, is 0.
  const std::vector<double>& layer_heights_mm() const;
  /// Command words with a meaning, of which words of motion that were taken.
  std::uint64_t understood() const;
  std::uint64_t moves() const;
  /// Lines that could not be read, and moves that are in them or reach too far.
  std::uint64_t lines_left_out() const;
  std::uint64_t moves_left_out() const;
  /// What the comments in header and footer state of the plate; complete behind finish().
  std::vector<StatedAt> stated() const;
  /// By number.
  std::vector<MissingTool> missing_tools() const;
  /// Lines that select a tool of the machine, repeated selections included, parking not.
  std::uint64_t tool_selects() const;

 private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

}  // namespace platetally::interpreter
