// Comma-separated values read back as RFC 4180 says (line ends of one byte), written apart from the
// writers that it judges.
#pragma once

#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

namespace platetally::test {

using CsvRow = std::vector<std::string>;

/// Throws std::runtime_error where a quote stands in a bare cell, or text behind a closing quote.
inline std::vector<CsvRow> read_csv(std::string_view text) {
  std::vector<CsvRow> rows;
  std::size_t at = 0;
  while (at < text.size()) {
    CsvRow row;
    for (bool is_last = false; !is_last;) {
      std::string cell;
      if (at < text.size() && text[at] == '"') {
        for (++at;; ++at) {
          if (at >= text.size())
            throw std::runtime_error("a quote is not closed");
          if (text[at] != '"')
            cell += text[at];
          else if (at + 1 < text.size() && text[at + 1] == '"')
            cell += text[++at];
          else
            break;
        }
        ++at;
        if (at < text.size() && text[at] != ',' && text[at] != '\n')
          throw std::runtime_error("text behind a closing quote");
      } else {
        for (; at < text.size() && text[at] != ',' && text[at] != '\n'; ++at) {
          if (text[at] == '"')
            throw std::runtime_error("a quote in a bare cell");
          cell += text[at];
        }
      }
      row.push_back(cell);
      if (at >= text.size())
        throw std::runtime_error("the last line has no end");
      is_last = text[at++] == '\n';
    }
    rows.push_back(row);
  }
  return rows;
}

}  // namespace platetally::test
