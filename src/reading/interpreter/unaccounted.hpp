// Counts the command words that no row knows.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "platetally/unaccounted.hpp"
#include "reading/gcode/words.hpp"

namespace platetally::interpreter {

/// At most kMostWords different words; what is beyond is counted together as "other".
class Unaccounted {
 public:
  static constexpr std::size_t kMostWords = 1000;
  static constexpr std::size_t kLongestWord = 64;

  void add(const gcode::Command& command, std::uint64_t line);
  std::uint64_t count() const { return count_; }
  /// Most frequent first, then by word.
  std::vector<UnaccountedWord> list() const;

 private:
  struct Tally {
    std::uint64_t count = 0, first_line = 0;
  };
  std::map<std::string, Tally, std::less<>> words_;
  std::uint64_t count_ = 0;
};

}  // namespace platetally::interpreter
