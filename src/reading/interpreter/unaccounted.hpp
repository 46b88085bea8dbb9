// Counts the command words that no row knows, and gathers what says that they may matter.
//
// A word may matter where it carries values that look like filament, speeds, temperatures or a
// tool's number, by the names of its keys or, for temperatures, by their size; and where it stands
// before the first layer of a plate that heats no nozzle: then a start macro does it.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "platetally/unaccounted.hpp"
#include "reading/gcode/words.hpp"
#include "reading/interpreter/word_counts.hpp"

namespace platetally::interpreter {

class Unaccounted {
 public:
  void add(const gcode::Command& command, std::uint64_t line, bool before_first_layer);
  std::uint64_t count() const { return words_.total(); }
  /// Those that may matter first, then most frequent first, then by word. `heats_nozzle`: the plate
  /// does, by words that are known.
  std::vector<UnaccountedWord> list(bool heats_nozzle) const;

  /// A key with a number, as it was met.
  struct Key {
    std::string name;
    double low = 0.0, high = 0.0;
  };
  /// Of a word's first occurrences.
  struct Evidence {
    bool before_first_layer = false;  ///< at least once
    std::vector<Key> keys;
  };

 private:
  WordCounts words_;
  std::map<std::string, Evidence, std::less<>> evidence_;
};

}  // namespace platetally::interpreter
