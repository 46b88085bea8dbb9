// Letters without case, without a locale.
#pragma once

#include <algorithm>
#include <string_view>

#include "base/letters.hpp"

namespace platetally::dialect {

using base::is_blank;
using base::is_digit;
using base::is_letter;
using base::upper;

constexpr bool starts_without_case(std::string_view text, std::string_view start) {
  if (text.size() < start.size())
    return false;
  for (std::size_t i = 0; i < start.size(); ++i)
    if (upper(text[i]) != upper(start[i]))
      return false;
  return true;
}

constexpr bool equal_without_case(std::string_view a, std::string_view b) {
  return a.size() == b.size() && starts_without_case(a, b);
}

template <typename Words>
constexpr bool is_one_of(std::string_view word, const Words& words) {
  return std::any_of(words.begin(), words.end(),
                     [&](std::string_view known) { return equal_without_case(word, known); });
}

constexpr std::string_view without_leading_blanks(std::string_view text) {
  while (!text.empty() && is_blank(text.front()))
    text.remove_prefix(1);
  return text;
}

}  // namespace platetally::dialect
