#include "reading/dialect/table.hpp"

#include <algorithm>
#include <charconv>
#include <limits>

#include "reading/dialect/builtin_words.hpp"
#include "reading/dialect/text.hpp"

namespace platetally::dialect {

namespace {

struct LetteredWord {
  char letter = 0;
  std::int32_t number = 0, fraction = -1;
};

/// "M7401.3" as letter, number and fraction; a letter of 0 where the word is a name.
LetteredWord split(std::string_view word) {
  LetteredWord split;
  if (word.size() < 2)
    return {};
  const char letter = upper(word.front());
  if (letter != 'G' && letter != 'M' && letter != 'T')
    return {};
  const char* const end = word.data() + word.size();
  auto [after, error] = std::from_chars(word.data() + 1, end, split.number);
  if (error != std::errc())
    return {};
  if (after != end && *after == '.') {
    const auto tail = std::from_chars(after + 1, end, split.fraction);
    if (tail.ec != std::errc() || split.fraction < 0)
      return {};
    after = tail.ptr;
  }
  if (after != end)
    return {};
  split.letter = letter;
  return split;
}

}  // namespace

Table::Table(const Dialect& dialect) : dialect_(dialect) {
  for (const BuiltinWord& word : builtin_words())
    put(word.letter, word.number, word.fraction, static_cast<std::uint16_t>(word.meaning));
  constexpr std::size_t kMostRows = std::numeric_limits<std::uint16_t>::max() - kFirstRow;
  for (std::size_t row = 0; row < std::min(dialect.rows.size(), kMostRows); ++row)
    put_row(dialect.rows[row].word, static_cast<std::uint16_t>(kFirstRow + row));
}

void Table::put_row(const std::string& word, std::uint16_t code) {
  const LetteredWord lettered = split(word);
  if (lettered.letter == 0) {
    named_.push_back(code);
    return;
  }
  has_tool_rows_ = has_tool_rows_ || lettered.letter == 'T';
  put(lettered.letter, lettered.number, lettered.fraction, code);
}

void Table::put(char letter, std::int32_t number, std::int32_t fraction, std::uint16_t code) {
  if (letter != 'T' && fraction < 0 && number >= 0 && number < kDirect) {
    (letter == 'G' ? g_ : m_)[static_cast<std::size_t>(number)] = code;
    return;
  }
  for (Rare& known : rare_) {
    if (known.letter == letter && known.number == number && known.fraction == fraction) {
      known.code = code;
      return;
    }
  }
  rare_.push_back({letter, number, fraction, code});
}

Found Table::find_rare(const gcode::Command& command) const {
  if (command.kind == gcode::CommandKind::named) {
    // Of several rows of a word the last counts, as with letters and numbers.
    const auto row = std::find_if(named_.rbegin(), named_.rend(), [&](std::uint16_t code) {
      return equal_without_case(dialect_.rows[code - kFirstRow].word, command.name);
    });
    return row == named_.rend() ? Found{} : found(*row);
  }
  for (const Rare& known : rare_)
    if (known.letter == command.letter && known.number == command.number &&
        known.fraction == command.fraction)
      return found(known.code);
  return {};
}

}  // namespace platetally::dialect
