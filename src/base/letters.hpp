// Letters, digits and blanks of ASCII, whatever the locale.
#pragma once

namespace platetally::base {

constexpr char upper(char c) {
  return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
}

constexpr char lower(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

constexpr bool is_letter(char c) {
  return upper(c) >= 'A' && upper(c) <= 'Z';
}

constexpr bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

constexpr bool is_blank(char c) {
  return c == ' ' || c == '\t' || c == '\r';
}

}  // namespace platetally::base
