// The run of plain words ("G1 X10 Z0.4"), which is nearly all of the lines that plain_moves.hpp
// leaves: as many as there are, in one loop and without looking for the end of the line first. It
// writes only to locals and to the line, so that numbers stay in registers.
#pragma once

#include <cstdint>

#include "reading/gcode/building.hpp"

namespace platetally::gcode {

constexpr unsigned kLetters = 26;

/// 0 for A and a; kLetters or more for what is no letter.
constexpr unsigned letter_index(char c) {
  return static_cast<unsigned char>(c) < 'A' ? kLetters
                                             : static_cast<unsigned char>((c | 0x20) - 'a');
}

/// Text that ends with a line end, which no word goes over: loops need not look for `last`.
struct LineEndAhead {
  static constexpr bool reached(Iterator) { return false; }
};
struct Bounded {
  Iterator last;
  bool reached(Iterator at) const { return at == last; }
};

/// Whether the number in front of `at` is over: digits behind blanks would go on with it, and a
/// second point is a fault.
template <typename End>
bool ends_number(Iterator at, const End& end) {
  if (*at == ' ') {
    ++at;
    return end.reached(at) || *at > '9' || !(is_digit(*at) || *at == '.' || is_blank(*at));
  }
  if (*at > '9' || *at == '\n')
    return true;
  if (*at == '\r')
    return !end.reached(at + 1) && at[1] == '\n';
  return *at != '.' && *at != ',' && *at != '\t';
}

/// A plain number: sign, digits, at most one point; no more digits than an exact double holds.
struct PlainNumber {
  std::uint64_t mantissa = 0;
  std::ptrdiff_t whole_digits = 0;
  std::ptrdiff_t decimals = 0;
  bool negative = false;
  bool has_point = false;

  double value() const {
    const double unsigned_value =
        static_cast<double>(static_cast<std::int64_t>(mantissa)) / kPowersOfTen[decimals];
    return negative ? -unsigned_value : unsigned_value;
  }
};

/// Reads on behind a letter; false where there are no digits or too many.
template <typename End>
bool read_plain_number(Iterator& next, const End& end, PlainNumber& number) {
  constexpr std::ptrdiff_t kPlainDigits = 15;  // every such mantissa is an exact double
  if (!end.reached(next) && *next == '-') {
    number.negative = true;
    ++next;
  }
  const Iterator digits = next;
  std::uint64_t mantissa = 0;
  while (!end.reached(next) && is_digit(*next))
    mantissa = mantissa * 10 + static_cast<std::uint64_t>(*next++ - '0');
  number.whole_digits = next - digits;
  std::ptrdiff_t count = number.whole_digits;
  if (!end.reached(next) && *next == '.') {
    number.has_point = true;
    const Iterator point = ++next;
    while (!end.reached(next) && is_digit(*next))
      mantissa = mantissa * 10 + static_cast<std::uint64_t>(*next++ - '0');
    number.decimals = next - point;
    count += number.decimals;
  }
  number.mantissa = mantissa;
  return count > 0 && count <= kPlainDigits;
}

/// The command that a plain word begins; nothing where its words are followed by text, or there is
/// no more room.
inline Command* add_plain_command(Building& state, Iterator at, unsigned index,
                                  std::uint64_t number) {
  const char letter = static_cast<char>('A' + index);
  if (state.line.commands == kMostCommands ||
      takes_text(letter, static_cast<std::int32_t>(number), -1))
    return nullptr;
  Command* const command = state.add(CommandKind::lettered, at);
  command->letter = letter;
  command->number = static_cast<std::int32_t>(number);
  return command;
}

/// Plain words from `first` on, each a letter with a short number right behind it. Stops in front
/// of the first that is not, and has then done nothing with it.
template <typename End>
void read_plain_words(Iterator& first, const End& end, Building& state) {
  constexpr std::uint32_t kCommandLetters =
      1U << ('G' - 'A') | 1U << ('M' - 'A') | 1U << ('T' - 'A');
  constexpr std::ptrdiff_t kCommandDigits = 6;
  Iterator at = first;
  while (!end.reached(at) && *at == ' ')
    ++at;
  Words* words = nullptr;  // of the command in work, and its mask
  std::uint32_t mask = 0;
  for (;;) {
    first = at;
    if (end.reached(at))
      return;
    const unsigned index = letter_index(*at);
    if (index >= kLetters)
      return;
    Iterator next = at + 1;
    PlainNumber number;
    if (!read_plain_number(next, end, number))
      return;
    if (((kCommandLetters >> index) & 1U) != 0 &&
        begins_command(state, static_cast<char>('A' + index), at, false)) {
      if (number.negative || number.has_point || number.whole_digits > kCommandDigits)
        return;
      Command* const command = add_plain_command(state, at, index, number.mantissa);
      if (command == nullptr)
        return;
      words = &command->words;
      mask = 0;
    } else {
      if (!end.reached(next) && !ends_number(next, end))
        return;
      if (words == nullptr) [[unlikely]] {
        if (index == 'N' - 'A') {
          if (state.numbered || number.negative || number.has_point)
            return;
          state.numbered = true;
        } else {
          words = &state.add(CommandKind::motionless, at)->words;
        }
      }
      if (words != nullptr) [[likely]] {
        const std::uint32_t bit = 1U << index;
        if ((mask & bit) != 0)
          return;
        mask |= bit;
        words->value[index] = number.value();
        words->mask = mask;
      }
    }
    while (!end.reached(next) && *next == ' ')
      ++next;
    at = next;
  }
}

}  // namespace platetally::gcode
