// finder_bench: what finding purge from the motion costs on tall plates: the log of what was laid,
// visit by visit, and the verdict at the end. Figures belong into docs/performance.md.
//
// Plates of two tools that swap once a layer, with a tower and so many islands beside it, each a
// square of four strokes that two travels part from the others.
#include <benchmark/benchmark.h>

#include <array>
#include <vector>

#include "material/swaps/deposit_log.hpp"
#include "material/swaps/tower_finder.hpp"
#include "platetally/machine.hpp"

namespace {

using namespace platetally;
using interpreter::Record;
using interpreter::RecordKind;
using timeline::Selection;

Machine two_tools() {
  Machine machine;
  machine.heads.resize(2);
  machine.tools.resize(2);
  machine.area = {0, 300, 0, 300, 700};
  return machine;
}

class TallPlate {
 public:
  explicit TallPlate(const Machine& machine) : log_(machine) {}

  void print(std::uint32_t layers, int islands) {
    select(0);
    for (layer_ = 1; layer_ <= layers; ++layer_) {
      print_islands(islands);
      select(1 - tool_);
      square(250.0, 250.0 + tool_, 20.0, 6.0);
      print_islands(islands);
    }
  }
  const swaps::DepositLog& log() const { return log_; }
  std::size_t squares() const { return squares_; }

 private:
  void select(int to) {
    Record record{};
    record.kind = RecordKind::select_tool;
    record.event.tool = static_cast<std::int16_t>(to);
    log_.take(record, {tool_ < 0 ? Selection::first : Selection::swap, tool_, to}, {});
    tool_ = to;
  }
  /// Those of the tool in hand: every other one.
  void print_islands(int islands) {
    for (int i = tool_; i < islands; i += 2)
      square(5.0 + 14.0 * (i % 15), 5.0 + 14.0 * (i / 15), 8.0, 0.5);
  }
  void square(double x_mm, double y_mm, double side_mm, double e_mm) {
    ++squares_;
    move({x_mm, y_mm, 0.2 * layer_}, 0.0);
    for (const auto& [x, y] : {std::pair{1, 0}, {1, 1}, {0, 1}, {0, 0}})
      move({x_mm + x * side_mm, y_mm + y * side_mm, 0.2 * layer_}, e_mm / 4.0);
  }
  void move(const std::array<double, 3>& to_mm, double e_mm) {
    Record record{};
    record.kind = RecordKind::move;
    record.tool = static_cast<std::int16_t>(tool_);
    record.layer = layer_;
    record.move = {};
    record.move.from_mm = at_mm_;
    record.move.to_mm = to_mm;
    record.move.e_mm = e_mm;
    record.motion_s = 0.1;
    at_mm_ = to_mm;
    swaps::Feed feed;
    if (e_mm > 0.0)
      feed = {swaps::Use::part, swaps::Mark::none, e_mm, 0.0};
    log_.take(record, {}, feed);
  }

  swaps::DepositLog log_;
  std::array<double, 3> at_mm_{};
  std::uint32_t layer_ = 0;
  int tool_ = -1;
  std::size_t squares_ = 0;
};

/// Seconds a visit (a square), compacting included.
void keep_the_log(benchmark::State& state) {
  const Machine machine = two_tools();
  std::size_t squares = 0;
  for (auto _ : state) {
    TallPlate plate(machine);
    plate.print(static_cast<std::uint32_t>(state.range(0)), static_cast<int>(state.range(1)));
    benchmark::DoNotOptimize(plate.log().visits().data());
    squares += plate.squares();
  }
  state.counters["a_visit"] = benchmark::Counter(
      static_cast<double>(squares), benchmark::Counter::kIsRate | benchmark::Counter::kInvert);
}

/// The verdict on what is in the log then.
void find_the_tower(benchmark::State& state) {
  const Machine machine = two_tools();
  TallPlate plate(machine);
  plate.print(static_cast<std::uint32_t>(state.range(0)), static_cast<int>(state.range(1)));
  for (auto _ : state) {
    const swaps::TowerFinding finding = swaps::find_tower(plate.log());
    if (finding.verdict != swaps::TowerVerdict::tower)
      state.SkipWithError("no tower found");
    benchmark::DoNotOptimize(finding.visits.data());
  }
  state.counters["visits_kept"] = static_cast<double>(plate.log().visits().size());
}

const std::vector<std::vector<std::int64_t>> kPlates{{300, 3000}, {2, 25, 225}};

BENCHMARK(keep_the_log)
    ->ArgNames({"layers", "islands"})
    ->ArgsProduct(kPlates)
    ->Unit(benchmark::kMillisecond);
BENCHMARK(find_the_tower)
    ->ArgNames({"layers", "islands"})
    ->ArgsProduct(kPlates)
    ->Unit(benchmark::kMillisecond);

}  // namespace
