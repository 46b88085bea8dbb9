// Moves in runs against the same moves one by one: the same times to the bit, in the same order,
// whatever the limits, the window and what stands between the runs.
#include <gtest/gtest.h>

#include <bit>
#include <random>

#include "motion/planning/planner.hpp"
#include "support.hpp"

namespace platetally::motion {
namespace {

using interpreter::Record;
using interpreter::RecordKind;

/// 1 to 256 strokes in a row, now and then climbing, with travels, E alone, heaters, limits and
/// stops in between.
std::vector<Record> random_stream(std::uint64_t seed, double scale_mm) {
  std::mt19937_64 random(seed);
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  test::Point at{100.0, 100.0, 0.2};
  std::vector<Record> records;
  for (int i = 0; i < 120; ++i) {
    const auto kind = random() % 12;
    if (kind < 6) {
      const std::size_t count = 1 + random() % interpreter::kMostRows;
      const bool climbs = random() % 4 == 0;
      for (std::size_t k = 0; k < count; ++k) {
        const test::Point to{at[0] + scale_mm * uniform(-1.0, 1.0),
                             at[1] + scale_mm * uniform(-1.0, 1.0),
                             at[2] + (climbs && k % 3 == 0 ? 0.01 : 0.0)};
        records.push_back(test::line(at, to, 0.05 * scale_mm, k % 9 == 0 ? 20.0 : 120.0));
        at = to;
      }
      continue;
    }
    Record record = test::feed(random() % 2 == 0 ? 0.8 : -0.8, 40.0);
    record.move.from_mm = record.move.to_mm = at;
    if (kind == 6) {
      const std::size_t count = 1 + random() % 3;
      for (std::size_t k = 0; k < count; ++k) {
        const test::Point to{at[0] + 20.0, at[1], at[2] + (random() % 2 == 0 ? 0.2 : 0.0)};
        records.push_back(test::line(at, to, 0.0, random() % 3 == 0 ? 0.0 : 250.0));
        at = to;
      }
      continue;
    }
    if (kind == 7)
      record = test::event(RecordKind::set_heater, 215.0);
    else if (kind == 8)
      record = test::event(RecordKind::dwell, 0.5);
    else if (kind == 9)
      record =
          test::set_limit(interpreter::Limit::print_acceleration_mm_s2, uniform(300.0, 3000.0));
    records.push_back(record);
  }
  for (std::size_t i = 0; i < records.size(); ++i)
    records[i].line = i + 1;
  return records;
}

std::size_t expect_same(const std::vector<Record>& records, const Machine& machine) {
  const test::Planned runs = test::plan(machine, records, interpreter::kMostRows);
  const test::Planned singles = test::plan(machine, records, 1);
  EXPECT_EQ(runs.kept.records.size(), singles.kept.records.size());
  for (std::size_t i = 0; i < std::min(runs.kept.records.size(), singles.kept.records.size());
       ++i) {
    const Record& a = runs.kept.records[i];
    const Record& b = singles.kept.records[i];
    EXPECT_EQ(std::bit_cast<std::uint64_t>(a.motion_s), std::bit_cast<std::uint64_t>(b.motion_s))
        << i;
    EXPECT_EQ(a.line, b.line) << i;
    EXPECT_EQ(a.kind, b.kind) << i;
    if (testing::Test::HasFailure())
      break;
  }
  EXPECT_EQ(runs.diagnostics.size(), singles.diagnostics.size());
  for (std::size_t i = 0; i < std::min(runs.diagnostics.size(), singles.diagnostics.size()); ++i) {
    EXPECT_EQ(runs.diagnostics[i].code, singles.diagnostics[i].code);
    EXPECT_EQ(runs.diagnostics[i].line, singles.diagnostics[i].line);
    EXPECT_EQ(runs.diagnostics[i].count, singles.diagnostics[i].count);
  }
  return records.size() / runs.kept.runs;
}

TEST(Runs, TakeTheTimesOfTheSameMovesOneByOne) {
  for (std::uint64_t seed = 1; seed <= 12; ++seed)
    for (const double scale_mm : {0.01, 1.0, 30.0}) {
      Machine machine;
      machine.motion.look_ahead_moves = std::array{0, 1, 16, 300}[seed % 4];
      machine.motion.corner_model =
          std::array{CornerModel::junction_deviation, CornerModel::speed_step,
                     CornerModel::corner_speed}[seed % 3];
      EXPECT_GT(expect_same(random_stream(seed, scale_mm), machine), 10U) << "moves in a run";
    }
}

TEST(Runs, BeyondMemoryAreCut) {
  // Collinear moves of a nanometre: none settles before the end.
  constexpr std::size_t kMoves = 600 * interpreter::kMostRows;
  std::vector<Record> records;
  double x_mm = 0.0;
  for (std::size_t i = 0; i < kMoves; ++i) {
    records.push_back(test::line({x_mm, 0.0, 0.2}, {x_mm + 1e-6, 0.0, 0.2}, 1e-9, 300.0));
    x_mm = records.back().move.to_mm[0];
    records.back().line = i + 1;
  }
  const test::Planned cut = test::plan(Machine{}, records, interpreter::kMostRows);
  EXPECT_EQ(cut.kept.records.size(), kMoves);
  ASSERT_EQ(cut.diagnostics.size(), 1U);
  EXPECT_EQ(cut.diagnostics[0].code, "look-ahead-cut");
  for (std::size_t i = 0; i < cut.kept.records.size(); ++i)
    ASSERT_EQ(cut.kept.records[i].line, i + 1);
}

TEST(Runs, OfMovesThatGoNowhereFlowOn) {
  const std::vector<Record> records(5000, test::line({1, 1, 1}, {1, 1, 1}, 1e-12, 50.0));
  test::Kept kept;
  Machine machine;
  Planner planner(machine, kept);
  test::give(records, planner);
  EXPECT_GT(kept.records.size() + 256, records.size());
  EXPECT_EQ(kept.total_s(), 0.0);
}

}  // namespace
}  // namespace platetally::motion
