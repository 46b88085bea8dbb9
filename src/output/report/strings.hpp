// Numbers and strings as the writers show them. No locale, no environment.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "output/report/fields.hpp"

namespace platetally::report {

/// The shortest digits that read back to `value`; "null" if it is not finite. Minus zero is 0.
std::string exact_number(double value);

/// `text` as a JSON string, with its quotes; bytes that are no UTF-8 replaced, every control
/// character escaped.
std::string json_string(std::string_view text);

/// `text` as a cell of comma-separated values: in quotes where it has to be (RFC 4180).
std::string csv_cell(std::string_view text);

/// The same for text from outside: control characters replaced, and an apostrophe before what a
/// spreadsheet would take for a formula (= + - @ in front).
std::string csv_text(std::string_view text);

/// A value without quotes, as --get prints it; lists are joined by blanks.
std::string plain(const Value& value);

/// A value for people: seconds as a duration, other numbers by significant().
std::string rounded(const Value& value, std::string_view unit);

/// Three digits that count, two below one: "1230", "273", "19.0", "4.25", "0.98", "0.062"; "0"
/// below what six decimals show.
std::string significant(double value);

/// Money with two decimals, and three digits that are not 0 in front where it is less: "12.34",
/// "0.187"; at most six decimals.
std::string money(double value);
/// In its two largest units: "31.4 s", "7 min 31 s", "2 h 7 min", "3 d 4 h".
std::string duration(double seconds);

/// "12.3 g", "1 h 21 min": a value for people with its unit, or "?" where it is not known.
std::string with_unit(double value, std::string_view unit);

/// `text` with no-break spaces where wrap() would not break: between a number and its unit; with
/// `whole` at every blank.
std::string held_together(std::string_view text, bool whole = false);

/// "6 %", "< 1 %" for what is above zero and below one half; `whole` <= 0 gives "0 %".
std::string share(double part, double whole);

/// "812 B", "6.7 MB" (powers of ten).
std::string data_size(std::uint64_t bytes);

/// `text` as valid UTF-8: each byte that is not becomes U+FFFD.
std::string valid_utf8(std::string_view text);

/// valid_utf8, and nothing in it moves the cursor or turns the direction of writing: tabs and line
/// ends become blanks, other control characters U+FFFD.
std::string printable(std::string_view text);

/// Columns that printable text takes on a terminal: combining marks none, wide characters two.
int display_width(std::string_view text);

/// The characters of `text` that lie whole within `width` columns from column `first` on.
std::string columns(std::string_view text, int first, int width);

/// Breaks `text` at blanks into lines of at most `width` columns; a longer word stays whole, and so
/// does a number with its unit: "1 h 50 min", "273 Wh". The first line has `first_width` columns if
/// that is not negative.
std::vector<std::string> wrap(std::string_view text, int width, int first_width = -1);

}  // namespace platetally::report
