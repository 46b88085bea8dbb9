// planner_bench [FILE ...]: nanoseconds a move: look-ahead with profiles alone, and the whole
// planner, for typical and adversarial plates and for any window; the whole planner on the plates
// in the files, too, on two machines. Figures belong into docs/performance.md.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <random>
#include <string>
#include <vector>

#include "motion/planning/planner.hpp"
#include "platetally/machine.hpp"
#include "reading/interpreter/interpreter.hpp"
#include "reading/interpreter/plate_reader.hpp"
#include "reading/interpreter/row_buffer.hpp"
#include "reading/interpreter/row_queue.hpp"
#include "reading/source/block_reader.hpp"
#include "reading/source/open.hpp"

namespace {

using namespace platetally;
using interpreter::Record;
using interpreter::RecordKind;

constexpr std::size_t kMoves = 200000;

/// Looks at the last time of each call: adding all up would cost as much as a part of the planner.
struct Discard : interpreter::RowSink {
  double last_s = 0.0;
  void take(const interpreter::Rows& rows) override { last_s += rows.motion_s[rows.size - 1]; }
  void take(const interpreter::Record& event) override { last_s += event.motion_s; }
};

Record line(std::array<double, 3> from, std::array<double, 3> to, double e_mm, double feed_mm_s) {
  Record record{};
  record.kind = RecordKind::move;
  record.move = {};
  record.move.from_mm = from;
  record.move.to_mm = to;
  record.move.e_mm = e_mm;
  record.move.feed_mm_s = feed_mm_s;
  return record;
}

/// Walls, infill and travels: lengths of 0.2 to 30 mm, mostly gentle turns, some sharp, a
/// retraction now and then.
std::vector<Record> typical_plate() {
  std::mt19937_64 random(1);
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  std::vector<Record> records;
  std::array<double, 3> at{100.0, 100.0, 0.2};
  double heading = 0.0;
  while (records.size() < kMoves) {
    const double kind = uniform(0.0, 1.0);
    if (kind < 0.02) {
      records.push_back(line(at, at, kind < 0.01 ? 0.8 : -0.8, 35.0));
      continue;
    }
    heading += kind < 0.8 ? uniform(-0.2, 0.2) : uniform(-3.1, 3.1);
    const double length = std::pow(10.0, uniform(-0.7, 1.5));
    const std::array<double, 3> to{at[0] + length * std::cos(heading),
                                   at[1] + length * std::sin(heading), at[2]};
    records.push_back(line(at, to, kind < 0.9 ? 0.035 * length : 0.0, kind < 0.9 ? 120.0 : 250.0));
    at = to;
  }
  return records;
}

/// Collinear moves at 300 mm/s and 500 mm/s2: nothing but look-ahead. Braking takes 90 mm: 3000
/// moves of 0.03 mm, 30000 of 0.003 mm.
std::vector<Record> short_moves(double length_mm) {
  std::vector<Record> records;
  for (std::size_t i = 0; i < kMoves; ++i) {
    const double x = length_mm * static_cast<double>(i);
    records.push_back(line({x, 0.0, 0.2}, {x + length_mm, 0.0, 0.2}, 0.04 * length_mm, 300.0));
  }
  return records;
}

std::vector<Record> reversals() {
  std::vector<Record> records;
  for (std::size_t i = 0; i < kMoves; ++i) {
    const double x = i % 2 == 0 ? 0.0 : 1.0;
    records.push_back(line({x, 0.0, 0.2}, {1.0 - x, 0.0, 0.2}, 0.03, i % 3 == 0 ? 20.0 : 300.0));
  }
  return records;
}

/// Quarter arcs, back and forth.
std::vector<Record> arcs() {
  std::vector<Record> records;
  for (std::size_t i = 0; i < kMoves; ++i) {
    const bool there = i % 2 == 0;
    Record record = there ? line({5.0, 0.0, 0.2}, {0.0, 5.0, 0.2}, 0.3, 120.0)
                          : line({0.0, 5.0, 0.2}, {5.0, 0.0, 0.2}, 0.3, 120.0);
    record.move.sweep_rad = there ? 1.5707963267948966 : -1.5707963267948966;
    records.push_back(record);
  }
  return records;
}

/// An arc after every six strokes on average.
std::vector<Record> strokes_and_arcs() {
  std::mt19937_64 random(2);
  std::vector<Record> records;
  double x = 0.0;
  for (std::size_t i = 0; i < kMoves; ++i) {
    const double to = x + 0.5 + 0.001 * static_cast<double>(random() % 1000);
    Record record = line({x, 0.0, 0.2}, {to, 0.0, 0.2}, 0.03, 120.0);
    if (random() % 7 == 0) {
      record.move.centre_mm = {0.5 * (x + to), 0.0};
      record.move.sweep_rad = 3.1415926535897931;
    }
    records.push_back(record);
    x = to;
  }
  return records;
}

/// The plate as the interpreter gives it: in runs.
interpreter::RowQueue pack(const std::vector<Record>& records) {
  struct IntoQueue : interpreter::RowSink {
    void take(const interpreter::Rows& rows) override { queue.append(rows); }
    void take(const Record& event) override { queue.append(event); }
    interpreter::RowQueue queue;
  } packed;
  interpreter::RowBuffer out(packed);
  std::uint64_t line = 0;
  for (const Record& record : records) {
    const interpreter::Move& move = record.move;
    interpreter::Run run;
    run.first_line = ++line;
    run.kind = move.is_arc()
                   ? interpreter::RunKind::arc
                   : interpreter::kind_of(move.from_mm, move.to_mm, move.e_mm, record.flags);
    run.from_mm = move.from_mm;
    run.centre_mm = move.centre_mm;
    run.sweep_rad = move.sweep_rad;
    out.push(run, move.to_mm, move.e_mm, move.feed_mm_s, true);
  }
  out.flush();
  return std::move(packed.queue);
}

enum Plate : int { kTypical, kShort, kReversals, kFarSighted, kArcs, kStrokesAndArcs };

const std::vector<Record>& plate(int which) {
  static const std::vector<std::vector<Record>> plates{typical_plate(), short_moves(0.03),
                                                       reversals(),     short_moves(0.003),
                                                       arcs(),          strokes_and_arcs()};
  return plates[static_cast<std::size_t>(which)];
}

MotionLimits limits_for(int which) {
  MotionLimits limits;
  if (which == kShort || which == kFarSighted)
    limits.print_acceleration_mm_s2 = 500.0;
  return limits;
}

void report_ns_a_move(benchmark::State& state, std::size_t moves = kMoves) {
  // A rate of moves * 1e-9 a second, inverted: nanoseconds a move.
  state.counters["ns_a_move"] = benchmark::Counter(
      static_cast<double>(moves) * 1e-9,
      benchmark::Counter::kIsIterationInvariantRate | benchmark::Counter::kInvert);
}

void whole_planner(benchmark::State& state) {
  const auto which = static_cast<int>(state.range(0));
  const interpreter::RowQueue rows = pack(plate(which));
  Machine machine;
  machine.motion = limits_for(which);
  machine.motion.look_ahead_moves = static_cast<int>(state.range(1));
  for (auto _ : state) {
    Discard sink;
    motion::Planner planner(machine, sink);
    rows.give_all(planner);
    planner.finish();
    benchmark::DoNotOptimize(sink.last_s);
  }
  report_ns_a_move(state);
}

/// As the interpreter gives it.
struct IntoQueue : interpreter::RowSink {
  void take(const interpreter::Rows& more) override {
    moves += more.size;
    ++runs;
    rows.append(more);
  }
  void take(const Record& event) override { rows.append(event); }
  interpreter::RowQueue rows;
  std::size_t moves = 0;
  std::size_t runs = 0;
};

void plate_of_file(benchmark::State& state, const std::string& path, const char* machine_name) {
  const Machine machine = load_machine(machine_name).machine();
  IntoQueue packed;
  interpreter::Interpreter interpreter(machine, packed);
  interpreter::PlateReader feed(interpreter);
  const auto plates = source::open_path(path);
  const auto bytes = plates->next();
  source::BlockReader blocks(*bytes);
  source::Block block;
  while (blocks.next(block))
    feed.take(block.text);
  interpreter.finish();
  for (auto _ : state) {
    Discard sink;
    motion::Planner planner(machine, sink);
    packed.rows.give_all(planner);
    planner.finish();
    benchmark::DoNotOptimize(sink.last_s);
  }
  state.counters["moves"] = static_cast<double>(packed.moves);
  state.counters["moves_a_run"] = static_cast<double>(packed.moves) /
                                  static_cast<double>(std::max<std::size_t>(1, packed.runs));
  report_ns_a_move(state, packed.moves);
}

void look_ahead_and_profiles(benchmark::State& state) {
  const auto which = static_cast<int>(state.range(0));
  const motion::Limits limits(limits_for(which));
  // As the planner has them: in columns, and a block at a time.
  std::vector<double> squares, top_squares, two_accels, caps;
  motion::Direction before{};
  double speed_before = 0.0;
  for (const Record& record : plate(which)) {
    const motion::Path path = motion::straight_path(record.move);
    const motion::Pace pace = limits.line_pace(path, record.move.feed_mm_s, motion::Use::print);
    const double slower = std::min(speed_before, pace.speed_mm_s);
    caps.push_back(std::min(slower * slower,
                            limits.corner_square({before, path.entry}, pace.acceleration_mm_s2)));
    const double two_accel = 2.0 * pace.acceleration_mm_s2;
    squares.push_back(two_accel * path.length_mm);
    top_squares.push_back(pace.speed_mm_s * pace.speed_mm_s);
    two_accels.push_back(two_accel);
    before = path.exit;
    speed_before = pace.speed_mm_s;
  }
  for (auto _ : state) {
    motion::LookAhead look_ahead(static_cast<std::size_t>(state.range(1)));
    double total_s = 0.0;
    std::size_t done = 0;
    std::vector<double> seconds(kMoves);
    std::vector<double> junctions_mm_s(kMoves + 1);
    const auto settle = [&](motion::LookAhead::End end) {
      const std::size_t settled = look_ahead.settle(end, [&](std::size_t first, std::size_t last) {
        motion::find_times({last - first, &squares[done + first], &top_squares[done + first],
                            &two_accels[done + first], look_ahead.squares() + first},
                           junctions_mm_s.data(), seconds.data() + first);
      });
      total_s = std::accumulate(seconds.begin(),
                                seconds.begin() + static_cast<std::ptrdiff_t>(settled), total_s);
      done += settled;
      look_ahead.drop(settled);
    };
    for (std::size_t i = 0; i < caps.size(); i += motion::MoveBlock::kMoves) {
      const std::size_t count = std::min(motion::MoveBlock::kMoves, caps.size() - i);
      const motion::LookAhead::Room room = look_ahead.room_for(count);
      std::copy_n(&caps[i], count, room.entry_caps);
      std::copy_n(&squares[i], count, room.reaches);
      look_ahead.add(count);
      if (look_ahead.due())
        settle(motion::LookAhead::End::open);
    }
    settle(motion::LookAhead::End::stop);
    benchmark::DoNotOptimize(total_s);
  }
  report_ns_a_move(state);
}

const std::vector<std::int64_t> kWindows{0, 1, 16, 256, 2000, 30000, 100000};

BENCHMARK(look_ahead_and_profiles)
    ->ArgNames({"plate", "window"})
    ->ArgsProduct({{kTypical, kShort, kReversals, kFarSighted}, kWindows})
    ->Unit(benchmark::kMillisecond);
BENCHMARK(whole_planner)
    ->ArgNames({"plate", "window"})
    ->ArgsProduct({{kTypical, kShort, kReversals, kFarSighted, kArcs, kStrokesAndArcs}, kWindows})
    ->Unit(benchmark::kMillisecond);

}  // namespace

int main(int argc, char** argv) {
  benchmark::Initialize(&argc, argv);
  for (int i = 1; i < argc; ++i)
    for (const char* machine : {"changer-5", "switcher-4"}) {
      const std::string path = argv[i];
      benchmark::RegisterBenchmark(
          ("plate_of_file/" + path + "/" + machine).c_str(),
          [path, machine](benchmark::State& state) { plate_of_file(state, path, machine); })
          ->Unit(benchmark::kMillisecond);
    }
  benchmark::RunSpecifiedBenchmarks();
  return 0;
}
