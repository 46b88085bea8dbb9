// The modal machine: lines in, records out.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "base/diagnostics.hpp"
#include "dialect/word_table.hpp"
#include "gcode/words.hpp"
#include "interpreter/comment_marks.hpp"
#include "interpreter/layer_tracker.hpp"
#include "interpreter/record.hpp"
#include "interpreter/record_batcher.hpp"
#include "platetally/account.hpp"
#include "platetally/machine.hpp"

namespace platetally::interpreter {

class Interpreter {
 public:
  /// `machine` and `sink` must outlive the interpreter.
  Interpreter(const Machine& machine, RecordSink& sink);

  /// The next line: its words, its text (for excerpts) and number.
  void take(const gcode::Line& line, std::string_view text, std::uint64_t line_number);
  /// Ends the plate: the last record is end_of_plate.
  void finish();

  const base::Diagnostics& diagnostics() const { return diagnostics_; }
  /// By count, the most frequent first.
  std::vector<UnaccountedWord> unaccounted() const;
  /// By layer ordinal; [0] is 0.
  const std::vector<double>& layer_heights_mm() const { return layers_.heights_mm(); }
  /// T lines that name a tool of the machine, repeats included.
  std::uint64_t tool_selects() const { return tool_selects_; }

 private:
  struct Unaccounted {
    std::uint64_t count = 0;
    std::uint64_t first_line = 0;
  };
  struct Condition {
    bool runs_outside = true;
    bool in_first = true;
    bool takes_first = true;
  };
  /// Lines held back while the E mode is not known, and what their E words look like.
  struct Evidence {
    bool collecting = false;
    std::vector<std::pair<std::uint64_t, std::string>> lines;
    std::size_t bytes = 0;
    std::uint64_t words = 0;
    std::uint64_t rises = 0;
    std::uint64_t negative = 0;
    double last = 0.0;
  };

  // interpreter.cpp
  void note_line(const gcode::Line& line, std::string_view text);
  void interpret(const gcode::Line& line, std::string_view text);
  void take_commands(const gcode::Line& line);
  void execute(const gcode::Command& command);
  void execute_lettered(const gcode::Command& command);
  void execute_meaning(dialect::Meaning meaning, const gcode::Command& command);
  void count_unaccounted(std::string word);
  void select_tool(std::int32_t number, std::uint32_t column);
  void warn(const char* code, Severity severity, std::uint32_t column, std::string message);
  Record blank(RecordKind kind) const;
  Record event(RecordKind kind, double value) const;
  void emit(const Record& record) { batch_.add(record); }
  bool runs() const { return conditions_.empty() || condition_runs_; }

  // moves.cpp
  void move(const gcode::Words& words, std::uint32_t column);
  void straight(const gcode::Words& words);
  void arc(const gcode::Words& words, bool clockwise, std::uint32_t column);
  std::array<double, 3> target_of(const gcode::Words& words) const;
  double fed_mm(const gcode::Words& words);
  double feed_mm_s(double length_mm) const;
  void emit_move(Record record);
  void set_position(const gcode::Words& words);
  bool keeps_layer_open(const Move& move) const;

  // extrusion_mode.cpp
  bool holds_back(const gcode::Line& line, std::string_view text);
  void weigh(const gcode::Line& line);
  void decide_extrusion_mode();

  // settings.cpp
  void set_heater(Heater heater, const gcode::Command& command, bool wait);
  void tool_temperatures(const gcode::Command& command);
  void set_limits(dialect::Meaning meaning, const gcode::Command& command);
  void emit_limit(Limit limit, double value);
  void emit_axis_limit(Limit limit, const gcode::Words& words);
  bool honoured(bool honours, const char* word, std::uint32_t column);
  void dwell(const gcode::Words& words);
  void fan(const gcode::Command& command, bool on);
  void wait_all();

  // own_rows.cpp
  void own(const DialectRow& row, const gcode::Command& command);
  void own_settings(const DialectRow& row, const gcode::Command& command);
  void condition(DialectAction action, const DialectRow& row);

  const Machine& machine_;
  dialect::WordTable words_;
  CommentMarks marks_;
  LayerTracker layers_;
  RecordBatcher batch_;
  base::Diagnostics diagnostics_;
  std::map<std::string, Unaccounted> unaccounted_;

  std::uint64_t line_ = 0;
  std::array<double, 3> position_mm_{};
  std::array<double, 3> offset_mm_{};
  double e_register_ = 0.0;  ///< in the file's units, as the file counts
  double unit_mm_ = 1.0;
  double feed_mm_s_;
  double feed_factor_ = 1.0;
  double flow_factor_ = 1.0;
  bool absolute_ = true;
  bool e_relative_ = false;
  bool e_mode_known_ = false;
  Evidence evidence_;
  bool volumetric_ = false;
  double volumetric_diameter_mm_ = 0.0;  ///< 0: the tool's own
  bool inverse_time_ = false;
  double inverse_minutes_ = 0.0;
  bool extruder_on_ = false;
  bool own_purge_ = false;
  Plane plane_ = Plane::xy;
  dialect::Meaning modal_motion_ = dialect::Meaning::linear;
  std::int32_t tool_ = 0;
  bool ended_ = false;
  std::vector<double> head_set_c_;  ///< by tool
  double bed_set_c_ = 0.0;
  double enclosure_set_c_ = 0.0;
  std::vector<Condition> conditions_;
  bool condition_runs_ = true;
  std::uint64_t tool_selects_ = 0;
  std::uint64_t moves_ = 0;
  std::uint64_t commands_ = 0;
  std::uint64_t unaccounted_count_ = 0;
};

}  // namespace platetally::interpreter
