// When a plate never says whether E is absolute or relative, the E words themselves tell. Absolute
// values climb: nearly every word is at least as large as the one before, and hardly any is
// negative. Relative values are small steps that rise as often as they fall. Lines are held back
// until kEnoughWords E words were seen (or the plate ends, or the mode is stated), then
// interpreted.
#include <fmt/format.h>

#include "gcode/grammar.hpp"
#include "interpreter/interpreter.hpp"

namespace platetally::interpreter {

namespace {

constexpr std::uint64_t kEnoughWords = 256;
constexpr std::uint64_t kFewWords = 8;
constexpr std::size_t kMostBytes = 1 << 20;
constexpr double kClimbs = 0.8;
constexpr double kNegative = 0.02;

bool states_mode(const gcode::Command& command) {
  return command.letter == 'M' && (command.number == 82 || command.number == 83);
}

}  // namespace

bool Interpreter::holds_back(const gcode::Line& line, std::string_view text) {
  if (e_mode_known_)
    return false;
  bool feeds = false;
  for (std::size_t i = 0; i < line.commands; ++i) {
    const gcode::Command& command = line.command[i];
    if (states_mode(command)) {
      if (evidence_.collecting)
        decide_extrusion_mode();
      e_mode_known_ = true;
      return false;
    }
    feeds = feeds || (command.words.has('E') && command.letter != 'M' &&
                      !(command.letter == 'G' && command.number == 92));
  }
  if (!evidence_.collecting && !feeds)
    return false;
  evidence_.collecting = true;
  evidence_.lines.emplace_back(line_, std::string(text));
  evidence_.bytes += text.size() + sizeof(evidence_.lines.front());
  weigh(line);
  if (evidence_.words >= kEnoughWords || evidence_.bytes >= kMostBytes)
    decide_extrusion_mode();
  return true;
}

void Interpreter::weigh(const gcode::Line& line) {
  for (std::size_t i = 0; i < line.commands; ++i) {
    const gcode::Command& command = line.command[i];
    if (!command.words.has('E') || command.letter == 'M')
      continue;
    const double e = command.words['E'];
    if (command.letter == 'G' && command.number == 92) {
      evidence_.last = e;
      continue;
    }
    ++evidence_.words;
    evidence_.rises += e >= evidence_.last;
    evidence_.negative += e < 0.0;
    evidence_.last = e;
  }
}

void Interpreter::decide_extrusion_mode() {
  const auto words = static_cast<double>(evidence_.words);
  const bool climbs = static_cast<double>(evidence_.rises) >= kClimbs * words &&
                      static_cast<double>(evidence_.negative) <= kNegative * words;
  e_relative_ = evidence_.words >= kFewWords && !climbs;
  e_mode_known_ = true;
  const std::uint64_t line_now = line_;
  line_ = evidence_.lines.front().first;
  warn("extrusion-mode-detected", Severity::note, 0,
       fmt::format("neither M82 nor M83 before the first E word; expected one; taken as {} because "
                   "{} of {} E words are no smaller than the one before and {} are negative",
                   e_relative_ ? "relative" : "absolute", evidence_.rises, evidence_.words,
                   evidence_.negative));
  gcode::Line parsed;
  for (const auto& [number, text] : evidence_.lines) {
    line_ = number;
    gcode::parse_line(text, parsed);
    interpret(parsed, text);
  }
  evidence_ = {};
  line_ = line_now;
}

}  // namespace platetally::interpreter
