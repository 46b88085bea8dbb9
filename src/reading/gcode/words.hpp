// What one line of G-code says, before anybody asks what it means.
#pragma once

#include <array>
#include <cstdint>
#include <string_view>

namespace platetally::gcode {

/// Letter words of one command: a value for each letter that has one. Trivially copyable, no
/// allocation; `value[i]` is meaningful only where bit i of `mask` is set.
struct Words {
  std::uint32_t mask = 0;        ///< letters with a number
  std::uint32_t bare = 0;        ///< letters without one ("M84 X Y E"): neither 0 nor an error
  std::array<double, 26> value;  // deliberately not initialised

  static constexpr int index(char letter) { return letter - 'A'; }
  bool has(char letter) const { return (mask >> index(letter)) & 1U; }
  bool has_bare(char letter) const { return (bare >> index(letter)) & 1U; }
  double operator[](char letter) const { return value[static_cast<std::size_t>(index(letter))]; }
  double get(char letter, double otherwise) const {
    return has(letter) ? (*this)[letter] : otherwise;
  }
  void set(char letter, double number) {
    mask |= 1U << index(letter);
    value[static_cast<std::size_t>(index(letter))] = number;
  }
};

enum class CommandKind : std::uint8_t {
  lettered,    ///< G, M or T with a number: letter, number, fraction
  motionless,  ///< words without a command letter: repeats the modal motion
  named,       ///< letters_and_underscores KEY=VALUE …: name and text
};

/// One command with its words. The views point into the line and live as long as it does.
struct Command {
  CommandKind kind = CommandKind::motionless;
  char letter = 0;  ///< 'G', 'M' or 'T'
  std::int32_t number =
      -1;  ///< 92 in G92.1; a T number may be negative; T without number: see bare_number
  std::int32_t fraction = -1;  ///< 1 in G92.1; -1: none. Another fraction is another command
  bool bare_number = false;    ///< the letter stood without a number
  std::uint32_t column = 0;    ///< 1-based, where the command begins
  Words words;                 ///< without the command letter itself; T inside M104 T1 is a word
  std::string_view name;       ///< named commands
  std::string_view
      text;  ///< named: what follows the name; lettered: free text after M117 and the like

  /// G92 or M83, say, without a fraction.
  bool is(char of_letter, std::int32_t of_number) const {
    return kind == CommandKind::lettered && letter == of_letter && number == of_number &&
           fraction < 0;
  }
  /// G0 to G3, or words alone, which repeat one.
  bool is_motion() const {
    return kind == CommandKind::motionless || (kind == CommandKind::lettered && letter == 'G' &&
                                               number >= 0 && number <= 3 && fraction < 0);
  }
};

enum class Checksum : std::uint8_t { absent, right, wrong };

enum class LineFault : std::uint8_t {
  none,
  malformed_number,   ///< "X1.2.3", "X+", more than 40 digits
  stray_character,    ///< a byte that can begin no word
  unclosed_comment,   ///< "(" without ")": read as a comment to the end of the line
  repeated_letter,    ///< the same letter twice in one command: the last counts
  placeholder,        ///< "S{bed}": a value that was never filled in
  line_too_long,      ///< beyond the reader's bound; the line was left out
  too_many_commands,  ///< more commands on one line than kMostCommands
  exponent,           ///< "E2.4e-15": read as such, where it can be nothing else
  decimal_comma,      ///< "F5400,0": read as a point
};

/// Such a line has no commands.
constexpr bool leaves_line_out(LineFault fault) {
  return fault == LineFault::malformed_number || fault == LineFault::stray_character ||
         fault == LineFault::placeholder || fault == LineFault::line_too_long;
}

inline constexpr std::size_t kMostCommands = 8;

/// The reading of one line.
struct Line {
  std::array<Command, kMostCommands> command;
  std::size_t commands = 0;
  std::string_view comment;       ///< text of the first comment, without its marks
  bool comment_is_alone = false;  ///< nothing but the comment on the line
  Checksum checksum = Checksum::absent;
  LineFault fault = LineFault::none;
  std::uint32_t fault_column = 0;  ///< 1-based
};

}  // namespace platetally::gcode
