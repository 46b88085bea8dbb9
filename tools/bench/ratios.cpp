// ratios FILE [ROUNDS [MACHINE [DEPTH]]]: thread time of every depth of reading as a multiple of
// the floor's, on one plate. The depths take turns within a round, so that what else the machine
// does meets them alike; medians over the rounds. Depths:
//   floor     read the file in the reader's chunks, add up every word (floor.hpp)
//   tokenise  the same bytes read as lines: plain moves many at once, the others by the grammar
//   interpret tokenise, and what the words make of the machine: rows, counted
//   timeline  interpret, and plan the motion; what it takes more, by move, is the planner's
//   account   everything but findings, one thread
//   tally     everything, one thread
#include <fmt/format.h>
#include <sys/resource.h>
#include <time.h>

#include <algorithm>
#include <array>
#include <cstdlib>
#include <functional>
#include <string>
#include <vector>

#include "floor.hpp"
#include "motion/planning/planner.hpp"
#include "platetally/analyze.hpp"
#include "reading/gcode/grammar.hpp"
#include "reading/gcode/plain_moves.hpp"
#include "reading/interpreter/interpreter.hpp"
#include "reading/interpreter/plate_reader.hpp"
#include "reading/source/block_reader.hpp"
#include "reading/source/open.hpp"

namespace {

using namespace platetally;

double thread_s() {
  timespec now{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

double floor_of(const std::string& path) {
  const auto plates = source::open_path(path);
  const auto bytes = plates->next();
  std::vector<char> chunk(source::kChunkBytes);
  std::size_t kept = 0;
  bench::FloorSum sum;
  for (;;) {
    const std::size_t got = bytes->read({chunk.data() + kept, chunk.size() - kept});
    if (got == 0)
      break;
    const std::string_view text(chunk.data(), kept + got);
    const std::size_t whole = text.rfind('\n') + 1;
    bench::scan_floor(text.substr(0, whole), sum);
    kept = text.size() - whole;
    std::copy(chunk.begin() + static_cast<std::ptrdiff_t>(whole),
              chunk.begin() + static_cast<std::ptrdiff_t>(text.size()), chunk.begin());
  }
  return sum.values;
}

double tokenise(const std::string& path) {
  const auto plates = source::open_path(path);
  const auto bytes = plates->next();
  source::BlockReader blocks(*bytes);
  source::Block block;
  gcode::Line line;
  gcode::PlainMoves moves;
  double sum = 0.0;
  while (blocks.next(block)) {
    const char* at = block.text.data();
    const char* const end = at + block.text.size();
    while (at != end) {
      moves.read(at, end);
      for (std::size_t i = 0; i < moves.size(); ++i)
        sum += moves.value(i, gcode::PlainMoves::kX);
      if (moves.size() > 0) {
        at = moves.next(moves.size() - 1);
        continue;
      }
      at = gcode::parse_line(at, end, line);
      for (std::size_t i = 0; i < line.commands; ++i)
        sum += line.command[i].words.mask;
    }
  }
  return sum;
}

struct Count : interpreter::RowSink {
  std::size_t moves = 0;
  void take(const interpreter::Rows& rows) override { moves += rows.size; }
  void take(const interpreter::Record&) override {}
};

void interpret_into(const std::string& path, const Machine& machine, interpreter::RowSink& sink) {
  const auto plates = source::open_path(path);
  const auto bytes = plates->next();
  interpreter::Interpreter interpreter(machine, sink);
  interpreter::PlateReader feed(interpreter);
  source::BlockReader blocks(*bytes);
  source::Block block;
  while (blocks.next(block))
    feed.take(block.text);
  interpreter.finish();
}

double count_moves(const std::string& path, const Machine& machine) {
  Count count;
  interpret_into(path, machine, count);
  return static_cast<double>(count.moves);
}

struct Seconds : interpreter::RowSink {
  double total_s = 0.0;
  void take(const interpreter::Record& event) override { total_s += event.motion_s; }
  /// Four sums at once, so that adding up costs next to nothing.
  void take(const interpreter::Rows& rows) override {
    std::array<double, 4> sums_s{};
    const std::size_t fours = rows.size / 4 * 4;
    for (std::size_t i = 0; i < fours; i += 4)
      for (std::size_t k = 0; k < 4; ++k)
        sums_s[k] += rows.motion_s[i + k];
    for (std::size_t i = fours; i < rows.size; ++i)
      total_s += rows.motion_s[i];
    total_s += (sums_s[0] + sums_s[1]) + (sums_s[2] + sums_s[3]);
  }
};

double timeline(const std::string& path, const Machine& machine) {
  Seconds seconds;
  motion::Planner planner(machine, seconds);
  interpret_into(path, machine, planner);
  planner.finish();
  return seconds.total_s;
}

double tally(const std::string& path, const Machine& machine, bool findings) {
  AnalyzeOptions options;
  options.threads = 1;
  options.findings = findings;
  return analyze_file(path, machine, options).totals.time.expected;
}

constexpr std::size_t kInterpret = 2, kTimeline = 3;  // of the depths

double median(std::vector<double> values) {
  std::ranges::sort(values);
  return values[values.size() / 2];
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) {
    fmt::print(stderr, "ratios FILE [ROUNDS [MACHINE [DEPTH]]]\n");
    return 2;
  }
  const std::string path = argv[1];
  const int rounds = argc > 2 ? std::max(1, std::atoi(argv[2])) : 7;
  const Machine machine = load_machine(argc > 3 ? argv[3] : "changer-5").machine();
  const std::vector<std::pair<const char*, std::function<double()>>> depths = {
      {"floor", [&] { return floor_of(path); }},
      {"tokenise", [&] { return tokenise(path); }},
      {"interpret", [&] { return count_moves(path, machine); }},
      {"timeline", [&] { return timeline(path, machine); }},
      {"account", [&] { return tally(path, machine, false); }},
      {"tally", [&] { return tally(path, machine, true); }}};
  std::vector<std::vector<double>> times_s(depths.size());
  double kept = 0.0;  // so that nothing is left out as unused
  const std::string only = argc > 4 ? argv[4] : "";
  for (int round = 0; round < rounds; ++round)
    for (std::size_t i = 0; i < depths.size(); ++i) {
      if (!only.empty() && i > 0 && only != depths[i].first) {
        times_s[i].push_back(0.0);
        continue;
      }
      const double before_s = thread_s();
      kept += depths[i].second();
      times_s[i].push_back(thread_s() - before_s);
    }
  const double floor_s = median(times_s[0]);
  fmt::print("{} rounds, one thread, medians\n", rounds);
  for (std::size_t i = 0; i < depths.size(); ++i)
    fmt::print("{:<9} {:8.3f} s  {:5.2f} x floor\n", depths[i].first, median(times_s[i]),
               median(times_s[i]) / floor_s);
  if (only.empty()) {
    const double moves = count_moves(path, machine);
    fmt::print("planner {:.1f} ns a move, {:.0f} moves\n",
               1e9 * (median(times_s[kTimeline]) - median(times_s[kInterpret])) / moves, moves);
  }
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  fmt::print("peak memory {} MiB (check {:g})\n", usage.ru_maxrss / 1024, kept);
  return 0;
}
