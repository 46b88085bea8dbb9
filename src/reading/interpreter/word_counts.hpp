// Counts command words.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <utility>

#include "reading/gcode/words.hpp"

namespace platetally::interpreter {

/// Words as a person would write them: "M7401.3", "WARM_UP", or the letters of a line without a
/// command. At most kMostWords different ones; what is beyond is counted together as kOther.
class WordCounts {
 public:
  static constexpr std::size_t kMostWords = 1000;
  static constexpr std::size_t kLongestWord = 64;
  static constexpr const char* kOther = "other";  // no word has small letters

  struct Count {
    std::uint64_t count = 0, first_line = 0;
  };

  /// Counts the command's word; returns it with its count.
  const std::pair<const std::string, Count>& add(const gcode::Command& command, std::uint64_t line);

  std::uint64_t total() const { return total_; }
  const std::map<std::string, Count, std::less<>>& by_word() const { return words_; }

 private:
  std::map<std::string, Count, std::less<>> words_;
  std::uint64_t total_ = 0;
};

}  // namespace platetally::interpreter
