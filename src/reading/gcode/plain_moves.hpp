// Straight moves as nearly every line of nearly every plate writes them: "G1 X10.5 Y-2 E0.06
// F1800".
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <string_view>

#include "reading/gcode/line_layout.hpp"

namespace platetally::gcode {

/// Lines that are G0 or G1 with words of X, Y, Z, E and F and nothing else, one behind the other.
class PlainMoves {
 public:
  static constexpr std::size_t kMost = 64;
  using Word = LineLayout::Word;
  static constexpr Word kX = LineLayout::kX, kY = LineLayout::kY, kZ = LineLayout::kZ,
                        kE = LineLayout::kE, kF = LineLayout::kF;

  PlainMoves();

  /// Reads such lines from `first` on, as many as there are and fit. A line that is not one, or
  /// might not be, or is near `last`, is left: parse_line() reads it. What both read, they read
  /// alike.
  void read(const char* first, const char* last);

  std::size_t size() const { return count_; }
  bool has(std::size_t move, Word word) const { return (said_[move] >> word & 1U) != 0; }
  bool says_nothing_but_feed(std::size_t move) const { return (said_[move] & ~kRapid) == 1U << kF; }
  /// How many from `move` on are G1 with X, Y and E, and with Z and F where that one has them; at
  /// most `most`.
  std::size_t strokes_from(std::size_t move, std::size_t most) const {
    constexpr std::uint32_t kStroke = 1U << kX | 1U << kY | 1U << kE;
    const std::uint32_t said = move < count_ ? said_[move] : 0;
    if ((said & (kRapid | kStroke)) != kStroke)
      return 0;
    std::size_t end = move;
    while (end < count_ && end - move < most && said_[end] == said)
      ++end;
    return end - move;
  }
  /// The values of a word in all moves.
  const double* column(Word word) const { return value_.data() + kMost * word; }
  /// Meaningful only where the word is there.
  double value(std::size_t move, Word word) const { return value_[kMost * word + move]; }
  bool is_rapid(std::size_t move) const { return (said_[move] & kRapid) != 0; }
  /// Its line, without its end.
  std::string_view text(std::size_t move) const;
  /// Where the line behind it begins.
  const char* next(std::size_t move) const { return next_[move]; }

 private:
  static constexpr std::size_t kWords = LineLayout::kWords;
  static constexpr std::uint32_t kRapid = LineLayout::kRapid;
  static constexpr std::uint32_t kLayoutBits = 6;
  struct LongNumber {
    std::size_t slot;
    double value;
  };

  const LineLayout* layout_of(const char* at);
  void take_digits(const char* at, const LineLayout& layout, std::size_t move);

  std::size_t count_ = 0;
  const char* first_ = nullptr;              // where the first line begins
  std::array<std::uint32_t, kMost> said_{};  // as LineLayout::said
  std::array<const char*, kMost> next_{};
  // A column for each word. Where a move does not have it, what an earlier move left.
  std::array<std::uint64_t, kWords * kMost> digits_{};
  std::array<double, kWords * kMost> divisor_{};
  std::array<double, kWords * kMost> value_{};
  // Of more digits than the columns take.
  std::array<LongNumber, kWords * kMost> long_numbers_;
  std::size_t long_count_ = 0;
  // Layouts met of late, by where their digits stand.
  std::array<LineLayout, std::size_t{1} << kLayoutBits> layouts_;
  std::size_t last_layout_ = 0;
};

}  // namespace platetally::gcode
