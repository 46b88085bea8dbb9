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

/// Words of four digits and more belong to one machine family each: what stands behind them is
/// theirs, whatever it looks like.
inline bool is_of_one_family(const Command& command) {
  constexpr std::int32_t kFirst = 1000;
  return command.kind == CommandKind::lettered && command.letter != 'T' && command.number >= kFirst;
}

/// Words whose letters are numbers that the account is made of: there a text is a fault. Behind any
/// other M word it is a text.
inline bool has_letters_that_count(const Command& command) {
  if (command.kind != CommandKind::lettered || command.letter != 'M')
    return !is_of_one_family(command);
  if (command.fraction >= 0)
    return false;
  const std::int32_t number = command.number;
  switch (number) {
    case 0:
    case 1:
    case 2:
    case 6:
    case 25:
    case 60:
    case 226:
    case 400:
    case 600:
      return true;
    default:
      return (number >= 17 && number <= 18) || (number >= 82 && number <= 84) ||
             (number >= 101 && number <= 109) || (number >= 140 && number <= 141) ||
             (number >= 190 && number <= 191) || (number >= 200 && number <= 221);
  }
}

/// A G word behind which T selects a tool: motion and modes. Behind homing, probing and the like it
/// is a parameter.
inline bool lets_tool_follow(std::int32_t g_number) {
  return (g_number >= 0 && g_number <= 3) || (g_number >= 17 && g_number <= 21) ||
         (g_number >= 53 && g_number <= 64) || (g_number >= 80 && g_number < 100);
}

/// Whether the letter at `at`, which has a number or is `bare`, begins a command of its own, or is
/// an argument of the one before it.
inline bool begins_command(const Building& state, char letter, Iterator at, bool bare) {
  if (letter != 'G' && letter != 'M' && letter != 'T')
    return false;
  if (state.command == nullptr)
    return true;
  const Command& before = *state.command;
  if (bare || is_of_one_family(before))
    return false;
  if (before.kind == CommandKind::lettered && letter != 'G') {
    // Their own parameters have these letters.
    const bool homing = before.letter == 'G' && before.number == 28;
    const bool pressure = before.letter == 'M' && before.number == 900;
    if (homing || pressure)
      return false;
  }
  if (!has_letters_that_count(before) && !is_blank(at[-1]))
    return false;  // amid a text
  return letter != 'T' || (before.letter == 'G' && lets_tool_follow(before.number));
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
    case 115:
    case 117:
    case 118:
    case 928:
      return true;
    default:
      return false;
  }
}

}  // namespace platetally::gcode
