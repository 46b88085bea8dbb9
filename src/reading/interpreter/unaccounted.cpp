#include "reading/interpreter/unaccounted.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "reading/dialect/parameters.hpp"
#include "reading/dialect/text.hpp"
#include "reading/interpreter/word_meaning.hpp"

namespace platetally::interpreter {

namespace {

constexpr std::size_t kMostKeys = 16;
constexpr std::size_t kLongestKey = 32;
constexpr std::uint64_t kLookedAt = 64;  // occurrences of a word whose keys are gathered

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

void gather(std::string_view name, double value, std::vector<Unaccounted::Key>& keys) {
  const auto known = std::find_if(keys.begin(), keys.end(), [name](const Unaccounted::Key& key) {
    return dialect::equal_without_case(key.name, name);
  });
  if (known != keys.end()) {
    known->low = std::min(known->low, value);
    known->high = std::max(known->high, value);
  } else if (keys.size() < kMostKeys && name.size() <= kLongestKey) {
    keys.push_back({std::string(name), value, value});
  }
}

void gather_keys(const gcode::Command& command, std::vector<Unaccounted::Key>& keys) {
  if (command.kind != gcode::CommandKind::named)
    for (char letter = 'A'; letter <= 'Z'; ++letter)
      if (command.words.has(letter))
        gather({&letter, 1}, command.words[letter], keys);
  dialect::show_parameters(command.text,
                           [&](std::string_view key, const dialect::Parameter& parameter) {
                             if (parameter.is_number)
                               gather(key, parameter.value, keys);
                           });
}

}  // namespace

void Unaccounted::add(const gcode::Command& command, std::uint64_t line, bool before_first_layer) {
  Word buffer;
  write_word(command, buffer);
  std::string_view word(buffer.data(), buffer.size());
  ++count_;
  auto known = words_.find(word);
  if (known == words_.end()) {
    if (words_.size() >= kMostWords)
      word = "other";
    known = words_.try_emplace(std::string(word), Tally{0, line, false, {}}).first;
  }
  Tally& tally = known->second;
  if (++tally.count > kLookedAt || command.kind == gcode::CommandKind::motionless ||
      word == "other")
    return;
  tally.before_first_layer = tally.before_first_layer || before_first_layer;
  gather_keys(command, tally.keys);
}

std::vector<UnaccountedWord> Unaccounted::list(bool heats_nozzle) const {
  std::vector<UnaccountedWord> list;
  for (const auto& [word, tally] : words_) {
    const WordMeaning meaning = guess_meaning(word, tally, heats_nozzle);
    list.push_back({word, tally.count, tally.first_line, meaning.why, meaning.row});
  }
  std::stable_sort(list.begin(), list.end(), [](const auto& a, const auto& b) {
    return a.why.empty() != b.why.empty() ? !a.why.empty() : a.count > b.count;
  });
  return list;
}

}  // namespace platetally::interpreter
