// A small table that people keep: a heading, and a line for each thing.
//
// Cut at commas, semicolons, tabs or bars; cells may be in quotes (RFC 4180). Numbers may have a
// decimal comma where lines are not cut at commas. Lines that are empty or begin with '#' are
// passed over.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "platetally/diagnostic.hpp"

namespace platetally::meter {

struct TableCell {
  std::string text;          ///< without quotes and blanks around it
  std::uint64_t column = 0;  ///< 1-based byte column where it begins
};

struct TableRow {
  std::uint64_t line = 0;  ///< from 1
  std::vector<TableCell> cells;
};

class Table {
 public:
  /// Throws UnreadableLog with `path`: nothing in it, or too much (64 MiB, 200000 lines).
  Table(std::string_view text, const std::string& path);

  /// As written, of the first row.
  const std::vector<std::string>& headings() const { return headings_; }
  const std::vector<TableRow>& rows() const { return rows_; }
  char separator() const { return separator_; }

  /// The first column whose heading, in lower case and without what stands in brackets, is one of
  /// these.
  std::optional<std::size_t> column(std::initializer_list<std::string_view> names) const;

  /// The cell, or null where the row ends before or the cell is empty.
  static const TableCell* cell(const TableRow& row, std::optional<std::size_t> column);

  /// A number that is finite, with the separator's decimal sign.
  std::optional<double> number(std::string_view text) const;
  /// How fine a number is written: 0.01 for "12.30", 1 for "12".
  double step_of(std::string_view text) const;

 private:
  char separator_ = ',';
  std::vector<std::string> headings_;
  std::vector<TableRow> rows_;
};

/// At most 64 MiB. Throws UnreadableLog.
std::string text_of_file(const std::string& path);

}  // namespace platetally::meter
