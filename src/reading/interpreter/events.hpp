// Events of the line in hand, with what all of them share.
#pragma once

#include "reading/interpreter/remarks.hpp"
#include "reading/interpreter/row_buffer.hpp"
#include "reading/interpreter/tool_in_hand.hpp"

namespace platetally::interpreter {

class Events {
 public:
  /// All must outlive it.
  Events(RowBuffer& out, const Remarks& remarks, const ToolInHand& hand)
      : out_(out), remarks_(remarks), hand_(hand) {}

  /// RecordFlags of what comes next.
  std::uint8_t flags() const { return flags_; }
  void set_flags(int flags) { flags_ = static_cast<std::uint8_t>(flags); }

  /// One to be filled in and pushed.
  Record make(RecordKind kind) const {
    Record record;
    record.kind = kind;
    record.flags = flags_;
    record.tool = static_cast<std::int16_t>(hand_.in_hand());
    record.layer = 0;  // as the buffer says
    record.line = remarks_.place.line;
    record.motion_s = 0.0;
    record.event = {};
    return record;
  }
  void push(const Record& record) { out_.push(record); }
  void push(RecordKind kind, double value = 0.0) {
    Record record = make(kind);
    record.event.value = value;
    out_.push(record);
  }

 private:
  RowBuffer& out_;
  const Remarks& remarks_;
  const ToolInHand& hand_;
  std::uint8_t flags_ = 0;
};

}  // namespace platetally::interpreter
