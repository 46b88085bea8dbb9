// From a command to its meaning: the trade's own words, and over them the rows of a machine file.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "platetally/machine.hpp"
#include "reading/dialect/meaning.hpp"
#include "reading/gcode/words.hpp"

namespace platetally::dialect {

struct Found {
  Meaning meaning = Meaning::unknown;
  const DialectRow* row = nullptr;  ///< for Meaning::machine_row
};

/// A row of the machine file wins over a built-in word, and of several rows of one word the last.
/// The dialect must outlive the table.
class Table {
 public:
  explicit Table(const Dialect& dialect);

  /// Meaning of a lettered or named command; T words are known only where a row names them.
  Found find(const gcode::Command& command) const {
    if (command.kind == gcode::CommandKind::lettered && command.fraction < 0 &&
        command.letter != 'T' && command.number >= 0 && command.number < kDirect) {
      const auto& direct = command.letter == 'G' ? g_ : m_;
      return found(direct[static_cast<std::size_t>(command.number)]);
    }
    return find_rare(command);
  }

  /// Whether a row names this T word itself ("T4000"): then it selects no tool.
  bool has_tool_rows() const { return has_tool_rows_; }

 private:
  static constexpr std::int32_t kDirect = 1024;
  static constexpr std::uint16_t kFirstRow = 256;  // below: a Meaning; from here on: a row

  struct Rare {
    char letter;
    std::int32_t number, fraction;
    std::uint16_t code;
  };

  Found found(std::uint16_t code) const {
    if (code < kFirstRow)
      return {static_cast<Meaning>(code), nullptr};
    return {Meaning::machine_row, &dialect_.rows[code - kFirstRow]};
  }
  Found find_rare(const gcode::Command& command) const;
  void put(char letter, std::int32_t number, std::int32_t fraction, std::uint16_t code);
  void put_row(const std::string& word, std::uint16_t code);

  const Dialect& dialect_;
  std::array<std::uint16_t, kDirect> g_{};
  std::array<std::uint16_t, kDirect> m_{};
  std::vector<Rare> rare_;
  std::vector<std::uint16_t> named_;  // codes of rows whose word is a name
  bool has_tool_rows_ = false;
};

}  // namespace platetally::dialect
