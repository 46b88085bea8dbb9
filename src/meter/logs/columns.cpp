#include "meter/logs/columns.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>
#include <chrono>
#include <cmath>

namespace platetally::meter {

namespace {

constexpr double kMillisecondsFrom = 1e11;  // an epoch in milliseconds

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t' || text.front() == '"'))
    text.remove_prefix(1);
  while (!text.empty() &&
         (text.back() == ' ' || text.back() == '\t' || text.back() == '\r' || text.back() == '"'))
    text.remove_suffix(1);
  return text;
}

std::string lower(std::string_view text) {
  std::string out(trimmed(text));
  for (char& c : out)
    c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return out;
}

/// Whether `word` stands in `text` between things that are no letters.
bool has_word(const std::string& text, std::string_view word) {
  const auto letter = [&](std::size_t at) {
    return at < text.size() && std::isalpha(static_cast<unsigned char>(text[at])) != 0;
  };
  for (std::size_t at = text.find(word); at != std::string::npos; at = text.find(word, at + 1))
    if ((at == 0 || !letter(at - 1)) && !letter(at + word.size()))
      return true;
  return false;
}

bool has_any(const std::string& text, std::initializer_list<std::string_view> words) {
  return std::any_of(words.begin(), words.end(),
                     [&](std::string_view word) { return has_word(text, word); });
}

std::size_t column_named(const std::string& wanted, const std::vector<std::string>& names,
                         std::size_t count, const std::string& path) {
  std::size_t number = 0;
  const char* const end = wanted.data() + wanted.size();
  const auto read = std::from_chars(wanted.data(), end, number);
  if (read.ec == std::errc{} && read.ptr == end && number >= 1 && number <= count)
    return number - 1;
  for (std::size_t i = 0; i < names.size(); ++i)
    if (names[i] == lower(wanted))
      return i;
  throw UnreadableLog(fmt::format("{}:1: there is no column '{}'; expected a heading or 1 to {}",
                                  path, wanted, count));
}

/// The number of columns that most lines have.
std::size_t columns_of(const std::vector<std::string_view>& head, char separator) {
  std::vector<std::size_t> counts;
  counts.reserve(head.size());
  for (const std::string_view line : head)
    counts.push_back(cut(line, separator).size());
  std::nth_element(counts.begin(), counts.begin() + static_cast<std::ptrdiff_t>(counts.size() / 2),
                   counts.end());
  return counts[counts.size() / 2];
}

char find_separator(const std::vector<std::string_view>& head) {
  // The first that cuts the lines into the same number of columns; a comma late, as it may be a
  // decimal comma.
  char best = ' ';
  std::size_t most = 0;
  for (const char separator : {'\t', ';', '|', ',', ' '}) {
    const std::size_t count = columns_of(head, separator);
    const auto even = std::count_if(head.begin(), head.end(), [&](std::string_view line) {
      return cut(line, separator).size() == count;
    });
    // One faulty line in four is forgiven.
    if (count >= 2 && 4 * static_cast<std::size_t>(even) >= 3 * head.size() && most == 0) {
      best = separator;
      most = count;
    }
  }
  return best;
}

struct IsoParts {
  int year = 0, month = 0, day = 0, hour = 0, minute = 0;
  double second = 0.0;
  int offset_min = 0;
};

bool digits(std::string_view& text, int count, int& value) {
  value = 0;
  for (int i = 0; i < count; ++i) {
    if (text.empty() || text.front() < '0' || text.front() > '9')
      return false;
    value = 10 * value + (text.front() - '0');
    text.remove_prefix(1);
  }
  return true;
}

bool take(std::string_view& text, std::string_view any) {
  if (text.empty() || any.find(text.front()) == std::string_view::npos)
    return false;
  text.remove_prefix(1);
  return true;
}

/// "17:05" or "17:05:31.25"
bool clock(std::string_view& text, IsoParts& parts) {
  if (!digits(text, 2, parts.hour) || !take(text, ":") || !digits(text, 2, parts.minute))
    return false;
  if (take(text, ":")) {
    int whole = 0;
    if (!digits(text, 2, whole))
      return false;
    parts.second = whole;
    if (take(text, ".,")) {
      double place = 0.1;
      int digit = 0;
      while (!text.empty() && digits(text, 1, digit)) {
        parts.second += digit * place;
        place /= 10.0;
      }
    }
  }
  return parts.hour < 24 && parts.minute < 60 && parts.second < 61.0;
}

std::optional<double> iso(std::string_view text) {
  IsoParts parts;
  if (!digits(text, 4, parts.year) || !take(text, "-/") || !digits(text, 2, parts.month) ||
      !take(text, "-/") || !digits(text, 2, parts.day) || !take(text, "T ") || !clock(text, parts))
    return std::nullopt;
  if (!text.empty() && text != "Z" && text != "z") {
    const int sign = text.front() == '-' ? -1 : 1;
    int hours = 0;
    int minutes = 0;
    if (!take(text, "+-") || !digits(text, 2, hours))
      return std::nullopt;
    take(text, ":");
    if (!text.empty() && !digits(text, 2, minutes))
      return std::nullopt;
    parts.offset_min = sign * (60 * hours + minutes);
  }
  const std::chrono::year_month_day date{std::chrono::year(parts.year),
                                         std::chrono::month(static_cast<unsigned>(parts.month)),
                                         std::chrono::day(static_cast<unsigned>(parts.day))};
  if (!date.ok())
    return std::nullopt;
  const auto days = std::chrono::sys_days(date).time_since_epoch().count();
  return static_cast<double>(days) * 86400.0 + parts.hour * 3600.0 +
         (parts.minute - parts.offset_min) * 60.0 + parts.second;
}

}  // namespace

std::vector<std::string_view> cut(std::string_view line, char separator) {
  std::vector<std::string_view> cells;
  if (separator == ' ') {
    while (true) {
      line = trimmed(line);
      if (line.empty())
        return cells;
      const std::size_t end = std::min(line.find_first_of(" \t"), line.size());
      cells.push_back(line.substr(0, end));
      line.remove_prefix(end);
    }
  }
  while (true) {
    const std::size_t end = std::min(line.find(separator), line.size());
    cells.push_back(trimmed(line.substr(0, end)));
    if (end == line.size())
      return cells;
    line.remove_prefix(end + 1);
  }
}

std::optional<double> read_number(std::string_view text, bool decimal_comma) {
  text = trimmed(text);
  std::array<char, 64> copy{};
  if (text.empty() || text.size() >= copy.size())
    return std::nullopt;
  std::copy(text.begin(), text.end(), copy.begin());
  if (decimal_comma)
    std::replace(copy.begin(), copy.end(), ',', '.');
  const char* begin = copy.data() + (copy[0] == '+' ? 1 : 0);
  const char* const end = copy.data() + text.size();
  double value = 0.0;
  auto [at, error] = std::from_chars(begin, end, value);
  while (at != end && (*at == ' ' || *at == 'W' || *at == 'w' || *at == 'h' || *at == 'k'))
    ++at;  // "231.5 W"
  if (error != std::errc{} || at != end || !std::isfinite(value))
    return std::nullopt;
  return value;
}

std::optional<double> read_time(std::string_view text, const Layout& layout) {
  text = trimmed(text);
  if (const auto moment = iso(text))
    return moment;
  if (const auto number = read_number(text, layout.decimal_comma))
    return *number * (*number >= kMillisecondsFrom ? 1e-3 : layout.time_scale);
  IsoParts parts;
  if (clock(text, parts) && text.empty())
    return parts.hour * 3600.0 + parts.minute * 60.0 + parts.second;
  return std::nullopt;
}

Layout find_layout(const std::vector<std::string_view>& head, const std::string& path,
                   const MeterLogOptions& options) {
  Layout layout;
  layout.separator = find_separator(head);
  const std::size_t count = columns_of(head, layout.separator);
  layout.decimal_comma = layout.separator != ',' &&
                         std::any_of(head.begin() + 1, head.end(), [&](std::string_view line) {
                           return line.find(',') != std::string_view::npos;
                         });
  const auto first = cut(head.front(), layout.separator);
  layout.has_heading = std::none_of(first.begin(), first.end(), [&](std::string_view cell) {
    return read_time(cell, layout).has_value();
  });
  std::vector<std::string> names;
  if (layout.has_heading)
    for (const std::string_view cell : first)
      names.push_back(lower(cell));
  const auto guess =
      [&](std::initializer_list<std::string_view> words) -> std::optional<std::size_t> {
    for (std::size_t i = 0; i < names.size(); ++i)
      if (has_any(names[i], words))
        return i;
    return std::nullopt;
  };
  const auto finest = guess({"epoch"});  // our own files have whole seconds beside it
  const auto time_guess = finest ? finest
                                 : guess({"time", "timestamp", "date", "datetime", "utc", "epoch",
                                          "seconds", "second", "sec", "s", "t", "ms", "when"});
  const auto watts_guess = guess({"w", "watt", "watts", "power", "kw"});
  const auto wh_guess = guess({"wh", "kwh", "energy", "total"});
  layout.time = !options.time_column.empty() ? column_named(options.time_column, names, count, path)
                                             : time_guess.value_or(0);
  if (!options.wh_column.empty() && !options.watts_column.empty())
    throw UnreadableLog(fmt::format("{}: expected a column of watts or one of watt-hours", path));
  if (!options.watts_column.empty()) {
    layout.value = column_named(options.watts_column, names, count, path);
  } else if (!options.wh_column.empty() || (!watts_guess && wh_guess)) {
    layout.value =
        options.wh_column.empty() ? *wh_guess : column_named(options.wh_column, names, count, path);
    layout.cumulative = true;
  } else {
    layout.value = watts_guess.value_or(layout.time == 0 ? 1 : 0);
  }
  if (layout.value >= count || layout.value == layout.time)
    throw UnreadableLog(fmt::format(
        "{}:1: expected a column of times and one of watts, such as \"12.5,231.4\"", path));
  const std::string value_name = layout.value < names.size() ? names[layout.value] : "";
  if (has_any(value_name, {"kwh", "kw"}))
    layout.value_scale = 1000.0;
  if (layout.time < names.size() && has_any(names[layout.time], {"ms", "milliseconds"}))
    layout.time_scale = 1e-3;
  if (layout.time < names.size() && has_any(names[layout.time], {"min", "minutes"}))
    layout.time_scale = 60.0;
  layout.readings.push_back(
      fmt::format("columns are cut at {}{}",
                  layout.separator == ' '    ? "blanks"
                  : layout.separator == '\t' ? "tabs"
                                             : fmt::format("'{}'", layout.separator),
                  layout.decimal_comma ? ", numbers have a decimal comma" : ""));
  layout.readings.push_back(fmt::format("times are in column {}{}", layout.time + 1,
                                        options.time_column.empty() ? ", guessed" : ""));
  layout.readings.push_back(fmt::format(
      "column {} holds {}{}{}", layout.value + 1, layout.value_scale > 1.0 ? "kilo" : "",
      layout.cumulative ? "watt-hours that add up" : "watts",
      options.watts_column.empty() && options.wh_column.empty() ? ", guessed" : ""));
  return layout;
}

}  // namespace platetally::meter
