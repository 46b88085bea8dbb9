#include "reading/gcode/plain_moves.hpp"

#include "reading/gcode/decimal.hpp"
#include "reading/gcode/equal_but_digits.hpp"
#include "reading/gcode/grammar.hpp"
#include "reading/gcode/number.hpp"

namespace platetally::gcode {

namespace {

constexpr std::ptrdiff_t kReadAhead =
    LineLayout::kMostBytes + LineLayout::kShortBytes;  // of a number that begins in it

double long_whole_of(Iterator first, std::size_t bytes) {
  std::int64_t whole = 0;
  for (const Iterator end = first + bytes; first != end; ++first)
    if (*first != '.')
      whole = whole * 10 + (*first - '0');
  return static_cast<double>(whole);
}

}  // namespace

PlainMoves::PlainMoves() {
  divisor_.fill(1.0);
}

/// The layout of the line at `at`, of which kReadAhead bytes may be read; nothing where it has
/// none. Lines with digits in the same places nearly always have the same one.
const LineLayout* PlainMoves::layout_of(const char* at) {
  constexpr std::uint32_t kSpread = 0x9E3779B1U;  // of the golden ratio: neighbours lie far apart
  const std::uint32_t places = digits_of_line(at) ^ (static_cast<std::uint32_t>(at[1]) & 1U);
  const std::size_t slot = places * kSpread >> (32 - kLayoutBits);
  LineLayout& layout = layouts_[slot];
  if (!layout.fits(at) && !find_layout(at, layout))
    return nullptr;
  last_layout_ = slot;
  return &layout;
}

/// Puts the digits of the line at `at` side by side, as move `move`.
inline void PlainMoves::take_digits(const char* at, const LineLayout& layout, std::size_t move) {
  for (std::size_t i = 0; i < layout.numbers; ++i) {
    const LineLayout::Number& number = layout.number[i];
    const std::size_t slot = kMost * number.word + move;
    const Iterator first = at + number.begin;
    divisor_[slot] = number.divisor;
    if (number.bytes > LineLayout::kShortBytes) [[unlikely]] {
      long_numbers_[long_count_++] = {slot, long_whole_of(first, number.bytes) / number.divisor};
      continue;
    }
    const std::uint64_t digits = (eight_bytes(first) << number.shift) & 0x0F0F0F0F0F0F0F0FU;
    const std::uint64_t over_point = digits << 8;
    digits_[slot] = ((digits ^ over_point) & number.behind) ^ over_point;
  }
  said_[move] = layout.said;
}

std::string_view PlainMoves::text(std::size_t move) const {
  return line_text(move == 0 ? first_ : next_[move - 1], next_[move]);
}

void PlainMoves::read(const char* first, const char* last) {
  count_ = 0;
  first_ = first;
  long_count_ = 0;
  std::uint32_t said = 0;
  const LineLayout* layout = &layouts_[last_layout_];
  std::size_t count = 0;  // not count_, which might change with every store
  for (; count < kMost && last - first >= kReadAhead; ++count) {
    if (!layout->fits(first)) {
      const LineLayout* const other = layout_of(first);
      if (other == nullptr)
        break;
      layout = other;
    }
    take_digits(first, *layout, count);
    said |= layout->said;
    first += layout->bytes;
    next_[count] = first;
  }
  count_ = count;
  for (std::size_t word = 0; word < kWords; ++word)
    if ((said >> word & 1U) != 0)
      find_quotients(digits_.data() + kMost * word, divisor_.data() + kMost * word, count_,
                     value_.data() + kMost * word);
  for (std::size_t i = 0; i < long_count_; ++i)
    value_[long_numbers_[i].slot] = long_numbers_[i].value;
}

}  // namespace platetally::gcode
