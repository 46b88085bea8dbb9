// Records for the planner, and a sink that keeps what comes out.
#pragma once

#include <cmath>
#include <fstream>
#include <limits>
#include <random>
#include <string>
#include <vector>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "motion/planning/planner.hpp"
#include "support/rows.hpp"

namespace platetally::motion::test {

using interpreter::Record;
using interpreter::RecordKind;
using Point = std::array<double, 3>;

inline nlohmann::json read_check(const std::string& name) {
  std::ifstream file(std::string(PLATETALLY_TESTDATA) + "/checks/" + name);
  EXPECT_TRUE(file.is_open()) << name;
  return nlohmann::json::parse(file);
}

inline Record line(const Point& from, const Point& to, double e_mm, double feed_mm_s) {
  Record record{};
  record.kind = RecordKind::move;
  record.move = {};
  record.move.from_mm = from;
  record.move.to_mm = to;
  record.move.e_mm = e_mm;
  record.move.feed_mm_s = feed_mm_s;
  return record;
}

inline Record feed(double e_mm, double feed_mm_s) {
  return line({}, {}, e_mm, feed_mm_s);
}

inline Record event(RecordKind kind, double value = 0.0) {
  Record record{};
  record.kind = kind;
  record.event = {};
  record.event.value = value;
  return record;
}

inline Record set_limit(interpreter::Limit limit, std::array<double, 4> values) {
  Record record = event(RecordKind::set_limits);
  record.event.limit = limit;
  record.event.values = values;
  return record;
}

inline Record set_limit(interpreter::Limit limit, double value) {
  const double none = std::numeric_limits<double>::quiet_NaN();
  return set_limit(limit, {value, none, none, none});
}

inline void push(LookAhead& look_ahead, double entry_cap, double reach) {
  const LookAhead::Room room = look_ahead.room_for(1);
  *room.entry_caps = entry_cap;
  *room.reaches = reach;
  look_ahead.add(1);
}

using platetally::test::give;
using platetally::test::Kept;

struct Planned {
  Kept kept;
  std::vector<Diagnostic> diagnostics;
  double total_s() const { return kept.total_s(); }
  double motion_s(std::size_t i) const { return kept.records.at(i).motion_s; }
};

/// `in_runs`: of so many moves at most, where they go on with one another.
inline Planned plan(const Machine& machine, const std::vector<Record>& records,
                    std::size_t in_runs = 1) {
  Planned planned;
  Planner planner(machine, planned.kept);
  platetally::test::give_in_runs(records, in_runs, planner);
  planner.finish();
  planned.diagnostics = planner.diagnostics().entries();
  return planned;
}

inline Planned plan(const MotionLimits& limits, const std::vector<Record>& records) {
  Machine machine;
  machine.motion = limits;
  return plan(machine, records);
}

/// A seeded path of straight moves: short and long, with E, travels, wipes, E alone, nothing at
/// all.
inline std::vector<Record> random_path(unsigned seed, std::size_t count) {
  std::mt19937_64 random(seed);
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  std::vector<Record> records;
  Point at{100.0, 100.0, 0.2};
  double heading = 0.0;
  for (std::size_t i = 0; i < count; ++i) {
    const double kind = uniform(0.0, 1.0);
    if (kind < 0.05) {
      records.push_back(feed(uniform(-1.0, 1.0), uniform(5.0, 80.0)));
      continue;
    }
    if (kind < 0.08) {
      records.push_back(line(at, at, 0.0, 50.0));
      continue;
    }
    heading += kind < 0.7 ? uniform(-0.2, 0.2) : uniform(-3.2, 3.2);
    const double length = std::pow(10.0, uniform(-2.0, 1.7));
    Point to{at[0] + length * std::cos(heading), at[1] + length * std::sin(heading), at[2]};
    if (kind > 0.97)
      to[2] += uniform(-0.5, 0.5);
    const double e_mm = kind < 0.75 ? 0.04 * length : kind < 0.8 ? -0.05 * length : 0.0;
    records.push_back(line(at, to, e_mm, kind > 0.95 ? 0.0 : uniform(5.0, 400.0)));
    at = to;
  }
  return records;
}

}  // namespace platetally::motion::test
