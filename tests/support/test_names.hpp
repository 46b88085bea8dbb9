// Readable names of parametrised tests, as ctest lists them.
#pragma once

#include <string>
#include <string_view>

namespace platetally::test {

/// Letters and digits of `text`, with one _ for whatever stands between.
inline std::string readable(std::string_view text) {
  const auto is_plain = [](char c) {
    return (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
  };
  std::string name;
  for (const char c : text)
    if (is_plain(c))
      name += c;
    else if (!name.ends_with('_') && !name.empty())
      name += '_';
  while (name.ends_with('_'))
    name.pop_back();
  return name;
}

/// The place in the list in front: names that may be alike, or empty.
inline std::string numbered(std::size_t index, std::string_view text) {
  const std::string number = std::to_string(index + 1);
  const std::string name = readable(text);
  return (number.size() < 2 ? "0" : "") + number + (name.empty() ? "" : "_") + name;
}

}  // namespace platetally::test
