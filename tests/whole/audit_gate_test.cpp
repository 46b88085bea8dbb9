// What an audit lets pass: nothing that was left out, no share of nothing, no rows of another
// machine; and what its rows say of it.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>

#include "platetally/account.hpp"
#include "platetally/audit.hpp"
#include "support.hpp"
#include "support/temp_folder.hpp"

namespace platetally {
namespace {

namespace fs = std::filesystem;

const std::string kPlate =
    "G90\nM83\nM104 S200\nM104 T1 S200\nG1 Z0.2 F600\nG1 X10 Y10 E1 F1200\nT1\nG1 X20 E2\n"
    "G1 Z0.4\nT0\nG1 X10 E1\n";
const std::string kUnreadLine = kPlate + "G1 X20.5.5 E1\n";
const std::string kWarned = kPlate + "G4 S-1\n";

double total(const std::vector<double>& totals, std::string_view key) {
  const auto& keys = audit_keys();
  return totals[static_cast<std::size_t>(std::ranges::find(keys, key) - keys.begin())];
}

class AuditGate : public testing::Test {
 protected:
  void SetUp() override {
    options_.version = "test";
    options_.now_s = [] { return std::int64_t{1'800'000'000}; };
    fs::create_directories(folder_ / "plates");
  }
  void put(const std::string& name, const std::string& text) const {
    std::ofstream(folder_ / "plates" / name, std::ios::binary) << text;
  }
  std::string place(const std::string& name) const { return (folder_ / name).string(); }
  AuditReport run() { return audit({place("plates")}, machine_, options_); }
  std::string refusal(const std::vector<std::string>& paths) {
    try {
      audit(paths, machine_, options_);
    } catch (const std::runtime_error& error) {
      return error.what();
    }
    return "audited";
  }

  test::TempFolder temp_;
  fs::path folder_ = temp_.path();
  Machine machine_ = test::embedded("changer-5");
  AuditOptions options_;
};

TEST_F(AuditGate, AnAuditOfNothingIsAnError) {
  EXPECT_EQ(refusal({place("plates")}),
            fmt::format("there is no plate to audit in {}", place("plates")));
  put("notes.txt", "dig\n");
  EXPECT_NE(refusal({place("plates")}).find("1 file was not a plate by its name"),
            std::string::npos)
      << refusal({place("plates")});
  options_.include = {"*.gcod", "*.tap"};
  EXPECT_NE(refusal({place("plates")}).find("no file is like *.gcod, *.tap"), std::string::npos);
}

TEST_F(AuditGate, APatternThatMatchesNothingIsSaid) {
  put("a.gcode", kPlate);
  options_.include = {"*.gcode", "*.gcod"};
  const AuditReport report = run();
  EXPECT_EQ(report.plates, 1U);
  EXPECT_EQ(report.notes, std::vector<std::string>{"--include *.gcod: no file is like this"});
}

TEST_F(AuditGate, NoShareOfAMissingOrEmptyFolder) {
  put("a.gcode", kPlate);
  options_.shards = 3;
  for (options_.shard = 1; options_.shard <= 3; ++options_.shard) {
    EXPECT_NE(refusal({place("plates"), place("gone")}).find("gone: there is no such"),
              std::string::npos);
    EXPECT_EQ(refusal({place("plates")}), "audited");
  }
  fs::remove(folder_ / "plates" / "a.gcode");
  options_.shard = 2;
  EXPECT_NE(refusal({place("plates")}).find("no plate to audit"), std::string::npos);
}

TEST_F(AuditGate, WhatWasLeftOutDoesNotPass) {
  put("whole.gcode", kPlate);
  put("unread.gcode", kUnreadLine);
  AuditReport report = run();
  EXPECT_EQ(report.not_passed, 1U);
  EXPECT_EQ(report.exceeded, 0U);
  const auto unread = std::ranges::find_if(
      report.rows, [](const AuditRow& row) { return row.path.ends_with("unread.gcode"); });
  EXPECT_EQ(unread->fails_because, "1 thing was left out of the account; --partial lets it pass");
  EXPECT_NE(to_text(report).find(unread->fails_because), std::string::npos);
  options_.partial = true;
  EXPECT_EQ(run().not_passed, 0U);
}

TEST_F(AuditGate, StrictLetsNoWarningPass) {
  put("whole.gcode", kPlate);
  put("warned.gcode", kWarned);
  EXPECT_EQ(run().not_passed, 0U);
  options_.strict = true;
  const AuditReport report = run();
  EXPECT_EQ(report.not_passed, 1U);
  options_.history = place("h.sqlite");
  EXPECT_EQ(run().not_passed, 1U);
  EXPECT_EQ(run().not_passed, 1U) << "the same out of the history";
}

TEST_F(AuditGate, TheHistoryIsOfTheMachineThatIsAskedFor) {
  put("a.gcode", kPlate);
  options_.history = place("h.sqlite");
  run();
  const auto refused = [&](const Machine& machine) {
    try {
      read_history(options_.history, 0, {}, {}, &machine);
    } catch (const std::runtime_error& error) {
      return std::string(error.what());
    }
    return std::string("read");
  };
  EXPECT_EQ(read_history(options_.history, 0, {}, {}).audit.machine, "changer-5");
  EXPECT_EQ(refused(machine_), "read");
  EXPECT_NE(refused(test::embedded("single-1")).find("was tallied on 'changer-5'"),
            std::string::npos)
      << refused(test::embedded("single-1"));
  machine_.room_c += 5.0;
  EXPECT_NE(refused(machine_).find("1 of 1 tallies are not of 'changer-5' as it is now"),
            std::string::npos);
}

TEST_F(AuditGate, OneFolderOnTwoMachinesStaysTwoRecordsThatAreNotAddedUp) {
  put("a.gcode", kPlate);
  options_.history = place("h.sqlite");
  options_.version = "1";
  run();
  const HistoryReport one = read_history(options_.history, 0, {}, {});
  ASSERT_EQ(one.groups.size(), 1U);
  EXPECT_EQ(one.groups[0].machine, "changer-5");
  EXPECT_EQ(one.groups[0].version, "1");
  const double time_s = total(one.audit.totals, "time_s");
  EXPECT_GT(time_s, 0.0);

  options_.version = "2";
  run();
  options_.tool_colours = {"black"};
  run();
  machine_ = test::embedded("single-1");
  run();
  const HistoryReport four = read_history(options_.history, 0, {}, {});
  ASSERT_EQ(four.groups.size(), 4U);
  EXPECT_EQ(four.audit.rows.size(), 4U);
  EXPECT_TRUE(std::isnan(total(four.audit.totals, "time_s"))) << "nobody may add them up";
  EXPECT_TRUE(four.audit.findings.empty());
  ASSERT_EQ(four.weeks.size(), 4U);
  for (const HistoryWeek& week : four.weeks)
    EXPECT_EQ(week.plates, 1U);
  const auto with_colours = std::ranges::find(four.groups, "colours black", &HistoryGroup::options);
  ASSERT_NE(with_colours, four.groups.end());
  EXPECT_EQ(with_colours->machine, "changer-5");
  EXPECT_EQ(total(with_colours->totals, "time_s"), time_s);
  EXPECT_NE(to_text(four).find("groups that do not add up"), std::string::npos);
}

TEST_F(AuditGate, RowsSayWhetherTheyCanBePrinted) {
  put("fits.gcode", kPlate);
  put("leaves.gcode", kPlate + "G1 X900 E1\n");
  const AuditReport report = run();
  const auto leaves = std::ranges::find_if(
      report.rows, [](const AuditRow& row) { return row.path.ends_with("leaves.gcode"); });
  ASSERT_NE(leaves, report.rows.end());
  EXPECT_EQ(leaves->verdict, "cannot");
  ASSERT_FALSE(leaves->reasons.empty());
  EXPECT_EQ(leaves->reasons[0].code, "leaves-area");
  EXPECT_EQ(leaves->reasons[0].grade, Grade::cannot);
  const std::string text = to_text(report);
  const std::size_t mark = text.find("CANNOT BE PRINTED");
  ASSERT_NE(mark, std::string::npos) << text;
  EXPECT_EQ(text.find("CANNOT BE PRINTED", mark + 1), std::string::npos) << text;
  EXPECT_GT(text.rfind("leaves.gcode", mark) + 1, text.rfind("fits.gcode", mark) + 1) << text;
  const std::string csv = to_csv(report);
  EXPECT_NE(csv.find("leaves.gcode,,,cannot,leaves-area"), std::string::npos) << csv;
  options_.limits = {{"swaps", 1.0}};
  EXPECT_NE(to_csv(run()).find(",totals.swaps,,"), std::string::npos) << to_csv(run());
}

TEST_F(AuditGate, MoneyHasItsCurrencyAndAdviceItsValue) {
  const std::vector<std::string> plates{test::testdata("demo/lantern.gcode.gz"),
                                        test::testdata("demo/labels.gcode.gz")};
  AuditReport report = audit(plates, machine_, options_);
  EXPECT_EQ(report.currency, "");
  EXPECT_EQ(report.value, Aim::time);
  const auto saved_wh = [](const AuditFindingSum& entry) { return entry.sum.saves_energy_wh; };
  const auto saved_s = [](const AuditFindingSum& entry) { return entry.sum.saves_time_s; };
  EXPECT_TRUE(std::ranges::is_sorted(report.findings, std::ranges::greater{}, saved_s));
  options_.value = Aim::energy;
  report = audit(plates, machine_, options_);
  ASSERT_GT(report.findings.size(), 2U);
  EXPECT_TRUE(std::ranges::is_sorted(report.findings, std::ranges::greater{}, saved_wh));
  EXPECT_FALSE(std::ranges::is_sorted(report.findings, std::ranges::greater{}, saved_s));
  options_.value.reset();
  Prices prices;
  prices.currency = "EUR";
  prices.filament_per_kg = 20.0;
  options_.prices = prices;
  report = audit(plates, machine_, options_);
  EXPECT_EQ(report.currency, "EUR");
  EXPECT_EQ(report.value, Aim::money);
  EXPECT_NE(to_text(report).find("EUR cost"), std::string::npos) << to_text(report);
  EXPECT_NE(to_json(report).find("\"currency\": \"EUR\""), std::string::npos);
}

}  // namespace
}  // namespace platetally
