#include "reading/interpreter/unaccounted.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "reading/dialect/text.hpp"

namespace platetally::interpreter {

namespace {

using Word = fmt::basic_memory_buffer<char, 2 * Unaccounted::kLongestWord>;

/// The word as a person would write it: "M7401.3", "WARM_UP", or the letters of a line without a
/// command.
void write_word(const gcode::Command& command, Word& word) {
  const auto out = fmt::appender(word);
  switch (command.kind) {
    case gcode::CommandKind::lettered:
      word.push_back(command.letter);
      if (!command.bare_number)
        fmt::format_to(out, "{}", command.number);
      if (command.fraction >= 0)
        fmt::format_to(out, ".{}", command.fraction);
      return;
    case gcode::CommandKind::named:
      for (const char c : command.name.substr(0, Unaccounted::kLongestWord))
        word.push_back(dialect::upper(c));
      return;
    case gcode::CommandKind::motionless:
      for (int i = 0; i < 26; ++i)
        if (((command.words.mask | command.words.bare) >> i) & 1U)
          word.push_back(static_cast<char>('A' + i));
      return;
  }
}

}  // namespace

void Unaccounted::add(const gcode::Command& command, std::uint64_t line) {
  Word buffer;
  write_word(command, buffer);
  std::string_view word(buffer.data(), buffer.size());
  ++count_;
  auto known = words_.find(word);
  if (known == words_.end()) {
    if (words_.size() >= kMostWords)
      word = "other";
    known = words_.try_emplace(std::string(word), Tally{0, line}).first;
  }
  ++known->second.count;
}

std::vector<UnaccountedWord> Unaccounted::list() const {
  std::vector<UnaccountedWord> list;
  for (const auto& [word, tally] : words_)
    list.push_back({word, tally.count, tally.first_line});
  std::stable_sort(list.begin(), list.end(),
                   [](const auto& a, const auto& b) { return a.count > b.count; });
  return list;
}

}  // namespace platetally::interpreter
