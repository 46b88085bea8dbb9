// Bytes as a plate: whatever they are, the records keep the laws that later stages rely on.
#include <algorithm>
#include <bit>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <string_view>

#include "reading/gcode/grammar.hpp"
#include "reading/interpreter/interpreter.hpp"
#include "reading/interpreter/layer_finder.hpp"
#include "reading/interpreter/plate_reader.hpp"

namespace {

using namespace platetally;
using interpreter::Record;
using interpreter::RecordKind;

void require(bool law) {
  if (!law)
    __builtin_trap();
}

class Laws : public interpreter::RowSink {
 public:
  explicit Laws(int tools) : tools_(tools) {}

  void take(const interpreter::Rows& rows) override {
    require(rows.size > 0 && rows.size <= interpreter::kMostRows);
    for (std::size_t i = 0; i < rows.size; ++i)
      take(rows.record(i));
  }
  void take(const Record& record) override {
    check(record);
    digest(record);
  }
  /// Of all records: the same where they are the same.
  std::uint64_t digest() const { return digest_; }
  void finish(const interpreter::Interpreter& interpreter) const {
    const auto& heights_mm = interpreter.layer_heights_mm();
    require(ended_ && most_layer_ < heights_mm.size());
    require(heights_mm.size() <= interpreter::kMostLayers + 1 && heights_mm.front() == 0.0);
    require(interpreter.unaccounted().size() <= 1001);
  }

 private:
  void digest(const Record& record) {
    const auto mix = [this](auto value) {
      digest_ = (digest_ ^ static_cast<std::uint64_t>(value)) * 0x100000001B3U;
    };
    mix(record.kind);
    mix(record.flags);
    mix(record.tool);
    mix(record.layer);
    mix(record.line);
    if (record.kind != RecordKind::move)
      return;
    for (const double number :
         {record.move.from_mm[0], record.move.from_mm[1], record.move.to_mm[0],
          record.move.to_mm[1], record.move.to_mm[2], record.move.e_mm, record.move.feed_mm_s})
      mix(std::bit_cast<std::uint64_t>(number));
  }
  void check(const Record& record) {
    require(!ended_);
    require(record.line >= line_);
    line_ = record.line;
    most_layer_ = std::max<std::size_t>(most_layer_, record.layer);
    require(record.tool >= -1 && record.tool < tools_);
    ended_ = record.kind == RecordKind::end_of_plate;
    if (record.kind == RecordKind::move)
      check_move(record);
    else
      check_event(record);
  }
  void check_move(const Record& record) const {
    const interpreter::Move& move = record.move;
    for (std::size_t axis = 0; axis < 3; ++axis)
      require(std::abs(move.from_mm[axis]) < 1e9 && std::abs(move.to_mm[axis]) < 1e9);
    require(std::isfinite(move.e_mm) && std::isfinite(move.feed_mm_s) && move.feed_mm_s >= 0.0);
    require(std::isfinite(move.sweep_rad) && std::isfinite(move.centre_mm[0]) &&
            std::isfinite(move.centre_mm[1]));
    require(move.e_mm == 0.0 || record.tool >= 0);
  }
  void check_event(const Record& record) const {
    require(std::isfinite(record.event.value));
    if (record.kind == RecordKind::select_tool)
      require(record.event.tool >= -1 && record.event.tool < tools_);
    if (record.kind == RecordKind::dwell || record.kind == RecordKind::takes_seconds)
      require(record.event.value >= 0.0);
  }

  const int tools_;
  bool ended_ = false;
  std::uint64_t digest_ = 0;
  std::uint64_t line_ = 0;
  std::size_t most_layer_ = 0;
};

Machine machine_with_words() {
  Machine machine;
  machine.tools.assign(3, Tool{});
  const auto row = [&](const char* word, DialectAction action, std::vector<DialectKey> keys = {}) {
    DialectRow made;
    made.word = word;
    made.action = action;
    made.keys = std::move(keys);
    machine.dialect.rows.push_back(made);
  };
  row("WHEN_", DialectAction::begin_condition);
  row("ELSE_", DialectAction::else_condition);
  row("END_", DialectAction::end_condition);
  row("HEAT_", DialectAction::wait_temperature,
      {{"BED", "bed_c"}, {"TIP", "head_c"}, {"TOOL", "tool"}});
  row("PACE_", DialectAction::set_limits, {{"SPEED", "print_speed_mm_s"}});
  row("M7403", DialectAction::takes_seconds, {{"S", "seconds"}});
  row("TAKE_", DialectAction::tool_change, {{"TOOL", "tool"}});
  machine.waste_areas.push_back({"bin", 200, 250, 200, 250});
  return machine;
}

/// The same without reading many at once.
std::uint64_t digest_line_by_line(std::string_view rest, const Machine& machine) {
  Laws laws(3);
  interpreter::Interpreter interpreter(machine, laws);
  gcode::Line line;
  std::uint64_t number = 0;
  while (!rest.empty()) {
    const std::size_t end = std::min(rest.find('\n'), rest.size());
    const std::string_view text = rest.substr(0, end);
    gcode::parse_line(text, line);
    interpreter.take(line, text, ++number);
    rest.remove_prefix(std::min(end + 1, rest.size()));
  }
  interpreter.finish();
  return laws.digest();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const Machine machine = machine_with_words();
  Laws laws(3);
  interpreter::Interpreter interpreter(machine, laws);
  interpreter::PlateReader feed(interpreter);
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  feed.take(text);
  interpreter.finish();
  require(laws.digest() == digest_line_by_line(text, machine));
  laws.finish(interpreter);
  return 0;
}
