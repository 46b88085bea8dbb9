// Runs G-code text through the interpreter and shows what came out, one short line a record.
#pragma once

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "reading/gcode/grammar.hpp"
#include "reading/interpreter/interpreter.hpp"
#include "reading/interpreter/plate_reader.hpp"

namespace platetally::interpreter::test {

class Collect : public RowSink {
 public:
  void take(const Rows& rows) override {
    largest_run = std::max(largest_run, rows.size);
    EXPECT_EQ(rows.run.is_level,
              std::all_of(rows.to_z_mm, rows.to_z_mm + rows.size,
                          [&rows](double z_mm) { return z_mm == rows.run.from_mm[2]; }));
    for (std::size_t i = 0; i < rows.size; ++i)
      records.push_back(rows.record(i));
  }
  void take(const Record& event) override { records.push_back(event); }
  std::vector<Record> records;
  std::size_t largest_run = 0;
};

struct Run {
  std::vector<Record> records;
  std::vector<Diagnostic> diagnostics;
  std::vector<UnaccountedWord> unaccounted;
  std::vector<double> heights_mm;
  std::uint64_t tool_selects = 0;
  std::size_t largest_run = 0;
  std::vector<LimitWord> read_by_key;

  const Diagnostic* find(std::string_view code) const {
    for (const Diagnostic& diagnostic : diagnostics)
      if (diagnostic.code == code)
        return &diagnostic;
    return nullptr;
  }
  std::vector<Record> moves() const {
    std::vector<Record> moves;
    for (const Record& record : records)
      if (record.kind == RecordKind::move)
        moves.push_back(record);
    return moves;
  }
};

/// `tools` tools, absolute E unless said otherwise, a bed of 250 mm.
inline Machine machine(std::size_t tools = 2) {
  Machine machine;
  machine.tools.assign(tools, Tool{});
  machine.dialect.initial_extrusion = ExtrusionMode::absolute;
  return machine;
}

inline Run finish(Interpreter& interpreter, Collect& sink) {
  interpreter.finish();
  return {std::move(sink.records),    interpreter.diagnostics().entries(),
          interpreter.unaccounted(),  interpreter.layer_heights_mm(),
          interpreter.tool_selects(), sink.largest_run,
          interpreter.read_by_key()};
}

/// Every line by itself, as what it is.
inline Run run_line_by_line(std::string_view text, const Machine& machine) {
  Collect sink;
  Interpreter interpreter(machine, sink);
  gcode::Line line;
  for (std::uint64_t number = 1; !text.empty(); ++number) {
    const std::size_t end = text.find('\n');
    const std::string_view one = text.substr(0, end);
    gcode::parse_line(one, line);
    interpreter.take(line, one, number);
    text = end == std::string_view::npos ? std::string_view() : text.substr(end + 1);
  }
  return finish(interpreter, sink);
}

/// As a plate is read, plain moves many at once; `text` ends with a line end, and far enough behind
/// its last move.
inline Run run_fed(std::string_view text, const Machine& machine) {
  Collect sink;
  Interpreter interpreter(machine, sink);
  PlateReader feed(interpreter);
  feed.take(text);
  return finish(interpreter, sink);
}

inline void expect_same_bits(const Record& a, const Record& b) {
  ASSERT_EQ(a.kind, b.kind);
  EXPECT_EQ(a.flags, b.flags);
  EXPECT_EQ(a.tool, b.tool);
  EXPECT_EQ(a.layer, b.layer);
  EXPECT_EQ(a.line, b.line);
  if (a.kind != RecordKind::move)
    return;
  const auto numbers = [](const Move& move) {
    return std::array{move.from_mm[0], move.from_mm[1], move.from_mm[2],
                      move.to_mm[0],   move.to_mm[1],   move.to_mm[2],
                      move.e_mm,       move.feed_mm_s,  move.sweep_rad};
  };
  EXPECT_EQ(numbers(a.move), numbers(b.move));
  EXPECT_EQ(a.move.plane, b.move.plane);
}

/// Both ways, which must say the same.
inline Run run(std::string_view text, const Machine& machine) {
  std::string more(text);
  more += more.ends_with('\n') ? "" : "\n";
  more += std::string(80, ';') + "\n";
  const Run slow = run_line_by_line(more, machine);
  const Run fast = run_fed(more, machine);
  EXPECT_EQ(fast.records.size(), slow.records.size());
  for (std::size_t i = 0; i < std::min(fast.records.size(), slow.records.size()); ++i)
    expect_same_bits(fast.records[i], slow.records[i]);
  EXPECT_EQ(fast.heights_mm, slow.heights_mm);
  EXPECT_EQ(fast.tool_selects, slow.tool_selects);
  EXPECT_EQ(fast.diagnostics.size(), slow.diagnostics.size());
  for (std::size_t i = 0; i < std::min(fast.diagnostics.size(), slow.diagnostics.size()); ++i) {
    EXPECT_EQ(fast.diagnostics[i].code, slow.diagnostics[i].code);
    EXPECT_EQ(fast.diagnostics[i].message, slow.diagnostics[i].message);
    EXPECT_EQ(fast.diagnostics[i].line, slow.diagnostics[i].line);
    EXPECT_EQ(fast.diagnostics[i].count, slow.diagnostics[i].count);
  }
  EXPECT_EQ(fast.unaccounted.size(), slow.unaccounted.size());
  EXPECT_EQ(fast.read_by_key.size(), slow.read_by_key.size());
  return run_line_by_line(text, machine);
}

inline std::string numbers(const double* values, std::size_t count) {
  std::string text;
  for (std::size_t i = 0; i < count; ++i)
    text += fmt::format("{}{:.6g}", i == 0 ? "" : ",", values[i] + 0.0);
  return text;
}

inline std::string show_move(const Record& record) {
  const Move& move = record.move;
  std::string text = fmt::format("L{} T{} {} -> {}", record.layer, record.tool,
                                 numbers(move.from_mm.data(), 3), numbers(move.to_mm.data(), 3));
  if (move.e_mm != 0.0)
    text += fmt::format(" e{:.6g}", move.e_mm);
  text += fmt::format(" f{:.6g}", move.feed_mm_s);
  if (move.is_arc())
    text += fmt::format(" about {} by {:.6g}", numbers(move.centre_mm.data(), 2), move.sweep_rad);
  if (record.flags & kMarkedPurge)
    text += " purge";
  if (record.flags & kRapid)
    text += " rapid";
  if (record.flags & kExtruderOn)
    text += " on";
  if (record.flags & kFeedIsPerMove)
    text += " per-move";
  return text;
}

inline std::string show(const Record& record) {
  static constexpr const char* kHeaters[] = {"bed", "enclosure", "head"};
  static constexpr const char* kLimits[] = {
      "axis_speed",           "axis_acceleration",    "print_acceleration", "travel_acceleration",
      "retract_acceleration", "junction_deviation",   "corner_step",        "minimum_print_feed",
      "minimum_travel_feed",  "minimum_segment_time", "path_acceleration",  "corner_speed",
      "cruise_share",         "braking_acceleration"};
  if (record.kind == RecordKind::move)
    return show_move(record);
  const Event& event = record.event;
  const std::string heater = event.heater == Heater::head
                                 ? fmt::format("head{}", event.tool)
                                 : kHeaters[static_cast<std::size_t>(event.heater)];
  switch (record.kind) {
    case RecordKind::dwell:
      return fmt::format("dwell {:.6g}", event.value);
    case RecordKind::set_heater:
      return fmt::format("set {} {:.6g}", heater, event.value);
    case RecordKind::wait_heater:
      return fmt::format("wait {}{}", heater, event.wait_cooling ? " cooling" : "");
    case RecordKind::set_fan:
      return fmt::format("fan{} {:.4g}", event.tool, event.value);
    case RecordKind::select_tool:
      return fmt::format("select {}", event.tool);
    case RecordKind::firmware_retract:
      return "retract";
    case RecordKind::firmware_return:
      return "return";
    case RecordKind::set_limits:
      return fmt::format("limit {} {}", kLimits[static_cast<std::size_t>(event.limit)],
                         numbers(event.values.data(), event.values.size()));
    case RecordKind::pause:
      return "pause";
    case RecordKind::home:
      return "home";
    case RecordKind::probe:
      return "probe";
    case RecordKind::takes_seconds:
      return fmt::format("takes {:.6g}", event.value);
    case RecordKind::motors:
      return fmt::format("motors {:.6g}", event.value);
    case RecordKind::object:
      return fmt::format("object {}", event.tool);
    case RecordKind::end_of_plate:
      return "end";
    case RecordKind::move:
      break;
  }
  return "?";
}

/// All records, one a line, without the last (end_of_plate); then diagnostics as "! code
/// line:column xCOUNT" (the count from 2 on), "? word" of what nothing explains and "= word" of
/// what was read by its keys.
inline std::string dump(const Run& run) {
  std::string text;
  for (std::size_t i = 0; i + 1 < run.records.size(); ++i)
    text += show(run.records[i]) + "\n";
  const auto times = [](std::uint64_t count) {
    return count > 1 ? fmt::format(" x{}", count) : std::string();
  };
  for (const Diagnostic& diagnostic : run.diagnostics)
    if (diagnostic.code != "no-motion")
      text += fmt::format("! {} {}:{}{}\n", diagnostic.code, diagnostic.line, diagnostic.column,
                          times(diagnostic.count));
  for (const UnaccountedWord& word : run.unaccounted)
    text += fmt::format("? {}{}\n", word.word, times(word.count));
  for (const LimitWord& word : run.read_by_key)
    text += fmt::format("= {}{}\n", word.word, times(word.count));
  return text;
}

/// A text, and what dump() makes of it.
struct Case {
  const char* name;
  const char* text;
  const char* expected;
};

inline void expect_all(std::span<const Case> cases, const Machine& machine) {
  for (const Case& one : cases) {
    SCOPED_TRACE(one.name);
    EXPECT_EQ(dump(test::run(one.text, machine)), one.expected) << one.text;
  }
}

}  // namespace platetally::interpreter::test
