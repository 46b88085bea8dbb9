#include "meter/logs/column.hpp"

#include <cctype>
#include <optional>

#include "meter/logs/moments.hpp"

namespace platetally::meter {

namespace {

constexpr std::size_t kLookedAt = 400;  // lines, half of them at the beginning

/// Lower-case words of a heading: cut at what is no letter or digit, and also where a small letter
/// meets a capital.
std::vector<std::string> words_of(std::string_view name) {
  std::vector<std::string> words;
  for (const bool by_capitals : {false, true}) {
    std::string word;
    const auto flush = [&] {
      if (!word.empty())
        words.push_back(lower(word));
      word.clear();
    };
    for (std::size_t i = 0; i < name.size(); ++i) {
      const auto c = static_cast<unsigned char>(name[i]);
      if (std::isalnum(c) == 0 && c != '%') {
        flush();
        continue;
      }
      if (by_capitals && i > 0 && std::isupper(c) != 0 &&
          std::islower(static_cast<unsigned char>(name[i - 1])) != 0)
        flush();
      word += name[i];
    }
    flush();
  }
  return words;
}

void look_at(std::string_view cell, bool decimal_comma, Column& column) {
  const std::string_view text = trimmed(cell);
  if (text.empty())
    return;
  column.filled += 1.0;
  if (column.example.empty())
    column.example = std::string(text.substr(0, 24));
  if (const auto number = read_number(text, decimal_comma)) {
    column.number += 1.0;
    column.numbers.push_back(*number);
    return;
  }
  std::string_view rest = text;
  if (read_moment(text, DateOrder::day_first) || read_moment(text, DateOrder::month_first))
    column.moment += 1.0;
  else if (take_date(rest) && rest.empty())
    column.date += 1.0;
  else if (read_clock(text))
    column.clock += 1.0;
}

void conclude(std::size_t rows, Column& column) {
  const double filled = std::max(1.0, column.filled);
  for (double* share : {&column.number, &column.moment, &column.clock, &column.date})
    *share /= filled;
  column.filled /= static_cast<double>(std::max<std::size_t>(1, rows));
  if (column.numbers.empty())
    return;
  const auto [least, most] = std::minmax_element(column.numbers.begin(), column.numbers.end());
  column.least = *least;
  column.most = *most;
  double steps = 0.0;
  for (std::size_t i = 1; i < column.numbers.size(); ++i)
    steps += column.numbers[i] >= column.numbers[i - 1];
  column.rising = steps / std::max(1.0, static_cast<double>(column.numbers.size()) - 1.0);
}

}  // namespace

std::vector<std::string_view> some_lines(const std::vector<TextLine>& lines, std::size_t first) {
  std::vector<std::string_view> some;
  const std::size_t count = lines.size() - std::min(lines.size(), first);
  const std::size_t whole = std::min(count, kLookedAt / 2);
  for (std::size_t i = 0; i < whole; ++i)
    some.push_back(lines[first + i].text);
  const std::size_t rest = count - whole;
  const std::size_t step = std::max<std::size_t>(1, rest / (kLookedAt / 2));
  for (std::size_t i = whole; i < count; i += step)
    some.push_back(lines[first + i].text);
  return some;
}

std::vector<Column> columns_of(const std::vector<std::string_view>& rows, const Cutting& cutting) {
  std::vector<Column> columns(cutting.count);
  Cutter cutter(cutting);
  for (const std::string_view line : rows) {
    const auto& cells = cutter.cells(line);
    for (std::size_t i = 0; i < std::min(cells.size(), columns.size()); ++i)
      look_at(cells[i], cutting.decimal_comma, columns[i]);
  }
  for (std::size_t i = 0; i < columns.size(); ++i) {
    conclude(rows.size(), columns[i]);
    if (i >= cutting.names.size())
      continue;
    columns[i].name = cutting.names[i];
    columns[i].words = words_of(cutting.names[i]);
  }
  return columns;
}

}  // namespace platetally::meter
