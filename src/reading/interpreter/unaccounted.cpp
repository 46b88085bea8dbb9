#include "reading/interpreter/unaccounted.hpp"

#include <algorithm>

#include "reading/dialect/parameters.hpp"
#include "reading/dialect/text.hpp"
#include "reading/interpreter/word_meaning.hpp"

namespace platetally::interpreter {

namespace {

constexpr std::size_t kMostKeys = 16;
constexpr std::size_t kLongestKey = 32;
constexpr std::uint64_t kLookedAt = 64;  // occurrences of a word whose keys are gathered

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
  dialect::for_each_argument(command.text,
                             [&](std::string_view key, const dialect::Parameter& parameter) {
                               if (!key.empty() && parameter.is_number)
                                 gather(key, parameter.value, keys);
                             });
}

}  // namespace

void Unaccounted::add(const gcode::Command& command, std::uint64_t line, bool before_first_layer) {
  const auto& [word, counted] = words_.add(command, line);
  if (counted.count > kLookedAt || command.kind == gcode::CommandKind::motionless ||
      word == WordCounts::kOther)
    return;
  Evidence& evidence = evidence_[word];
  evidence.before_first_layer = evidence.before_first_layer || before_first_layer;
  gather_keys(command, evidence.keys);
}

std::vector<UnaccountedWord> Unaccounted::list(bool heats_nozzle) const {
  std::vector<UnaccountedWord> list;
  for (const auto& [word, counted] : words_.by_word()) {
    const auto evidence = evidence_.find(word);
    const WordMeaning meaning = evidence == evidence_.end()
                                    ? WordMeaning()
                                    : guess_meaning(word, evidence->second, heats_nozzle);
    list.push_back({word, counted.count, counted.first_line, meaning.why, meaning.row});
  }
  std::stable_sort(list.begin(), list.end(), [](const auto& a, const auto& b) {
    return a.why.empty() != b.why.empty() ? !a.why.empty() : a.count > b.count;
  });
  return list;
}

}  // namespace platetally::interpreter
