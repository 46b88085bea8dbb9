// What is no digit is found for 48 bytes at once; a word then is its letter, a sign, digits, a
// point, digits and a blank or line end, at those bits in this order. Its digits are put side by
// side, and become a number when all lines of a block are read.
#include "gcode/plain_moves.hpp"

#include <bit>
#include <cstring>
#include <span>

#include "gcode/decimal.hpp"
#include "gcode/digits.hpp"
#include "gcode/number.hpp"

namespace platetally::gcode {

namespace {

constexpr std::ptrdiff_t kWindow = 48;
constexpr std::ptrdiff_t kReadAhead = 64;  // of a window, and of a number that begins in it
constexpr std::ptrdiff_t kLongestWord = 18;
constexpr std::ptrdiff_t kDigits = 8;

/// Bit i: byte i is no digit. The bits from kWindow on are set, so that there is always a next one.
std::uint64_t other_than_digits(Iterator at) {
  return ~(std::uint64_t{digits_in_16(at)} | std::uint64_t{digits_in_16(at + 16)} << 16 |
           std::uint64_t{digits_in_16(at + 32)} << 32);
}

/// The 1 to 8 digits from `first` to `end`, the last one in the highest byte; zeros before them.
std::uint64_t digits_of(Iterator first, Iterator end) {
  std::uint64_t bytes = 0;
  std::memcpy(&bytes, first, sizeof bytes);
  return (bytes << 8 * (kDigits - (end - first))) & 0x0F0F0F0F0F0F0F0FU;
}

/// Takes the point's byte out of what digits_of() made of it.
std::uint64_t without_point(std::uint64_t digits, Iterator point, Iterator end) {
  const std::uint64_t behind = ~std::uint64_t{0xFF} << 8 * (kDigits - (end - point));
  const std::uint64_t moved_up = digits << 8;
  return ((digits ^ moved_up) & behind) ^ moved_up;
}

/// By what a whole number is divided whose point is so far from its end, 0: there is none; and the
/// same with a minus behind those.
constexpr std::size_t kPlaces = kDigits + 1;
constexpr auto kSignedPowers = [] {
  std::array<double, 2 * kPlaces> powers{};
  for (std::size_t i = 0; i < kPlaces; ++i) {
    powers[i] = kPowersOfTen[i == 0 ? 0 : i - 1];
    powers[kPlaces + i] = -powers[i];
  }
  return powers;
}();

/// What a letter stands for: its bit in what has been said, and its column.
struct Letter {
  std::uint8_t bit;
  std::uint8_t word;
};
constexpr std::uint8_t kNoWord = 128;  // a bit that counts as said
constexpr auto kLetters = [] {
  std::array<Letter, 256> letters{};
  letters.fill({kNoWord, 0});
  letters['X'] = {1U << PlainMoves::kX, PlainMoves::kX};
  letters['Y'] = {1U << PlainMoves::kY, PlainMoves::kY};
  letters['E'] = {1U << PlainMoves::kE, PlainMoves::kE};
  letters['F'] = {1U << PlainMoves::kF, PlainMoves::kF};
  return letters;
}();

}  // namespace

PlainMoves::PlainMoves() {
  divisor_.fill(1.0);
}

/// Reads the line at `at`, kReadAhead or more before `last`. Returns where the next one begins;
/// nothing where it is not plain.
inline Iterator PlainMoves::read_one(Iterator at, Iterator last) {
  if (at[0] != 'G' || (at[1] | 1) != '1' || at[2] != ' ')
    return nullptr;
  std::uint32_t said = at[1] == '0' ? kNoWord | kRapid : kNoWord;
  at += 3;
  Iterator base = at;
  std::uint64_t others = other_than_digits(base);
  const auto pass_one = [&others] { others &= others - 1; };
  const auto next_other = [&] { return base + __builtin_ctzll(others); };
  for (;;) {
    const Letter letter = kLetters[static_cast<unsigned char>(*at)];
    if ((said & letter.bit) != 0)
      return nullptr;
    pass_one();  // the letter
    Iterator first = at + 1;
    const double* powers = kSignedPowers.data();
    if (*first == '-') {  // guessed by the processor, it holds nothing up
      pass_one();
      ++first;
      powers += kPlaces;
    }
    Iterator end = next_other();
    const std::size_t slot = kMost * letter.word + count_;
    if (*end == '.') {
      const Iterator point = end;
      pass_one();
      end = next_other();
      if (static_cast<std::size_t>(end - first - 2) >= kDigits - 1)  // but a point, or too many
        return nullptr;
      digits_[slot] = without_point(digits_of(first, end), point, end);
      divisor_[slot] = powers[end - point];
    } else {
      if (static_cast<std::size_t>(end - first - 1) >= kDigits)
        return nullptr;
      digits_[slot] = digits_of(first, end);
      divisor_[slot] = powers[0];
    }
    said |= letter.bit;
    if (*end != ' ') {
      said_[count_] = said;
      if (*end == '\n')
        return end + 1;
      return *end == '\r' && end[1] == '\n' ? end + 2 : nullptr;
    }
    pass_one();  // the blank
    at = end + 1;
    if (at - base > kWindow - kLongestWord) [[unlikely]] {
      if (last - at < kReadAhead)
        return nullptr;
      base = at;
      others = other_than_digits(base);
    }
  }
}

void PlainMoves::read(const char* first, const char* last) {
  count_ = 0;
  std::uint32_t said = 0;
  while (count_ < kMost && last - first >= kReadAhead + 3) {
    first = read_one(first, last);
    if (first == nullptr)
      break;
    said |= said_[count_];
    next_[count_++] = first;
  }
  for (std::size_t word = 0; word < kWords; ++word)
    if ((said >> word & 1U) != 0)
      find_quotients(digits_.data() + kMost * word, divisor_.data() + kMost * word, count_,
                     value_.data() + kMost * word);
}

}  // namespace platetally::gcode
