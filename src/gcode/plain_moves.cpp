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
constexpr unsigned kDigits = 8;

/// Bit i: byte i is no digit. The bits from kWindow on are set, so that there is always a next one.
std::uint64_t other_than_digits(Iterator at) {
  return ~(std::uint64_t{digits_in_16(at)} | std::uint64_t{digits_in_16(at + 16)} << 16 |
           std::uint64_t{digits_in_16(at + 32)} << 32);
}

/// The last `count` of eight bytes are digits, 1 to 8 of them; zeros before them.
std::uint64_t digits_of(Iterator first, unsigned count) {
  std::uint64_t bytes = 0;
  std::memcpy(&bytes, first, sizeof bytes);
  return (bytes << (64 - 8 * count)) & 0x0F0F0F0F0F0F0F0FU;
}

/// Takes out the byte of the point, which has `decimals` digits behind it.
std::uint64_t without_point(std::uint64_t digits, unsigned decimals) {
  const std::uint64_t behind = ~std::uint64_t{0xFF} << (56 - 8 * decimals);
  const std::uint64_t moved_up = digits << 8;
  return ((digits ^ moved_up) & behind) ^ moved_up;
}

/// By what a whole number is divided: powers of ten, and the same with a minus behind them.
constexpr auto kSignedPowers = [] {
  std::array<std::array<double, kDigits>, 2> powers{};
  for (unsigned i = 0; i < kDigits; ++i) {
    powers[0][i] = kPowersOfTen[i];
    powers[1][i] = -kPowersOfTen[i];
  }
  return powers;
}();

constexpr std::uint8_t kNoWord = 255;
constexpr auto kWordOf = [] {
  std::array<std::uint8_t, 256> words{};
  words.fill(kNoWord);
  words['X'] = PlainMoves::kX;
  words['Y'] = PlainMoves::kY;
  words['E'] = PlainMoves::kE;
  words['F'] = PlainMoves::kF;
  return words;
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
  std::uint32_t said = at[1] == '0' ? kRapid : 0;
  std::uint64_t* const digits = digits_.data() + 4 * count_;
  double* const divisor = divisor_.data() + 4 * count_;
  at += 3;
  Iterator base = at;
  std::uint64_t others = other_than_digits(base);
  const auto pass_one = [&others] { others &= others - 1; };
  for (;;) {
    const std::uint8_t word = kWordOf[static_cast<unsigned char>(*at)];
    if (word == kNoWord || (said >> word & 1U) != 0)
      return nullptr;
    said |= 1U << word;
    pass_one();  // the letter
    const unsigned negative = at[1] == '-' ? 1 : 0;
    if (negative != 0)  // guessed by the processor, it holds nothing up
      pass_one();
    const Iterator first = at + 1 + negative;
    Iterator end = base + std::countr_zero(others);
    if (*end == '.') {
      const Iterator point = end;
      pass_one();
      end = base + std::countr_zero(others);
      const auto decimals = static_cast<unsigned>(end - point) - 1;
      const auto count = static_cast<unsigned>(end - first);
      if (count - 2 >= kDigits - 1)  // none but the point, or too many
        return nullptr;
      digits[word] = without_point(digits_of(first, count), decimals);
      divisor[word] = kSignedPowers[negative][decimals];
    } else {
      const auto count = static_cast<unsigned>(end - first);
      if (count - 1 >= kDigits)
        return nullptr;
      digits[word] = digits_of(first, count);
      divisor[word] = kSignedPowers[negative][0];
    }
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
  while (count_ < kMost && last - first >= kReadAhead + 3) {
    first = read_one(first, last);
    if (first == nullptr)
      break;
    next_[count_++] = first;
  }
  find_quotients(digits_.data(), divisor_.data(), 4 * count_, value_.data());
}

}  // namespace platetally::gcode
