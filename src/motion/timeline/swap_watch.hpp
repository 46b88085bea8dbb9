// Tells a swap from the other ways in which a tool is selected.
//
// A swap is a change from one tool to a different one after material has been laid. The first
// selection, a repeated one and parking are none; parking between two tools changes nothing.
#pragma once

#include "reading/interpreter/record.hpp"

namespace platetally::timeline {

enum class Selection : std::uint8_t {
  none,   ///< not a selection, parking, or the tool that was in hand before
  first,  ///< a tool is taken before any material has been laid
  swap,
};

struct Swap {
  Selection selection = Selection::none;
  int from = -1;
  int to = -1;
};

class SwapWatch {
 public:
  /// Looks at the next record in program order.
  Swap see(const interpreter::Record& record) {
    if (record.kind == interpreter::RecordKind::move) {
      if (interpreter::lays_material(record)) {
        laid_ = true;
        if (tool_ < 0)
          tool_ = record.tool;  // a plate that never selects prints with the tool in hand
      }
      return {};
    }
    if (record.kind != interpreter::RecordKind::select_tool || record.event.tool < 0 ||
        record.event.tool == tool_)
      return {};
    const Swap swap{laid_ && tool_ >= 0 ? Selection::swap : Selection::first, tool_,
                    record.event.tool};
    tool_ = record.event.tool;
    return swap;
  }

 private:
  int tool_ = -1;
  bool laid_ = false;
};

}  // namespace platetally::timeline
