// A slip of the finger is a letter or two off: then the nearest key is meant. Else the words of the
// key are put into the words that keys here use (velocity is speed), and the key whose name has
// most of them is meant, its meaning counting half; among equals the nearest.
#include "machine/description/suggest.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <utility>

#include "base/letters.hpp"
#include "base/nearest.hpp"

namespace platetally::machine {

namespace {

constexpr std::size_t kSlips = 2;

using Pair = std::pair<std::string_view, std::string_view>;

/// Other words of the trade for what keys here are called; empty: says nothing of the meaning.
constexpr std::array kWords{Pair{"accel", "acceleration"},
                            Pair{"acc", "acceleration"},
                            Pair{"velocity", "speed"},
                            Pair{"vel", "speed"},
                            Pair{"feedrate", "speed"},
                            Pair{"jerk", "step"},
                            Pair{"jump", "step"},
                            Pair{"ratio", "share"},
                            Pair{"fraction", "share"},
                            Pair{"decel", "cruise"},
                            Pair{"deceleration", "cruise"},
                            Pair{"lookahead", "look"},
                            Pair{"printing", "print"},
                            Pair{"extruder", "e"},
                            Pair{"retraction", "retract"},
                            Pair{"time", "s"},
                            Pair{"seconds", "s"},
                            Pair{"temperature", "c"},
                            Pair{"temp", "c"},
                            Pair{"watts", "w"},
                            Pair{"max", ""},
                            Pair{"maximum", ""},
                            Pair{"highest", ""},
                            Pair{"min", ""},
                            Pair{"minimum", ""},
                            Pair{"limit", ""},
                            Pair{"square", ""},
                            Pair{"to", ""},
                            Pair{"mm", ""},
                            Pair{"s2", ""}};

/// In lower case, cut at whatever is neither letter nor digit.
std::vector<std::string> words_of(const std::string& text) {
  std::vector<std::string> words;
  std::string word;
  for (const char c : text + " ") {
    if (base::is_letter(c) || base::is_digit(c)) {
      word += base::lower(c);
      continue;
    }
    const auto known =
        std::ranges::find_if(kWords, [&](const Pair& pair) { return pair.first == word; });
    if (known != kWords.end())
      word = known->second;
    if (!word.empty())
      words.push_back(word);
    word.clear();
  }
  return words;
}

bool holds(const std::vector<std::string>& words, const std::string& word) {
  return std::ranges::find(words, word) != words.end();
}

int closeness(const std::vector<std::string>& asked, const Key& key) {
  const std::vector<std::string> name = words_of(key.name);
  const std::vector<std::string> meaning = words_of(key.meaning);
  int score = 0;
  for (const std::string& word : asked)
    score += holds(name, word) ? 2 : holds(meaning, word) ? 1 : 0;
  return score;
}

}  // namespace

std::string suggested(const std::string& word, const std::string& table,
                      const std::vector<Key>& keys, const std::vector<std::string>& also) {
  std::vector<std::string> names = also;
  for (const Key& key : keys)
    if (key.table == table)
      names.push_back(key.name);
  const std::string close = base::nearest(word, names);
  const std::vector<std::string> asked = words_of(word);
  if (base::edits(word, close) <= kSlips)
    return fmt::format("'{}'", close);
  // One limit for all that moves is two here.
  if (table == "motion" && asked == std::vector<std::string>{"acceleration"})
    return "'print_acceleration_mm_s2' and 'travel_acceleration_mm_s2'";
  if (table == "motion" && asked == std::vector<std::string>{"speed"})
    return "'x_speed_mm_s' and 'y_speed_mm_s'";
  const Key* best = nullptr;
  int most = 0;
  for (const Key& key : keys) {
    if (key.table != table)
      continue;
    const int score = closeness(asked, key);
    if (score > most || (score == most && best != nullptr &&
                         base::edits(word, key.name) < base::edits(word, best->name))) {
      best = &key;
      most = score;
    }
  }
  if (best == nullptr)
    return fmt::format("'{}'", close);
  return best->meaning.empty() ? fmt::format("'{}'", best->name)
                               : fmt::format("'{}' ({})", best->name, best->meaning);
}

}  // namespace platetally::machine
