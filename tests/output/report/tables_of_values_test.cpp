// Tables of comma-separated values of comparisons, audits and plans, read back: each cell is the
// report's own figure, and no name becomes another cell or a formula. And plans read back from
// their JSON.
#include <gtest/gtest.h>

#include <cmath>

#include "output/report/random_reports.hpp"
#include "output/report/strings.hpp"
#include "platetally/report.hpp"
#include "support/csv_reader.hpp"
#include "support/json_schema.hpp"

namespace platetally {
namespace {

using test::CsvRow;
using test::Json;

std::string cell(const std::vector<CsvRow>& rows, std::size_t row, std::string_view key) {
  const auto found = std::ranges::find(rows.at(0), key);
  EXPECT_NE(found, rows[0].end()) << key;
  return rows.at(row).at(static_cast<std::size_t>(found - rows[0].begin()));
}

/// A name as a spreadsheet may see it.
std::string harmless_name(const std::string& name) {
  std::string shown = report::printable(name);
  if (!shown.empty() && std::string("=+-@").find(shown[0]) != std::string::npos)
    shown.insert(0, "'");
  return shown;
}

void expect_rectangle(const std::vector<CsvRow>& rows) {
  for (const CsvRow& row : rows)
    EXPECT_EQ(row.size(), rows[0].size());
}

class OfRandomReports : public testing::TestWithParam<unsigned> {};

TEST_P(OfRandomReports, PlatesOnMachinesAreARowEach) {
  PlatesCompared compared = test::random_plates(GetParam());
  compared.before_after.reset();
  const std::vector<CsvRow> rows = test::read_csv(to_csv(compared));
  expect_rectangle(rows);
  std::size_t row = 0;
  for (const Comparison& plate : compared.plates)
    for (const ComparedMachine& machine : plate.machines) {
      ++row;
      const Totals& totals = machine.account.totals;
      EXPECT_EQ(cell(rows, row, "plate"), harmless_name(plate.path));
      EXPECT_EQ(cell(rows, row, "machine"), harmless_name(machine.name));
      EXPECT_EQ(std::stod(cell(rows, row, "time_s")), totals.time.expected);
      EXPECT_EQ(std::stoull(cell(rows, row, "swaps")), totals.swaps);
      EXPECT_EQ(std::stod(cell(rows, row, "part_g")), totals.part_g);
      EXPECT_EQ(std::stod(cell(rows, row, "purge_g")), totals.purge_g);
      EXPECT_EQ(std::stod(cell(rows, row, "energy_wh")), totals.energy_wh);
    }
  EXPECT_EQ(rows.size(), row + 1);
}

TEST_P(OfRandomReports, SlicesOfBeforeAndAfterAreThoseOfTheJson) {
  for (unsigned seed = GetParam(); seed < GetParam() + 300; seed += 7) {
    const PlatesCompared compared = test::random_plates(seed);
    if (!compared.before_after)
      continue;
    const std::vector<CsvRow> rows = test::read_csv(to_csv(compared));
    expect_rectangle(rows);
    const Json heights = Json::parse(to_json(compared)).at("before_after").at("heights");
    ASSERT_EQ(rows.size(), heights.size() + 1);
    for (std::size_t i = 0; i < heights.size(); ++i) {
      EXPECT_EQ(std::stod(cell(rows, i + 1, "from_mm")), heights[i]["from_mm"].get<double>());
      for (const char* side : {"before", "after"})
        for (const char* key : {"time_s", "part_g", "purge_g", "energy_wh", "swaps"})
          EXPECT_EQ(std::stod(cell(rows, i + 1, std::string(side) + "_" + key)),
                    heights[i][side][key].get<double>());
    }
    return;
  }
  ADD_FAILURE() << "no two plates were compared";
}

TEST_P(OfRandomReports, RowsOfAnAuditAreThoseOfItsJson) {
  const AuditReport audit = test::random_audit(GetParam());
  const std::vector<CsvRow> rows = test::read_csv(to_csv(audit));
  expect_rectangle(rows);
  ASSERT_EQ(rows.size(), 1 + audit.rows.size() + audit.faults.size());
  const Json json = Json::parse(to_json(audit));
  for (std::size_t i = 0; i < audit.rows.size(); ++i) {
    EXPECT_EQ(cell(rows, i + 1, "path"), harmless_name(audit.rows[i].path));
    EXPECT_EQ(cell(rows, i + 1, "error"), audit.rows[i].error);
    if (!audit.rows[i].error.empty())
      continue;
    const Json& row = json["rows"][i];
    EXPECT_EQ(cell(rows, i + 1, "verdict"), row["verdict"].get<std::string>());
    EXPECT_EQ(cell(rows, i + 1, "left_out"), row["left_out"].dump());
    EXPECT_EQ(cell(rows, i + 1, "partial"), row["partial"].get<bool>() ? "1" : "0");
    for (const std::string& key : audit_keys()) {
      const std::string value = cell(rows, i + 1, key);
      if (row["totals"][key].is_null())
        EXPECT_EQ(value, "") << key;
      else
        EXPECT_EQ(std::stod(value), row["totals"][key].get<double>()) << key;
    }
  }
  for (std::size_t i = 0; i < audit.faults.size(); ++i) {
    EXPECT_EQ(cell(rows, 1 + audit.rows.size() + i, "path"), harmless_name(audit.faults[i].first));
    EXPECT_EQ(cell(rows, 1 + audit.rows.size() + i, "error"), audit.faults[i].second);
    EXPECT_EQ(cell(rows, 1 + audit.rows.size() + i, "purge_g"), "");
  }
}

TEST_P(OfRandomReports, RunsOfAPlanAreThoseOfItsJson) {
  const Plan plan = test::random_plan(GetParam());
  const std::vector<CsvRow> rows = test::read_csv(to_csv(plan));
  expect_rectangle(rows);
  const Json runs = Json::parse(to_json(plan)).at("runs");
  ASSERT_EQ(rows.size(), runs.size() + 1);
  for (std::size_t i = 0; i < runs.size(); ++i) {
    EXPECT_EQ(cell(rows, i + 1, "run"), runs[i]["id"].get<std::string>());
    for (const char* key : {"state", "setup", "start", "end"})
      EXPECT_EQ(cell(rows, i + 1, key), runs[i][key].get<std::string>()) << key;
    EXPECT_EQ(cell(rows, i + 1, "job"), harmless_name(plan.queue.jobs[plan.runs[i].job].name));
    for (const char* key :
         {"instance", "times", "parts", "unattended_s", "swaps", "purge_g", "part_g", "energy_wh"})
      EXPECT_EQ(std::stod(cell(rows, i + 1, key)), runs[i][key].get<double>()) << key;
    EXPECT_EQ(cell(rows, i + 1, "cost").empty(), runs[i]["cost"].is_null());
  }
}

TEST_P(OfRandomReports, APlanReadBackHasTheRunsThatDidNotFail) {
  const Plan plan = test::random_plan(GetParam());
  const EarlierPlan earlier = read_plan(to_json(plan));
  EXPECT_EQ(earlier.path, report::valid_utf8(plan.queue.path));
  std::size_t at = 0;
  for (const PlanRun& run : plan.runs) {
    if (run.state == RunState::failed)
      continue;
    const EarlierRun& read = earlier.runs.at(at++);
    EXPECT_EQ(read.id, run.id);
    EXPECT_EQ(read.job, report::valid_utf8(plan.queue.jobs[run.job].name));
    EXPECT_EQ(read.machine, report::valid_utf8(plan.queue.machines[run.machine].name));
    EXPECT_EQ(read.instance, run.instance);
    EXPECT_EQ(read.times, run.times);
    EXPECT_EQ(read.parts, run.parts);
    EXPECT_EQ(read.setup_s, run.setup_s);
    EXPECT_EQ(read.start_s, run.start_s);
    EXPECT_EQ(read.end_s, run.end_s);
    EXPECT_EQ(read.loaded.size(), run.loaded.size());
  }
  EXPECT_EQ(at, earlier.runs.size());
}

INSTANTIATE_TEST_SUITE_P(Seeds, OfRandomReports, testing::Range(0U, 15U));

std::string fault_of(const std::string& json) {
  try {
    read_plan(json);
  } catch (const std::invalid_argument& error) {
    return error.what();
  }
  return "";
}

/// A plan with one run; members replaced by what is given.
std::string plan_with(const std::string& key, const Json& value) {
  Json run{{"id", "r1"},         {"state", "planned"},     {"job", "tags"},
           {"machine", "bench"}, {"instance", 1},          {"times", 1},
           {"parts", 4},         {"setup_s", 100},         {"start_s", 200},
           {"end_s", 300},       {"loaded", Json::array()}};
  if (value.is_discarded())
    run.erase(key);
  else
    run[key] = value;
  return Json{{"schema", "platetally.plan/1"}, {"queue", "q.toml"}, {"runs", Json::array({run})}}
      .dump();
}

TEST(ReadPlan, TakesOneThatIsWhole) {
  EXPECT_EQ(fault_of(plan_with("id", "r1")), "");
}

TEST(ReadPlan, WhatIsNoPlanIsRefused) {
  const std::string no_plan = "it is no plan: expected JSON of \"platetally.plan/1\"";
  for (const char* text :
       {"", "{", "[]", "3", "null", "{}", "\xff", "{\"schema\": \"platetally.plan/2\"}"})
    EXPECT_EQ(fault_of(text), no_plan) << text;
  EXPECT_EQ(fault_of(std::string(2000, '[')), no_plan);
  EXPECT_EQ(fault_of("{\"schema\": \"platetally.plan/1\"}"), "the plan: 'queue' is missing");
  EXPECT_EQ(fault_of("{\"schema\": \"platetally.plan/1\", \"queue\": 3}"),
            "the plan: 'queue' is of the wrong type");
  EXPECT_EQ(fault_of("{\"schema\": \"platetally.plan/1\", \"queue\": \"q\"}"),
            "the plan: 'runs' is missing");
  EXPECT_EQ(fault_of("{\"schema\": \"platetally.plan/1\", \"queue\": \"q\", \"runs\": [3]}"),
            "run 1 of the plan: expected an object");
}

TEST(ReadPlan, AMemberThatIsMissingIsNamed) {
  for (const char* key : {"id", "state", "job", "machine", "loaded"})
    EXPECT_EQ(fault_of(plan_with(key, Json(Json::value_t::discarded))),
              fmt::format("run 1 of the plan: '{}' is missing", key));
  for (const char* key : {"id", "state", "job", "machine", "loaded"})
    EXPECT_EQ(fault_of(plan_with(key, 3)),
              fmt::format("run 1 of the plan: '{}' is of the wrong type", key));
}

TEST(ReadPlan, MomentsGoForwardAndCountsAreCounts) {
  const auto expect_range = [](const char* key, const Json& value, const std::string& range) {
    EXPECT_EQ(fault_of(plan_with(key, value)),
              fmt::format("run 1 of the plan: '{}': expected a whole number {}", key, range))
        << value;
  };
  expect_range("instance", 0, "from 1 to 10000000");
  expect_range("instance", 1.5, "from 1 to 10000000");
  expect_range("times", 0, "from 1 to 1000");
  expect_range("times", 1001, "from 1 to 1000");
  expect_range("parts", 0, "from 1 to 10000000");
  expect_range("parts", "four", "from 1 to 10000000");
  expect_range("setup_s", -1, "from 0 to 1099511627776");
  expect_range("start_s", 99, "from 100 to 1099511627776");
  expect_range("end_s", 199, "from 200 to 1099511627776");
  EXPECT_EQ(fault_of(plan_with("end_s", 200)), "");
  EXPECT_EQ(fault_of(plan_with("times", 1000)), "");
}

TEST(ReadPlan, ARunThatFailedIsNotLookedAt) {
  EXPECT_EQ(fault_of(plan_with("state", "failed")), "");
  EXPECT_TRUE(read_plan(plan_with("state", "failed")).runs.empty());
}

TEST(Plan, LeavesOutWhatIsNotPrintedAsOftenAsItIsWanted) {
  Plan plan;
  plan.queue.jobs.resize(1);
  plan.queue.jobs[0].copies = 4;
  plan.jobs.resize(1);
  plan.jobs[0].parts = 4;
  EXPECT_FALSE(plan.leaves_out());
  plan.jobs[0].parts = 3;
  EXPECT_TRUE(plan.leaves_out());
}

}  // namespace
}  // namespace platetally
