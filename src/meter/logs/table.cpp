#include "meter/logs/table.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <optional>
#include <utility>

#include "base/files.hpp"
#include "meter/logs/cutting.hpp"
#include "platetally/meter.hpp"

namespace platetally::meter {

namespace {

constexpr std::size_t kMostBytes = std::size_t{64} << 20;
constexpr std::size_t kMostRows = 200000;

bool is_blank(char c) {
  return c == ' ' || c == '\t' || c == '\r';
}

/// The separator that stands most often in the heading.
char separator_of(std::string_view heading) {
  char best = ',';
  std::ptrdiff_t most = 0;
  for (const char separator : {',', ';', '\t', '|'}) {
    const auto count = std::count(heading.begin(), heading.end(), separator);
    if (count > most) {
      best = separator;
      most = count;
    }
  }
  return best;
}

/// The next cell of `line` from `at` on, which moves behind its separator, or behind the line.
TableCell next_cell(std::string_view line, std::size_t& at, char separator) {
  while (at < line.size() && is_blank(line[at]) && line[at] != separator)
    ++at;
  TableCell cell;
  cell.column = at + 1;
  if (at < line.size() && line[at] == '"') {
    for (++at; at < line.size(); ++at) {
      if (line[at] == '"' && (at + 1 >= line.size() || line[at + 1] != '"'))
        break;
      at += line[at] == '"';
      cell.text += line[at];
    }
    at = std::min(line.find(separator, at), line.size());
  } else {
    const std::size_t end = std::min(line.find(separator, at), line.size());
    cell.text = without_blanks(line.substr(at, end - at));
    at = end;
  }
  ++at;
  return cell;
}

TableRow cut_row(std::string_view line, std::uint64_t number, char separator) {
  TableRow row;
  row.line = number;
  for (std::size_t at = 0; at <= line.size();)
    row.cells.push_back(next_cell(line, at, separator));
  return row;
}

/// In lower case, blanks and bars as '_', and without a unit in brackets behind it.
std::string plain_name(std::string_view heading) {
  std::string name;
  for (const char c : heading.substr(0, heading.find_first_of("([")))
    name +=
        c == ' ' || c == '-' ? '_' : static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  while (name.ends_with('_'))
    name.pop_back();
  return name;
}

}  // namespace

Table::Table(std::string_view text, const std::string& path) {
  if (text.size() > kMostBytes)
    throw UnreadableLog(fmt::format("{}: more than 64 MiB; expected a table of some lines", path));
  if (text.starts_with("\xEF\xBB\xBF"))
    text.remove_prefix(3);
  std::uint64_t number = 0;
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t end = std::min(text.find('\n', from), text.size());
    const std::string_view line = text.substr(from, end - from);
    from = end + 1;
    ++number;
    if (without_blanks(line).empty() || without_blanks(line).front() == '#')
      continue;
    if (headings_.empty()) {
      separator_ = separator_of(line);
      for (TableCell& cell : cut_row(line, number, separator_).cells)
        headings_.push_back(std::move(cell.text));
      continue;
    }
    if (rows_.size() == kMostRows)
      throw UnreadableLog(fmt::format("{}:{}: more than {} lines", path, number, kMostRows));
    rows_.push_back(cut_row(line, number, separator_));
  }
  if (headings_.empty())
    throw UnreadableLog(fmt::format("{}: is empty; expected a heading and a line for each", path));
}

std::optional<std::size_t> Table::column(std::initializer_list<std::string_view> names) const {
  for (std::size_t i = 0; i < headings_.size(); ++i)
    if (std::find(names.begin(), names.end(), plain_name(headings_[i])) != names.end())
      return i;
  return std::nullopt;
}

const TableCell* Table::cell(const TableRow& row, std::optional<std::size_t> column) {
  if (!column || *column >= row.cells.size() || row.cells[*column].text.empty())
    return nullptr;
  return &row.cells[*column];
}

std::optional<double> Table::number(std::string_view text) const {
  text = without_blanks(text);
  const auto value = leading_number(text, separator_ != ',');
  return text.empty() ? value : std::nullopt;
}

double Table::step_of(std::string_view text) const {
  const std::size_t point = text.find_first_of(separator_ == ',' ? "." : ".,");
  if (point == std::string_view::npos)
    return 1.0;
  std::size_t digits = 0;
  while (point + 1 + digits < text.size() &&
         std::isdigit(static_cast<unsigned char>(text[point + 1 + digits])) != 0)
    ++digits;
  return std::pow(10.0, -static_cast<double>(std::min<std::size_t>(digits, 9)));
}

std::string text_of_file(const std::string& path) {
  std::optional<std::string> text = base::read_file(path, kMostBytes + 1);
  if (!text)
    throw UnreadableLog(fmt::format("{}: cannot be read", path));
  return *std::move(text);
}

}  // namespace platetally::meter
