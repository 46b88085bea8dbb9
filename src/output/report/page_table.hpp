// A table of a page.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace platetally::report {

struct TableColumn {
  std::string title;
  std::string unit = {};  ///< behind the title, never alone on a line; may be empty
  bool is_words = false;  ///< to the left; else figures, to the right
  bool has_bars = false;  ///< a bar below each figure, as long as its value
  bool is_strip = false;  ///< cells hold small pictures of values in order
  bool is_name = false;   ///< words that are names of files: html_name()
};

struct TableCell {
  std::string text;
  std::optional<double> value = std::nullopt;  ///< to sort by, and for bars
  std::vector<double> strip = {};              ///< for a strip, in order
  std::string note = {};                       ///< below the text, smaller
};

struct TableRow {
  std::vector<TableCell> cells;
  std::string mark =
      {};  ///< why the row stands out: "over limit: purge 8.49 g > 1 g"; empty: it does not
  bool is_chosen = false;  ///< the one that the page speaks for
  bool is_sum = false;     ///< of the others, below them however they are sorted; at the end
};

/// The first column names the row and stays in sight on a phone.
struct PageTable {
  std::vector<TableColumn> columns;
  std::vector<TableRow> rows;
  std::string caption = {};  ///< read out with it; may be empty
  std::string filter = {};   ///< what rows are, if a word can filter them: "plates"
  bool is_sortable = false;
  bool is_close = false;  ///< on a phone its cells break into lines, so that none is cut off
};

/// Rows of plain text, words in the first `words` columns: for tables without bars or marks.
PageTable plain_table(std::vector<TableColumn> columns,
                      const std::vector<std::vector<std::string>>& rows);

/// {"plate", "", true}: a column of words.
inline TableColumn words_column(std::string title) {
  return {std::move(title), "", true};
}

/// {"plate", "", true}: a column of names of files.
inline TableColumn names_column(std::string title) {
  return {std::move(title), "", true, false, false, true};
}

/// Its HTML.
std::string html_of(const PageTable& table);

}  // namespace platetally::report
