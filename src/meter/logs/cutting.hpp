// Lines of a log cut into cells: by a separator, or objects of JSON, a line each.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace platetally::meter {

/// A line with text, and its number.
struct TextLine {
  std::string_view text;
  std::uint64_t number = 0;
};

/// Lines with text, without comments (#) and byte order mark.
std::vector<TextLine> lines_of(std::string_view text);

/// How a log's lines are cut.
struct Cutting {
  bool objects = false;  ///< of JSON, a line each
  char separator = ',';  ///< ' ': any run of blanks
  bool decimal_comma = false;
  std::size_t count = 0;               ///< of cells
  std::vector<std::string> names;      ///< headings or keys, as written; may be empty
  std::size_t first_row = 0;           ///< line with the first row of cells
  std::vector<std::string> passed_by;  ///< what was said of lines before the table
};

/// From the first lines with text; `reads` says whether a cell holds something that can be read, so
/// that it is no heading.
Cutting find_cutting(const std::vector<TextLine>& lines, bool (*reads)(std::string_view cell));

/// Cells of one line after another; views hold until the next one.
class Cutter {
 public:
  explicit Cutter(const Cutting& cutting) : cutting_(cutting) {}
  const std::vector<std::string_view>& cells(std::string_view line);

 private:
  void cut_object(std::string_view line);

  const Cutting& cutting_;
  std::vector<std::string_view> cells_;
  std::vector<std::string> values_;
};

/// Without blanks and quotes around it.
std::string_view trimmed(std::string_view text);
std::string lower(std::string_view text);

/// Without blanks around it.
std::string_view without_blanks(std::string_view text);

/// Takes a number that is finite off the front of `text`; nothing where there is none.
std::optional<double> leading_number(std::string_view& text, bool decimal_comma);
/// "231.5", "231,5", "231.5 W".
std::optional<double> read_number(std::string_view text, bool decimal_comma);

}  // namespace platetally::meter
