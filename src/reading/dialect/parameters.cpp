#include "reading/dialect/parameters.hpp"

#include <charconv>
#include <cmath>

#include "reading/dialect/text.hpp"

namespace platetally::dialect {

namespace {

Parameter read(std::string_view text) {
  if (text.size() >= 2 && text.front() == '"' && text.back() == '"')
    text = text.substr(1, text.size() - 2);
  Parameter parameter{true, false, 0.0, text};
  std::string_view number = text;
  if (number.starts_with('+') && !number.starts_with("+-"))
    number.remove_prefix(1);
  // from_chars would take "inf" and "nan" too.
  if (number.find_first_not_of("0123456789.-") != std::string_view::npos)
    return parameter;
  const char* const end = number.data() + number.size();
  const auto [after, error] =
      std::from_chars(number.data(), end, parameter.value, std::chars_format::fixed);
  parameter.is_number = error == std::errc() && after == end && std::isfinite(parameter.value);
  return parameter;
}

/// Cuts the next token, blanks inside double quotes belong to it.
std::string_view cut_token(std::string_view& rest) {
  rest = without_leading_blanks(rest);
  bool quoted = false;
  std::size_t length = 0;
  while (length < rest.size() && (quoted || !is_blank(rest[length]))) {
    quoted = quoted != (rest[length] == '"');
    ++length;
  }
  const std::string_view token = rest.substr(0, length);
  rest.remove_prefix(length);
  return token;
}

}  // namespace

Parameter find_parameter(const gcode::Command& command, std::string_view key) {
  if (key.size() == 1 && is_letter(key.front()) && command.kind != gcode::CommandKind::named &&
      command.words.has(upper(key.front())))
    return {true, true, command.words[upper(key.front())], {}};
  Parameter last;
  for_each_argument(command.text, [&](std::string_view name, const Parameter& parameter) {
    if (!name.empty() && equal_without_case(name, key))
      last = parameter;
  });
  return last;
}

void for_each_argument(std::string_view text, const SeeArgument& see) {
  for (std::string_view rest = text; !rest.empty();) {
    const std::string_view token = cut_token(rest);
    const std::size_t equals = token.find('=');
    if (equals != std::string_view::npos)
      see(token.substr(0, equals), read(token.substr(equals + 1)));
    else if (!token.empty())  // as it is of blanks at the end
      see({}, read(token));
  }
}

}  // namespace platetally::dialect
