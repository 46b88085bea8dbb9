// Letters without case, without a locale.
#pragma once

#include <string_view>

namespace platetally::dialect {

constexpr char upper(char c) {
  return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
}

constexpr bool is_blank(char c) {
  return c == ' ' || c == '\t' || c == '\r';
}

constexpr bool is_letter(char c) {
  return upper(c) >= 'A' && upper(c) <= 'Z';
}

constexpr bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

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

constexpr std::string_view without_leading_blanks(std::string_view text) {
  while (!text.empty() && is_blank(text.front()))
    text.remove_prefix(1);
  return text;
}

}  // namespace platetally::dialect
