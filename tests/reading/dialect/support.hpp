// Commands and rows, as a test says them.
#pragma once

#include <string_view>

#include "platetally/machine.hpp"
#include "reading/gcode/words.hpp"

namespace platetally::dialect::test {

inline gcode::Command lettered(char letter, int number, int fraction = -1) {
  gcode::Command command;
  command.kind = gcode::CommandKind::lettered;
  command.letter = letter;
  command.number = number;
  command.fraction = fraction;
  return command;
}

inline gcode::Command named(std::string_view name, std::string_view text = {}) {
  gcode::Command command;
  command.kind = gcode::CommandKind::named;
  command.name = name;
  command.text = text;
  return command;
}

inline DialectRow row(const char* word, DialectAction action = DialectAction::ignore) {
  DialectRow made;
  made.word = word;
  made.action = action;
  return made;
}

}  // namespace platetally::dialect::test
