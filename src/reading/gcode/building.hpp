// A line on its way: what the grammar's actions and the run of plain words write to.
#pragma once

#include <cstdint>

#include "reading/gcode/number.hpp"
#include "reading/gcode/words.hpp"

namespace platetally::gcode {

/// What the actions write to.
struct Building {
  Line& line;
  Iterator begin;
  Command* command = nullptr;
  bool numbered = false;   ///< the run met a line number
  bool overflows = false;  ///< more commands than fit: what follows is left out

  std::uint32_t column(Iterator at) const { return static_cast<std::uint32_t>(at - begin) + 1; }

  void fault(LineFault what, Iterator at) {
    if (line.fault != LineFault::none)
      return;
    line.fault = what;
    line.fault_column = column(at);
  }

  Command* add(CommandKind kind, Iterator at) {
    if (line.commands == kMostCommands) {
      fault(LineFault::too_many_commands, at);
      overflows = true;
      return nullptr;
    }
    Command& added = line.command[line.commands++];
    added.kind = kind;
    added.letter = 0;
    added.number = -1;
    added.fraction = -1;
    added.bare_number = false;
    added.column = column(at);
    added.words.mask = 0;
    added.words.bare = 0;
    added.name = {};
    added.text = {};
    command = &added;
    return command;
  }
};

/// T selects a tool unless it stands behind a heater, flow or limit word, whose parameter it is.
inline bool begins_command(const Building& state, char letter) {
  if (letter == 'G' || letter == 'M')
    return true;
  return letter == 'T' && (state.command == nullptr ||
                           (state.command->letter == 'G' && state.command->number != 10));
}

/// Words that are followed by free text.
inline bool takes_text(char letter, std::int32_t number, std::int32_t fraction) {
  if (letter != 'M' || fraction >= 0)
    return false;
  switch (number) {
    case 23:
    case 28:
    case 30:
    case 32:
    case 33:
    case 117:
    case 118:
    case 928:
      return true;
    default:
      return false;
  }
}

}  // namespace platetally::gcode
