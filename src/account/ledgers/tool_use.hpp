// When each tool is hot and when it lays: for heat that nobody uses.
#pragma once

#include <algorithm>
#include <cstddef>
#include <vector>

#include "motion/timeline/durations.hpp"
#include "reading/interpreter/record.hpp"

namespace platetally::ledgers {

/// Seconds since the start, heat waits left out; negative: never.
struct ToolUse {
  double first_hot_s = -1.0;
  double first_laid_s = -1.0;
  double last_laid_s = -1.0;
  double off_s = -1.0;  ///< its heater went off for good; the end of the plate if it never did
};

class ToolUseLedger {
 public:
  explicit ToolUseLedger(std::size_t tools) : uses_(tools), hot_(tools, false) {}

  void add(const interpreter::Record& record, const timeline::Duration& duration) {
    if (record.kind == interpreter::RecordKind::set_heater &&
        record.event.heater == interpreter::Heater::head)
      set(record.event.tool, record.event.value > kHotC);
    add_seconds(record, duration.time_s.expected);
  }

  /// The same for a move that takes its motion and nothing else.
  void add_move(const interpreter::Record& record) { add_seconds(record, record.motion_s); }

  /// Strokes of a tool that has laid before.
  void add_strokes(std::size_t tool, double seconds) {
    now_s_ += seconds;
    uses_[tool].last_laid_s = now_s_;
  }

  /// Heaters that are still on count to the end.
  std::vector<ToolUse> uses() const {
    std::vector<ToolUse> uses = uses_;
    for (std::size_t tool = 0; tool < uses.size(); ++tool)
      if (hot_[tool])
        uses[tool].off_s = now_s_;
    return uses;
  }

 private:
  static constexpr double kHotC = 50.0;

  void add_seconds(const interpreter::Record& record, double seconds) {
    now_s_ += seconds;
    if (record.tool < 0 || !interpreter::lays_material(record))
      return;
    ToolUse& use = uses_[static_cast<std::size_t>(record.tool)];
    if (use.first_laid_s < 0.0)
      use.first_laid_s = now_s_;
    use.last_laid_s = now_s_;
  }

  void set(int tool, bool hot) {
    if (tool < 0 || static_cast<std::size_t>(tool) >= uses_.size())
      return;
    const auto index = static_cast<std::size_t>(tool);
    if (hot && uses_[index].first_hot_s < 0.0)
      uses_[index].first_hot_s = now_s_;
    if (!hot && hot_[index])
      uses_[index].off_s = now_s_;
    hot_[index] = hot;
  }

  std::vector<ToolUse> uses_;
  std::vector<bool> hot_;
  double now_s_ = 0.0;
};

}  // namespace platetally::ledgers
