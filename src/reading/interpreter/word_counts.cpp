#include "reading/interpreter/word_counts.hpp"

#include <fmt/format.h>

#include <string_view>

#include "reading/dialect/text.hpp"

namespace platetally::interpreter {

namespace {

using Word = fmt::basic_memory_buffer<char, 2 * WordCounts::kLongestWord>;

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
      for (const char c : command.name.substr(0, WordCounts::kLongestWord))
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

const std::pair<const std::string, WordCounts::Count>& WordCounts::add(
    const gcode::Command& command, std::uint64_t line) {
  Word buffer;
  write_word(command, buffer);
  std::string_view word(buffer.data(), buffer.size());
  auto known = words_.find(word);
  if (known == words_.end()) {
    if (words_.size() >= kMostWords)
      word = kOther;
    known = words_.try_emplace(std::string(word), Count{0, line}).first;
  }
  ++known->second.count;
  ++total_;
  return *known;
}

}  // namespace platetally::interpreter
