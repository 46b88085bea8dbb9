// Columns of the text report, made from the field table.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "output/report/fields.hpp"

namespace platetally::report {

/// The given fields of the given rows: a line of titles, a line of units, a line a row; figures
/// flush right. Every line ends with a newline.
std::string table(const Account& account, const Section& section,
                  std::span<const std::string_view> keys, std::span<const std::size_t> rows);

/// The same, and a last line with the sums over all rows of the section, `sum_name` under `name`.
std::string table_with_sums(const Account& account, const Section& section,
                            std::span<const std::string_view> keys,
                            std::span<const std::size_t> rows, std::string_view sum_name);

/// 0 .. count-1, or the `most` rows that have the largest positive number under `key`, largest
/// first.
std::vector<std::size_t> all_rows(const Account& account, const Section& section);
std::vector<std::size_t> largest_rows(const Account& account, const Section& section,
                                      std::string_view key, std::size_t most);

/// A number of the account as double; 0 where it is none.
double number_of(const Value& value);

/// `text` with blanks before it, up to `width` columns.
std::string flush_right(std::string_view text, int width);
std::string flush_left(std::string_view text, int width);

}  // namespace platetally::report
