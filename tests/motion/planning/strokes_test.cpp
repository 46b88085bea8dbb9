// Strokes in runs against the same moves as records: the same times to the bit, in the same order,
// whatever the limits, the window and what stands between the runs.
#include <gtest/gtest.h>

#include <bit>
#include <random>
#include <variant>

#include "motion/planning/planner.hpp"
#include "support.hpp"

namespace platetally::motion {
namespace {

using interpreter::Record;
using interpreter::RecordKind;
using interpreter::StrokeColumns;
using Step = std::variant<Record, StrokeColumns>;

/// Runs of 1 to 256 strokes, travels, E alone, heaters, limits, tools and stops in between.
std::vector<Step> random_stream(std::uint64_t seed, double scale_mm) {
  std::mt19937_64 random(seed);
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  test::Point at{100.0, 100.0, 0.2};
  std::uint64_t next_line = 1;
  std::vector<Step> steps;
  for (int i = 0; i < 120; ++i) {
    const auto kind = random() % 12;
    if (kind < 6) {
      StrokeColumns run;
      run.head = {
          next_line, static_cast<std::uint32_t>(i / 10), 1, 0, interpreter::Plane::xy, at[0], at[1],
          at[2]};
      const std::size_t count = 1 + random() % interpreter::kMostStrokes;
      for (std::size_t k = 0; k < count; ++k) {
        at[0] += scale_mm * uniform(-1.0, 1.0);
        at[1] += scale_mm * uniform(-1.0, 1.0);
        run.push(at[0], at[1], 0.05 * scale_mm, k % 9 == 0 ? 20.0 : 120.0);
      }
      next_line += count;
      steps.emplace_back(run);
      continue;
    }
    Record record = test::feed(random() % 2 == 0 ? 0.8 : -0.8, 40.0);
    if (kind == 6) {
      const test::Point to{at[0] + 20.0, at[1], at[2]};
      record = test::line(at, to, 0.0, 250.0);
      at = to;
    } else if (kind == 7) {
      record = test::event(RecordKind::set_heater, 215.0);
    } else if (kind == 8) {
      record = test::event(RecordKind::dwell, 0.5);
    } else if (kind == 9) {
      record =
          test::set_limit(interpreter::Limit::print_acceleration_mm_s2, uniform(300.0, 3000.0));
    }
    record.line = next_line++;
    steps.emplace_back(record);
  }
  return steps;
}

struct InRuns : test::Kept {
  using test::Kept::take;
  void take(const TimedStrokes& strokes) override {
    ++runs;
    TimedSink::take(strokes);
  }
  std::size_t runs = 0;
};

struct Outcome {
  InRuns kept;
  std::vector<Diagnostic> diagnostics;
};

Outcome plan_as(const std::vector<Step>& steps, const Machine& machine, bool in_runs) {
  Outcome outcome;
  Planner planner(machine, outcome.kept);
  for (const Step& step : steps) {
    if (const auto* record = std::get_if<Record>(&step)) {
      planner.take(std::span<const Record>(record, 1));
      continue;
    }
    const interpreter::Strokes strokes = std::get<StrokeColumns>(step).strokes();
    if (in_runs) {
      planner.take(strokes);
      continue;
    }
    for (std::size_t i = 0; i < strokes.size; ++i) {
      const Record record = strokes.record(i);
      planner.take(std::span<const Record>(&record, 1));
    }
  }
  planner.finish();
  outcome.diagnostics = planner.diagnostics().entries();
  return outcome;
}

std::size_t expect_same(const std::vector<Step>& steps, const Machine& machine) {
  const Outcome runs = plan_as(steps, machine, true);
  const Outcome records = plan_as(steps, machine, false);
  EXPECT_EQ(runs.kept.records.size(), records.kept.records.size());
  for (std::size_t i = 0; i < std::min(runs.kept.records.size(), records.kept.records.size());
       ++i) {
    const TimedRecord& a = runs.kept.records[i];
    const TimedRecord& b = records.kept.records[i];
    EXPECT_EQ(std::bit_cast<std::uint64_t>(a.motion_s), std::bit_cast<std::uint64_t>(b.motion_s))
        << i;
    EXPECT_EQ(a.length_mm, b.length_mm) << i;
    EXPECT_EQ(a.record.line, b.record.line) << i;
    EXPECT_EQ(a.record.kind, b.record.kind) << i;
    if (testing::Test::HasFailure())
      break;
  }
  EXPECT_EQ(runs.diagnostics.size(), records.diagnostics.size());
  for (std::size_t i = 0; i < std::min(runs.diagnostics.size(), records.diagnostics.size()); ++i) {
    EXPECT_EQ(runs.diagnostics[i].code, records.diagnostics[i].code);
    EXPECT_EQ(runs.diagnostics[i].line, records.diagnostics[i].line);
    EXPECT_EQ(runs.diagnostics[i].count, records.diagnostics[i].count);
  }
  return runs.kept.runs;
}

TEST(Strokes, TakeTheTimesOfTheSameRecords) {
  for (std::uint64_t seed = 1; seed <= 12; ++seed)
    for (const double scale_mm : {0.01, 1.0, 30.0}) {
      Machine machine;
      machine.motion.look_ahead_moves = std::array{0, 1, 16, 300}[seed % 4];
      machine.motion.corner_model =
          seed % 2 == 0 ? CornerModel::junction_deviation : CornerModel::speed_step;
      EXPECT_GT(expect_same(random_stream(seed, scale_mm), machine), 30U);
    }
}

TEST(Strokes, BeyondMemoryAreCutAsRecordsAre) {
  // Collinear moves of a nanometre: none settles before the end.
  std::vector<Step> steps;
  double x_mm = 0.0;
  for (int i = 0; i < 600; ++i) {
    StrokeColumns run;
    run.head = {1 + static_cast<std::uint64_t>(i) * interpreter::kMostStrokes,
                1,
                0,
                0,
                interpreter::Plane::xy,
                x_mm,
                0.0,
                0.2};
    for (std::size_t k = 0; k < interpreter::kMostStrokes; ++k)
      run.push(x_mm += 1e-6, 0.0, 1e-9, 300.0);
    steps.emplace_back(run);
  }
  const Outcome cut = plan_as(steps, Machine{}, true);
  EXPECT_EQ(cut.kept.records.size(), 600U * interpreter::kMostStrokes);
  ASSERT_EQ(cut.diagnostics.size(), 1U);
  EXPECT_EQ(cut.diagnostics[0].code, "look-ahead-cut");
  for (std::size_t i = 0; i < cut.kept.records.size(); ++i)
    ASSERT_EQ(cut.kept.records[i].record.line, i + 1);
}

}  // namespace
}  // namespace platetally::motion
