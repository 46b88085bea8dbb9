#include "meter/logs/cutting.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>
#include <cmath>
#include <nlohmann/json.hpp>

namespace platetally::meter {

namespace {

constexpr std::size_t kHeadLines = 12;
constexpr std::size_t kLinesForKeys = 50;
constexpr std::size_t kMostKeys = 200;

void cut(std::string_view line, char separator, std::vector<std::string_view>& cells) {
  cells.clear();
  if (separator == ' ') {
    while (true) {
      line = trimmed(line);
      if (line.empty())
        return;
      const std::size_t end = std::min(line.find_first_of(" \t"), line.size());
      cells.push_back(line.substr(0, end));
      line.remove_prefix(end);
    }
  }
  while (true) {
    const std::size_t begin = line.find_first_not_of(" ");
    std::size_t from = 0;
    // A separator inside quotes is part of the cell.
    if (begin != std::string_view::npos && line[begin] == '"')
      if (const std::size_t quote = line.find('"', begin + 1); quote != std::string_view::npos)
        from = quote;
    const std::size_t end = std::min(line.find(separator, from), line.size());
    cells.push_back(trimmed(line.substr(0, end)));
    if (end == line.size())
      return;
    line.remove_prefix(end + 1);
  }
}

std::size_t cells_in(std::string_view line, char separator) {
  std::vector<std::string_view> cells;
  cut(line, separator, cells);
  return cells.size();
}

/// The number of columns that most lines have.
std::size_t columns_of(const std::vector<TextLine>& head, char separator) {
  std::vector<std::size_t> counts;
  counts.reserve(head.size());
  for (const TextLine& line : head)
    counts.push_back(cells_in(line.text, separator));
  const auto middle = counts.begin() + static_cast<std::ptrdiff_t>(counts.size() / 2);
  std::nth_element(counts.begin(), middle, counts.end());
  return *middle;
}

/// The first that cuts the lines into the same number of columns; a comma late, as it may be a
/// decimal comma.
char find_separator(const std::vector<TextLine>& head) {
  for (const char separator : {'\t', ';', '|', ',', ' '}) {
    const std::size_t count = columns_of(head, separator);
    const auto even = std::count_if(head.begin(), head.end(), [&](const TextLine& line) {
      return cells_in(line.text, separator) == count;
    });
    // One faulty line in four is forgiven.
    if (count >= 2 && 4 * static_cast<std::size_t>(even) >= 3 * head.size())
      return separator;
  }
  return ' ';
}

/// Without blanks and commas behind it, as lines of a list have them.
std::string_view without_comma(std::string_view line) {
  const std::size_t last = line.find_last_not_of(", \t");
  return line.substr(0, last == std::string_view::npos ? 0 : last + 1);
}

bool is_object(std::string_view line) {
  return line.front() == '{' && without_comma(line).back() == '}';
}

/// Calls `take(key, text)` for every number, text and truth of an object, keys of objects inside
/// joined by dots.
template <typename Take>
void walk(const nlohmann::json& value, const std::string& path, int depth, const Take& take) {
  constexpr int kDeepest = 8;
  if (value.is_object() && depth < kDeepest) {
    for (const auto& [key, inside] : value.items())
      walk(inside, path.empty() ? key : path + "." + key, depth + 1, take);
  } else if (value.is_string()) {
    take(path, value.get_ref<const std::string&>());
  } else if (value.is_number()) {
    take(path, value.dump());
  }
}

/// A line with an object; null for anything else. A comma behind it is forgiven.
nlohmann::json object_of(std::string_view line) {
  return nlohmann::json::parse(without_comma(line), nullptr, false);
}

Cutting cut_objects(const std::vector<TextLine>& lines) {
  Cutting cutting;
  cutting.objects = true;
  for (std::size_t i = 0; i < std::min(kLinesForKeys, lines.size()); ++i)
    walk(object_of(lines[i].text), "", 0, [&](const std::string& key, const std::string&) {
      if (cutting.names.size() < kMostKeys &&
          std::find(cutting.names.begin(), cutting.names.end(), key) == cutting.names.end())
        cutting.names.push_back(key);
    });
  cutting.count = cutting.names.size();
  return cutting;
}

}  // namespace

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

std::string_view without_blanks(std::string_view text) {
  constexpr std::string_view kBlanks = " \t\r";
  const std::size_t first = text.find_first_not_of(kBlanks);
  if (first == std::string_view::npos)
    return {};
  return text.substr(first, text.find_last_not_of(kBlanks) - first + 1);
}

std::optional<double> leading_number(std::string_view& text, bool decimal_comma) {
  std::array<char, 64> copy{};
  if (text.empty() || text.size() >= copy.size())
    return std::nullopt;
  std::copy(text.begin(), text.end(), copy.begin());
  if (decimal_comma)
    std::replace(copy.begin(), copy.end(), ',', '.');
  const char* const begin = copy.data() + (copy[0] == '+' ? 1 : 0);
  double value = 0.0;
  const auto [end, error] = std::from_chars(begin, copy.data() + text.size(), value);
  if (error != std::errc{} || !std::isfinite(value))
    return std::nullopt;
  text.remove_prefix(static_cast<std::size_t>(end - copy.data()));
  return value;
}

std::optional<double> read_number(std::string_view text, bool decimal_comma) {
  text = trimmed(text);
  const auto value = leading_number(text, decimal_comma);
  return text.find_first_not_of(" WwhkmVA%") == std::string_view::npos ? value : std::nullopt;
}

std::vector<TextLine> lines_of(std::string_view text) {
  std::vector<TextLine> lines;
  std::uint64_t number = 0;
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t end = std::min(text.find('\n', from), text.size());
    std::string_view line = text.substr(from, end - from);
    from = end + 1;
    ++number;
    if (number == 1 && line.starts_with("\xEF\xBB\xBF"))
      line.remove_prefix(3);
    if (!line.empty() && line.back() == '\r')
      line.remove_suffix(1);
    if (line.find_first_not_of(" \t") == std::string_view::npos || line.front() == '#')
      continue;
    lines.push_back({line, number});
  }
  return lines;
}

Cutting find_cutting(const std::vector<TextLine>& lines, bool (*reads)(std::string_view cell)) {
  const auto objects =
      std::count_if(lines.begin(),
                    lines.begin() + static_cast<std::ptrdiff_t>(std::min(lines.size(), kHeadLines)),
                    [](const TextLine& line) { return is_object(line.text); });
  if (2 * static_cast<std::size_t>(objects) > std::min(lines.size(), kHeadLines))
    return cut_objects(lines);
  Cutting cutting;
  std::vector<TextLine> head(lines.begin(), lines.begin() + static_cast<std::ptrdiff_t>(std::min(
                                                                lines.size(), kHeadLines)));
  cutting.separator = find_separator(head);
  cutting.count = columns_of(head, cutting.separator);
  cutting.decimal_comma = cutting.separator != ',' &&
                          std::any_of(head.begin() + 1, head.end(), [](const TextLine& line) {
                            return line.text.find(',') != std::string_view::npos;
                          });
  // What has another number of cells stands before the table: a title, the owner's name.
  std::size_t first = 0;
  while (first + 1 < head.size() && cells_in(head[first].text, cutting.separator) < cutting.count)
    ++first;
  if (first + 1 == head.size())
    first = 0;
  if (first > 0)
    cutting.passed_by.push_back(fmt::format(
        "the table begins in line {}; what is before it was passed by", head[first].number));
  std::vector<std::string_view> cells;
  cut(head[first].text, cutting.separator, cells);
  const bool has_heading = std::none_of(cells.begin(), cells.end(), reads);
  if (has_heading)
    for (const std::string_view cell : cells)
      cutting.names.emplace_back(cell);
  cutting.first_row = first + (has_heading ? 1 : 0);
  return cutting;
}

const std::vector<std::string_view>& Cutter::cells(std::string_view line) {
  if (cutting_.objects)
    cut_object(line);
  else
    cut(line, cutting_.separator, cells_);
  return cells_;
}

void Cutter::cut_object(std::string_view line) {
  values_.assign(cutting_.names.size(), "");
  walk(object_of(line), "", 0, [&](const std::string& key, const std::string& text) {
    const auto found = std::find(cutting_.names.begin(), cutting_.names.end(), key);
    if (found != cutting_.names.end())
      values_[static_cast<std::size_t>(found - cutting_.names.begin())] = text;
  });
  cells_.assign(values_.begin(), values_.end());
}

}  // namespace platetally::meter
