#include "interpreter/interpreter.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "base/units.hpp"
#include "gcode/faults.hpp"

namespace platetally::interpreter {

using dialect::Meaning;

namespace {

constexpr std::size_t kMostUnaccounted = 1000;

}  // namespace

Interpreter::Interpreter(const Machine& machine, RecordSink& sink)
    : machine_(machine),
      words_(machine.dialect),
      marks_(machine.dialect),
      batch_(sink),
      feed_mm_s_(machine.motion.initial_feed_mm_s),
      volumetric_(machine.dialect.volumetric_e),
      head_set_c_(machine.tools.size(), 0.0) {
  e_mode_known_ = machine.dialect.initial_extrusion != ExtrusionMode::detect;
  e_relative_ = machine.dialect.initial_extrusion == ExtrusionMode::relative;
}

Record Interpreter::blank(RecordKind kind) const {
  Record record{};
  record.kind = kind;
  record.tool = static_cast<std::int16_t>(tool_);
  record.line = line_;
  if (marks_.in_purge() || own_purge_)
    record.flags |= kMarkedPurge;
  return record;
}

Record Interpreter::event(RecordKind kind, double value) const {
  Record record = blank(kind);
  record.event = {};
  record.event.value = value;
  record.event.tool = tool_;
  return record;
}

void Interpreter::warn(const char* code, Severity severity, std::uint32_t column,
                       std::string message) {
  Diagnostic diagnostic;
  diagnostic.code = code;
  diagnostic.severity = severity;
  diagnostic.line = line_;
  diagnostic.column = column;
  diagnostic.message = std::move(message);
  diagnostics_.add(std::move(diagnostic));
}

void Interpreter::take(const gcode::Line& line, std::string_view text, std::uint64_t line_number) {
  line_ = line_number;
  note_line(line, text);
  if (!holds_back(line, text))
    interpret(line, text);
}

void Interpreter::interpret(const gcode::Line& line, std::string_view) {
  if (line.comment.data() != nullptr)
    marks_.see(line.comment, line.comment_is_alone);
  take_commands(line);
}

void Interpreter::note_line(const gcode::Line& line, std::string_view text) {
  if (line.fault != gcode::LineFault::none && !diagnostics_.count_again(gcode::code_of(line.fault)))
    diagnostics_.add(gcode::describe_fault(line, text, line_));
  if (line.checksum == gcode::Checksum::wrong && line.fault == gcode::LineFault::none &&
      !diagnostics_.count_again("checksum-wrong"))
    diagnostics_.add(gcode::describe_fault(line, text, line_));
}

void Interpreter::take_commands(const gcode::Line& line) {
  for (std::size_t i = 0; i < line.commands; ++i) {
    if (ended_) {
      if (!diagnostics_.count_again("after-end"))
        warn("after-end", Severity::note, line.command[i].column,
             "found commands behind the end of the program; expected none; they were left out");
      continue;
    }
    ++commands_;
    execute(line.command[i]);
  }
}

void Interpreter::execute(const gcode::Command& command) {
  switch (command.kind) {
    case gcode::CommandKind::named:
      if (const DialectRow* row = words_.row(command.name))
        own(*row, command);
      else if (runs())
        count_unaccounted(std::string(command.name.substr(0, 40)));
      return;
    case gcode::CommandKind::motionless:
      if (runs())
        execute_meaning(modal_motion_, command);
      return;
    case gcode::CommandKind::lettered:
      execute_lettered(command);
      return;
  }
}

void Interpreter::execute_lettered(const gcode::Command& command) {
  if (command.letter == 'T') {
    if (runs() && !command.bare_number)
      select_tool(command.number, command.column);
    else if (runs())
      count_unaccounted("T");
    return;
  }
  const Meaning meaning = command.bare_number
                              ? Meaning::unknown
                              : words_.lettered(command.letter, command.number, command.fraction);
  if (meaning == Meaning::own) {
    own(*words_.row(dialect::spell(command.letter, command.number, command.fraction)), command);
    return;
  }
  if (!runs())
    return;
  if (meaning == Meaning::unknown)
    count_unaccounted(command.bare_number
                          ? std::string(1, command.letter)
                          : dialect::spell(command.letter, command.number, command.fraction));
  else
    execute_meaning(meaning, command);
}

// A flat dispatch: one line a word.
void Interpreter::execute_meaning(Meaning meaning, const gcode::Command& command) {
  const gcode::Words& words = command.words;
  switch (meaning) {
    case Meaning::rapid:
    case Meaning::linear:
    case Meaning::arc_clockwise:
    case Meaning::arc_counter:
      modal_motion_ = meaning;
      return move(words, command.column);
    case Meaning::dwell:
      return dwell(words);
    case Meaning::retract:
      if (words.has('P') || words.has('L'))
        return tool_temperatures(command);
      return emit(event(RecordKind::firmware_retract, 0.0));
    case Meaning::unretract:
      return emit(event(RecordKind::firmware_return, 0.0));
    case Meaning::plane_xy:
      plane_ = Plane::xy;
      return;
    case Meaning::plane_zx:
      plane_ = Plane::zx;
      return;
    case Meaning::plane_yz:
      plane_ = Plane::yz;
      return;
    case Meaning::inches:
      unit_mm_ = base::kMmPerInch;
      return;
    case Meaning::millimetres:
      unit_mm_ = 1.0;
      return;
    case Meaning::home:
      for (std::size_t axis = 0; axis < 3; ++axis) {
        const char letter = "XYZ"[axis];
        const bool any = words.has('X') || words.has('Y') || words.has('Z') ||
                         words.has_bare('X') || words.has_bare('Y') || words.has_bare('Z');
        if (!any || words.has(letter) || words.has_bare(letter)) {
          position_mm_[axis] = 0.0;
          offset_mm_[axis] = 0.0;
        }
      }
      return emit(event(RecordKind::home, 0.0));
    case Meaning::probe:
      return emit(event(RecordKind::probe, 0.0));
    case Meaning::absolute:
    case Meaning::relative:
      absolute_ = meaning == Meaning::absolute;
      if (machine_.dialect.distance_words_set_e)
        e_relative_ = !absolute_;
      return;
    case Meaning::set_position:
      return set_position(words);
    case Meaning::reset_position:
      offset_mm_ = {};
      return;
    case Meaning::inverse_time:
    case Meaning::feed_per_minute:
      inverse_time_ = meaning == Meaning::inverse_time;
      return;
    case Meaning::pause:
      return emit(event(RecordKind::pause, 0.0));
    case Meaning::end:
      ended_ = command.text.empty();
      return;
    case Meaning::motors_on:
    case Meaning::motors_off:
      return emit(event(RecordKind::motors, meaning == Meaning::motors_on ? 1.0 : 0.0));
    case Meaning::extrude_absolute:
    case Meaning::extrude_relative:
      e_relative_ = meaning == Meaning::extrude_relative;
      return;
    case Meaning::extruder_on:
    case Meaning::extruder_off:
      extruder_on_ = meaning == Meaning::extruder_on;
      if (extruder_on_ && !diagnostics_.count_again("extruder-words"))
        warn("extruder-words", Severity::warning, command.column,
             "found the extruder switched on and off by words; expected E words; paths are laid, "
             "but "
             "how much filament they take is not known and counts as none");
      return;
    case Meaning::head_set:
    case Meaning::head_wait:
      return set_heater(Heater::head, command, meaning == Meaning::head_wait);
    case Meaning::bed_set:
    case Meaning::bed_wait:
      return set_heater(Heater::bed, command, meaning == Meaning::bed_wait);
    case Meaning::enclosure_set:
    case Meaning::enclosure_wait:
      return set_heater(Heater::enclosure, command, meaning == Meaning::enclosure_wait);
    case Meaning::fan_on:
    case Meaning::fan_off:
      return fan(command, meaning == Meaning::fan_on);
    case Meaning::wait_all:
      return wait_all();
    case Meaning::volumetric:
      volumetric_ = words.get('S', words.get('D', 1.0)) > 0.0;
      volumetric_diameter_mm_ = words.get('D', 0.0) * unit_mm_;
      return;
    case Meaning::limit_acceleration:
    case Meaning::limit_speed:
    case Meaning::accelerations:
    case Meaning::corners:
      return set_limits(meaning, command);
    case Meaning::feed_factor:
    case Meaning::flow_factor:
      if (!words.has('S') ||
          !honoured(machine_.motion.honours_factor_words,
                    meaning == Meaning::feed_factor ? "M220" : "M221", command.column))
        return;
      (meaning == Meaning::feed_factor ? feed_factor_ : flow_factor_) =
          std::clamp(words['S'] / 100.0, 0.01, 100.0);
      return;
    case Meaning::wait_moves:
      return emit(event(RecordKind::dwell, 0.0));
    case Meaning::nothing:
    case Meaning::unknown:
    case Meaning::own:
      return;
  }
}

void Interpreter::select_tool(std::int32_t number, std::uint32_t column) {
  const auto tools = static_cast<std::int32_t>(machine_.tools.size());
  if (number < -1 || number >= tools) {
    if (!diagnostics_.count_again("tool-not-on-machine"))
      warn("tool-not-on-machine", Severity::warning, column,
           fmt::format("found T{}; expected -1 to {} on '{}'; the tool in hand stays, what follows "
                       "counts as its",
                       number, tools - 1, machine_.name));
    return;
  }
  tool_selects_ += number >= 0;
  marks_.boundary();
  Record record = event(RecordKind::select_tool, 0.0);
  record.event.tool = number;
  emit(record);
  tool_ = number;
}

void Interpreter::count_unaccounted(std::string word) {
  ++unaccounted_count_;
  if (unaccounted_.size() >= kMostUnaccounted && unaccounted_.count(word) == 0)
    word = "other";
  Unaccounted& entry = unaccounted_[word];
  if (entry.count++ == 0)
    entry.first_line = line_;
}

std::vector<UnaccountedWord> Interpreter::unaccounted() const {
  std::vector<UnaccountedWord> words;
  for (const auto& [word, entry] : unaccounted_)
    words.push_back({word, entry.count, entry.first_line});
  std::stable_sort(words.begin(), words.end(),
                   [](const auto& a, const auto& b) { return a.count > b.count; });
  return words;
}

void Interpreter::finish() {
  if (evidence_.collecting)
    decide_extrusion_mode();
  if (moves_ == 0 && commands_ > 0) {
    const std::vector<UnaccountedWord> words = unaccounted();
    line_ = 0;
    warn("no-motion", Severity::error, 0,
         fmt::format(
             "no move was understood in {} commands, {} of them in unknown words{}; expected "
             "G0, G1, G2 or G3; time, material and layers are empty",
             commands_, unaccounted_count_,
             words.empty() ? std::string() : fmt::format(" (most often {})", words.front().word)));
  }
  if (layers_.overflowed())
    warn("layers-too-many", Severity::warning, 0,
         "found more heights than 100000; expected fewer; the rest counts to the nearest");
  emit(event(RecordKind::end_of_plate, 0.0));
  batch_.finish();
}

}  // namespace platetally::interpreter
