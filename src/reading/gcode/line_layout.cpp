#include "reading/gcode/line_layout.hpp"

#include <algorithm>
#include <string_view>

#include "reading/gcode/number.hpp"

namespace platetally::gcode {

namespace {

constexpr std::size_t kMostDigits = 15;  // every such number is an exact double

/// Reads along the line, byte by byte.
class Finder {
 public:
  Finder(const char* begin, LineLayout& layout)
      : begin_(begin), at_(begin), end_(begin + LineLayout::kMostBytes), layout_(layout) {}

  bool find() {
    if (next() != 'G')
      return false;
    const char number = next();
    if ((number != '0' && number != '1') || next() != ' ')
      return false;
    layout_.command = number;
    layout_.said = number == '0' ? LineLayout::kRapid : 0;
    layout_.numbers = 0;
    do {
      if (!find_word())
        return false;
    } while (*at_ == ' ' && at_++ != end_);
    if (peek() == '\r')
      ++at_;
    if (peek() != '\n')
      return false;
    ++at_;
    keep_text();
    return true;
  }

 private:
  char peek() const { return at_ == end_ ? '\0' : *at_; }
  char next() { return at_ == end_ ? '\0' : *at_++; }

  bool find_word() {
    LineLayout::Number found;
    found.word = std::string_view("XYZEF").find(next());  // in the order of LineLayout::Word
    if (found.word == std::string_view::npos)
      return false;
    const std::uint32_t bit = 1U << found.word;
    if ((layout_.said & bit) != 0)
      return false;
    layout_.said |= bit;
    const bool negative = peek() == '-';
    at_ += negative ? 1 : 0;
    const char* const first = at_;
    skip_digits();
    std::size_t decimals = 0;
    const bool has_point = peek() == '.';
    if (has_point) {
      const char* const point = at_++;
      skip_digits();
      decimals = static_cast<std::size_t>(at_ - point - 1);
    }
    const auto bytes = static_cast<std::size_t>(at_ - first);
    const std::size_t digits = bytes - (has_point ? 1 : 0);
    if (digits == 0 || digits > kMostDigits || at_ == end_)
      return false;
    found.begin = static_cast<std::uint8_t>(first - begin_);
    found.bytes = static_cast<std::uint8_t>(bytes);
    found.shift = static_cast<std::uint8_t>(
        8 * (LineLayout::kShortBytes - std::min(bytes, LineLayout::kShortBytes)));
    found.behind = ~std::uint64_t{0};
    if (has_point && bytes <= LineLayout::kShortBytes)
      found.behind = decimals == 0 ? 0 : found.behind << 8 * (LineLayout::kShortBytes - decimals);
    found.divisor = negative ? -kPowersOfTen[decimals] : kPowersOfTen[decimals];
    layout_.number[layout_.numbers++] = found;
    return true;
  }

  void skip_digits() {
    while (at_ != end_ && is_digit(*at_))
      ++at_;
  }

  void keep_text() {
    layout_.bytes = static_cast<std::size_t>(at_ - begin_);
    layout_.within = ~std::uint64_t{0} >> (64 - layout_.bytes);
    layout_.text.fill(0);
    std::transform(begin_, at_, layout_.text.begin(), [](char c) { return is_digit(c) ? '0' : c; });
  }

  const char* begin_;
  const char* at_;
  const char* end_;
  LineLayout& layout_;
};

}  // namespace

bool find_layout(const char* at, LineLayout& layout) {
  LineLayout found;
  if (!Finder(at, found).find())
    return false;
  layout = found;
  return true;
}

}  // namespace platetally::gcode
