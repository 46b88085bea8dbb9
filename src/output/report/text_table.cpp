#include "output/report/text_table.hpp"

#include <algorithm>
#include <numeric>

#include "output/report/strings.hpp"
#include "platetally/account.hpp"

namespace platetally::report {

namespace {

constexpr int kWidestCell = 24;  // a list of sixteen tools would push the rest off the page

std::string cell_text(const Value& value, std::string_view unit) {
  std::string text = rounded(value, unit);
  if (std::holds_alternative<std::vector<std::int64_t>>(value) &&
      display_width(text) > kWidestCell) {
    text.resize(text.rfind(' ', kWidestCell - 3));
    text += " ..";
  }
  return text;
}

constexpr std::string_view kMoney = "cost";

std::string cell_of(const Account& account, const Field& column, const Value& value) {
  const double* const number = std::get_if<double>(&value);
  return number != nullptr && column.key == kMoney && account.cost ? money(*number)
                                                                   : cell_text(value, column.unit);
}

/// Durations carry their units in every cell.
std::string unit_of(const Account& account, const Field& column) {
  if (column.key == kMoney && account.cost)
    return printable(account.cost->currency);
  return column.unit == "s" ? "" : std::string(column.unit);
}

std::string sum_cell(const Account& account, const Section& section, const Field& column,
                     std::string_view sum_name) {
  if (column.shape == Shape::text)
    return column.key == "name" ? std::string(sum_name) : "";
  double sum = 0.0;
  for (const std::size_t row : all_rows(account, section)) {
    const Value value = column.get(account, row);
    if (!std::holds_alternative<double>(value))
      return "";
    sum += number_of(value);
  }
  return cell_of(account, column, sum);
}

std::string blanks(int count) {
  return std::string(static_cast<std::size_t>(std::max(count, 0)), ' ');
}

}  // namespace

std::string flush_right(std::string_view text, int width) {
  return blanks(width - display_width(text)) + std::string(text);
}

std::string flush_left(std::string_view text, int width) {
  return std::string(text) + blanks(width - display_width(text));
}

double number_of(const Value& value) {
  if (const auto* real = std::get_if<double>(&value))
    return *real;
  if (const auto* count = std::get_if<std::uint64_t>(&value))
    return static_cast<double>(*count);
  if (const auto* number = std::get_if<std::int64_t>(&value))
    return static_cast<double>(*number);
  return 0.0;
}

std::string table(const Account& account, const Section& section,
                  std::span<const std::string_view> keys, std::span<const std::size_t> rows) {
  return table_with_sums(account, section, keys, rows, "");
}

std::string table_with_sums(const Account& account, const Section& section,
                            std::span<const std::string_view> keys,
                            std::span<const std::size_t> rows, std::string_view sum_name) {
  std::vector<std::string> lines(2 + rows.size() + (sum_name.empty() ? 0 : 1));
  for (const std::string_view key : keys) {
    const Field& column = field(section, key);
    std::vector<std::string> cells{std::string(column.title), unit_of(account, column)};
    for (const std::size_t row : rows)
      cells.push_back(cell_of(account, column, column.get(account, row)));
    if (!sum_name.empty())
      cells.push_back(sum_cell(account, section, column, sum_name));
    int width = 0;
    for (const std::string& cell : cells)
      width = std::max(width, display_width(cell));
    for (std::size_t line = 0; line < lines.size(); ++line)
      lines[line] += "  " + flush_right(cells[line], width);
  }
  std::string out;
  for (std::string& line : lines) {
    line.erase(line.find_last_not_of(' ') + 1);
    if (!line.empty())
      out += line + '\n';
  }
  return out;
}

std::vector<std::size_t> all_rows(const Account& account, const Section& section) {
  std::vector<std::size_t> rows(section.rows(account));
  std::iota(rows.begin(), rows.end(), std::size_t{0});
  return rows;
}

std::vector<std::size_t> largest_rows(const Account& account, const Section& section,
                                      std::string_view key, std::size_t most) {
  const Field& by = field(section, key);
  const auto size = [&](std::size_t row) { return number_of(by.get(account, row)); };
  std::vector<std::size_t> rows = all_rows(account, section);
  std::erase_if(rows, [&](std::size_t row) { return !(size(row) > 0.0); });
  std::stable_sort(rows.begin(), rows.end(),
                   [&](std::size_t a, std::size_t b) { return size(a) > size(b); });
  if (rows.size() > most)
    rows.resize(most);
  return rows;
}

}  // namespace platetally::report
