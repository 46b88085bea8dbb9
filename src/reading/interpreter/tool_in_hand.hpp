// The tool that selections name: in hand, or parked while it still is the one that feeds.
#pragma once

#include <cstddef>
#include <cstdint>

#include "reading/gcode/words.hpp"
#include "reading/interpreter/remarks.hpp"

namespace platetally::interpreter {

class ToolInHand {
 public:
  static constexpr int kParked = -1;

  explicit ToolInHand(std::size_t tools) : tools_(tools) {}

  std::size_t count() const { return tools_; }
  bool has(double number) const { return number >= 0.0 && number < static_cast<double>(tools_); }

  /// kParked, or a tool; the first one until something is selected.
  int in_hand() const { return in_hand_; }
  bool is_parked() const { return in_hand_ == kParked; }
  /// The one that material is fed by, parked or not.
  int feeding() const { return feeding_; }

  /// The tool that a T word names, or the feeding one; kParked (said) where the machine has no such
  /// tool.
  int named_by(const gcode::Words& words, Remarks& remarks) const;

  /// Selecting it changes something: the first selection does in any case.
  bool is_news(int tool) const { return !selected_ || tool != in_hand_; }
  void select(int tool) {
    selected_ = true;
    in_hand_ = tool;
    if (tool != kParked)
      feeding_ = tool;
  }
  /// A line that selects a tool, the same one too.
  void count_select() { ++selects_; }
  std::uint64_t selects() const { return selects_; }

 private:
  std::size_t tools_;
  int in_hand_ = 0;
  int feeding_ = 0;
  bool selected_ = false;
  std::uint64_t selects_ = 0;
};

}  // namespace platetally::interpreter
