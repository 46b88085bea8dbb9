#include "output/report/strings.hpp"

#include <fmt/format.h>
#include <uniwidth.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <nlohmann/json.hpp>

#include "base/units.hpp"

namespace platetally::report {

namespace {

constexpr std::string_view kReplacement = "\xEF\xBF\xBD";  // U+FFFD

struct Decoded {
  char32_t code = 0;
  std::size_t bytes = 1;
  bool valid = false;
};

/// One character of UTF-8 as RFC 3629 allows it: no overlong forms, no surrogates, at most
/// U+10FFFF.
Decoded decode(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned first = byte(0);
  if (first < 0x80)
    return {first, 1, true};
  const std::size_t length = first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : 2;
  if (first < 0xC2 || first > 0xF4 || text.size() < length)
    return {};
  char32_t code = first & (0x7FU >> length);
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(i) & 0xC0U) != 0x80U)
      return {};
    code = (code << 6U) | (byte(i) & 0x3FU);
  }
  constexpr std::array<char32_t, 5> kLeast{0, 0, 0x80, 0x800, 0x10000};
  if (code < kLeast[length] || (code >= 0xD800 && code <= 0xDFFF) || code > 0x10FFFF)
    return {};
  return {code, length, true};
}

bool moves_cursor(char32_t code) {
  return code < 0x20 || (code >= 0x7F && code < 0xA0) || code == 0x2028 || code == 0x2029;
}

bool turns_direction(char32_t code) {
  return code == 0x200E || code == 0x200F || (code >= 0x202A && code <= 0x202E) ||
         (code >= 0x2066 && code <= 0x2069);
}

/// Of a terminal; what moves the cursor is replaced elsewhere and counts as one.
int columns_of(char32_t code) {
  const int columns = ::uc_width(code, "UTF-8");
  return columns < 0 ? 1 : columns;
}

/// Copies `text` character by character; `replace` gives what to write instead of a valid one, or
/// an empty view to keep it.
template <typename Replace>
std::string copy_characters(std::string_view text, Replace replace) {
  std::string out;
  out.reserve(text.size());
  while (!text.empty()) {
    const Decoded character = decode(text);
    const std::string_view instead = character.valid ? replace(character.code) : kReplacement;
    out += instead.empty() ? text.substr(0, character.bytes) : instead;
    text.remove_prefix(character.bytes);
  }
  return out;
}

/// How many decimals leave three digits that count; two below one. Negative: so many digits before
/// the point are rounded away.
int decimals_of(double value) {
  constexpr int kMost = 6;
  const double size = std::abs(value);
  if (!(size > 0.0))
    return 0;
  if (size < 0.995) {
    // 0.98, 0.062, 0.0012: the first two digits that are not 0.
    int decimals = 2;
    while (decimals < kMost && size * std::pow(10.0, decimals) < 9.95)
      ++decimals;
    return decimals;
  }
  int decimals = 2;
  while (size * std::pow(10.0, decimals) >= 999.5 && decimals > -300)
    --decimals;
  return decimals;
}

bool is_unit(std::string_view word) {
  constexpr std::array<std::string_view, 17> kUnits{"s",  "min", "h",  "d",  "g",   "kg",
                                                    "Wh", "kWh", "W",  "mm", "mm3", "%",
                                                    "B",  "kB",  "MB", "GB", "degC"};
  while (!word.empty() && std::string_view(",.;:)").find(word.back()) != std::string_view::npos)
    word.remove_suffix(1);
  return std::find(kUnits.begin(), kUnits.end(), word) != kUnits.end();
}

bool is_number(std::string_view word) {
  while (!word.empty() && std::string_view("(+-<").find(word.front()) != std::string_view::npos)
    word.remove_prefix(1);
  return !word.empty() && word.find_first_not_of("0123456789.") == std::string_view::npos;
}

/// Whether `word` must stand behind `before` on the same line: a unit behind its number, and the
/// minutes behind the hours.
bool holds_on(std::string_view before, std::string_view word) {
  const bool is_time = before == "d" || before == "h" || before == "min";
  const bool begins_with_digit = !word.empty() && word.front() >= '0' && word.front() <= '9';
  return (is_number(before) && is_unit(word)) || (is_time && begins_with_digit && is_number(word));
}

}  // namespace

std::string exact_number(double value) {
  if (!std::isfinite(value))
    return "null";
  return fmt::format("{}", value == 0.0 ? 0.0 : value);
}

std::string json_string(std::string_view text) {
  const std::string dumped = nlohmann::json(valid_utf8(text)).dump();
  // Terminals obey DEL and the second set of controls (U+0080 to U+009F) as they do the first.
  std::string out;
  out.reserve(dumped.size());
  for (std::size_t i = 0; i < dumped.size(); ++i) {
    const auto byte = static_cast<unsigned char>(dumped[i]);
    const auto next = i + 1 < dumped.size() ? static_cast<unsigned char>(dumped[i + 1]) : 0U;
    if (byte == 0x7F) {
      out += "\\u007f";
    } else if (byte == 0xC2 && next < 0xA0) {
      out += fmt::format("\\u{:04x}", next);
      ++i;
    } else {
      out += dumped[i];
    }
  }
  return out;
}

std::string csv_text(std::string_view text) {
  const std::string shown = printable(text);
  const bool is_formula =
      !shown.empty() && std::string_view("=+-@").find(shown.front()) != std::string_view::npos;
  return csv_cell(is_formula ? "'" + shown : shown);
}

std::string csv_cell(std::string_view text) {
  if (text.find_first_of(",\"\r\n") == std::string_view::npos)
    return std::string(text);
  std::string quoted = "\"";
  for (const char c : text)
    quoted += c == '"' ? std::string("\"\"") : std::string(1, c);
  return quoted + '"';
}

std::string plain(const Value& value) {
  struct Visitor {
    std::string operator()(std::monostate) const { return "null"; }
    std::string operator()(std::uint64_t number) const { return fmt::format("{}", number); }
    std::string operator()(std::int64_t number) const { return fmt::format("{}", number); }
    std::string operator()(double number) const { return exact_number(number); }
    std::string operator()(const std::string& text) const { return text; }
    std::string operator()(const std::vector<std::int64_t>& list) const {
      return fmt::format("{}", fmt::join(list, " "));
    }
  };
  return std::visit(Visitor{}, value);
}

std::string rounded(const Value& value, std::string_view unit) {
  if (std::holds_alternative<std::monostate>(value))
    return "?";
  const double* number = std::get_if<double>(&value);
  if (number == nullptr)
    return printable(plain(value));
  if (!std::isfinite(*number))
    return "?";
  if (unit == "s")
    return duration(*number);
  return significant(*number);
}

std::string significant(double value) {
  if (!std::isfinite(value))
    return "?";
  const int decimals = decimals_of(value);
  if (decimals < 0) {
    const double step = std::pow(10.0, -decimals);
    return fmt::format("{:.0f}", std::nearbyint(value / step) * step);
  }
  const std::string text = fmt::format("{:.{}f}", value, decimals);
  return text.find_first_not_of("-0.") == std::string::npos ? "0" : text;
}

std::string money(double value) {
  if (!std::isfinite(value))
    return "?";
  int decimals = 2;
  while (decimals < 6 && value != 0.0 && std::abs(value) * std::pow(10.0, decimals) < 99.5)
    ++decimals;
  return fmt::format("{:.{}f}", value, decimals);
}

std::string duration(double seconds) {
  if (!std::isfinite(seconds))
    return "?";
  // Below what a double counts in whole seconds; 285 million years.
  constexpr double kLongest_s = 9.0e15;
  const bool negative = seconds < 0.0;
  const double size_s = std::min(std::abs(seconds), kLongest_s);
  const std::string_view sign = negative ? "-" : "";
  if (size_s < 59.5) {
    const std::string text = significant(size_s);
    return text == "0" ? "0 s" : fmt::format("{}{} s", sign, text);
  }
  const auto in_units = [&](double unit_s) {
    return static_cast<std::int64_t>(std::llround(size_s / unit_s));
  };
  if (size_s < base::kSecondsPerHour - 0.5) {
    const std::int64_t s = in_units(1.0);
    return fmt::format("{}{} min {} s", sign, s / 60, s % 60);
  }
  if (size_s < base::kSecondsPerDay - 0.5 * base::kSecondsPerMinute) {
    const std::int64_t min = in_units(base::kSecondsPerMinute);
    return fmt::format("{}{} h {} min", sign, min / 60, min % 60);
  }
  const std::int64_t h = in_units(base::kSecondsPerHour);
  return fmt::format("{}{} d {} h", sign, h / 24, h % 24);
}

std::string share(double part, double whole) {
  const double percent = whole > 0.0 ? 100.0 * part / whole : 0.0;
  if (!std::isfinite(percent))
    return "? %";
  if (percent > 0.0 && percent < 0.5)
    return "< 1 %";
  return fmt::format("{:.0f} %", percent);
}

std::string data_size(std::uint64_t bytes) {
  constexpr std::array<std::string_view, 4> kUnits{"kB", "MB", "GB", "TB"};
  constexpr double kStep = 1000.0;
  if (bytes < 1000)
    return fmt::format("{} B", bytes);
  double size = static_cast<double>(bytes) / kStep;
  std::size_t unit = 0;
  for (; size >= 999.95 && unit + 1 < kUnits.size(); ++unit)
    size /= kStep;
  return fmt::format("{:.1f} {}", size, kUnits[unit]);
}

std::string valid_utf8(std::string_view text) {
  return copy_characters(text, [](char32_t) { return std::string_view(); });
}

std::string printable(std::string_view text) {
  return copy_characters(text, [](char32_t code) -> std::string_view {
    if (code == '\t' || code == '\n' || code == '\r')
      return " ";
    return moves_cursor(code) || turns_direction(code) ? kReplacement : std::string_view();
  });
}

int display_width(std::string_view text) {
  int columns = 0;
  while (!text.empty()) {
    const Decoded character = decode(text);
    columns += character.valid ? columns_of(character.code) : 1;
    text.remove_prefix(character.bytes);
  }
  return columns;
}

std::string columns(std::string_view text, int first, int width) {
  std::string out;
  int column = 0;
  bool is_shown = first <= 0;
  while (!text.empty()) {
    const Decoded character = decode(text);
    const int wide = character.valid ? columns_of(character.code) : 1;
    if (column + wide > first + width)
      break;
    if (wide > 0)  // a mark that takes none goes with the character before it
      is_shown = column >= first;
    if (is_shown)
      out += text.substr(0, character.bytes);
    column += wide;
    text.remove_prefix(character.bytes);
  }
  return out;
}

std::string with_unit(double value, std::string_view unit) {
  if (!std::isfinite(value))
    return "?";
  if (unit == "s")
    return duration(value);
  return fmt::format("{}{}{}", significant(value), unit.empty() ? "" : " ", unit);
}

std::string held_together(std::string_view text, bool whole) {
  constexpr std::string_view kNoBreak = "\xC2\xA0";
  std::string out;
  std::string_view before;
  while (!text.empty()) {
    const std::size_t blank = std::min(text.find(' '), text.size());
    const std::string_view word = text.substr(0, blank);
    out += word;
    before = word;
    text.remove_prefix(blank);
    if (text.empty())
      break;
    text.remove_prefix(1);
    const std::string_view next = text.substr(0, std::min(text.find(' '), text.size()));
    const bool holds = whole || (!before.empty() && !next.empty() && holds_on(before, next));
    out += holds ? kNoBreak : std::string_view(" ");
  }
  return out;
}

std::vector<std::string> wrap(std::string_view text, int width, int first_width) {
  std::vector<std::string> lines;
  std::string line;
  while (!text.empty()) {
    const std::size_t blank = std::min(text.find(' '), text.size());
    const std::string_view word = text.substr(0, blank);
    text.remove_prefix(std::min(blank + 1, text.size()));
    if (word.empty())
      continue;
    // Numbers stay with their units, hours with their minutes.
    std::string held(word);
    for (std::string_view before = word; !text.empty();) {
      const std::size_t end = std::min(text.find(' '), text.size());
      const std::string_view next = text.substr(0, end);
      if (next.empty() || !holds_on(before, next))
        break;
      held += ' ';
      held += next;
      before = next;
      text.remove_prefix(std::min(end + 1, text.size()));
    }
    const int room = lines.empty() && first_width >= 0 ? first_width : width;
    if (!line.empty() && display_width(line) + 1 + display_width(held) > room) {
      lines.push_back(std::move(line));
      line.clear();
    }
    if (!line.empty())
      line += ' ';
    line += held;
  }
  if (!line.empty() || lines.empty())
    lines.push_back(std::move(line));
  return lines;
}

}  // namespace platetally::report
