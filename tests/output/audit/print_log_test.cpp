// What was printed, in a history: a print counts once, with what it used; another outcome of the
// same print is refused; weeks add up.
#include "platetally/print_log.hpp"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

#include "platetally/audit.hpp"
#include "platetally/machine.hpp"
#include "platetally/plan.hpp"
#include "support/temp_folder.hpp"

namespace platetally {
namespace {

namespace fs = std::filesystem;

constexpr std::int64_t kNoon = 1795608000;  // 2026-11-25 12:00, a Wednesday

class PrintLog : public testing::Test {
 protected:
  PrintLog() {
    options_.history = at("h.sqlite");
    options_.version = "0.1.0";
    options_.now_s = [] { return kNoon; };
  }
  std::string at(const std::string& name) const { return (folder_.path() / name).string(); }
  std::string put(const std::string& name, const std::string& text) const {
    fs::create_directories(fs::path(at(name)).parent_path());
    std::ofstream(at(name), std::ios::binary) << text;
    return at(name);
  }
  /// An hour's dwell, so that prints within half an hour of each other are the same.
  std::string plate(const std::string& name = "tag.gcode") const {
    return put(name,
               "G90\nM83\nM104 S215\nG1 Z0.2 F600\nG1 X10 Y10 F6000\nG1 X60 E2 F1200\nT1\nG1 E5 "
               "F300\nG1 X20 E2 F1200\nG4 S3600\n; " +
                   name + "\n");
  }
  PrintEntry entry(std::int64_t finished_s, const std::string& path) const {
    PrintEntry entry;
    entry.path = path;
    entry.finished_s = finished_s;
    return entry;
  }
  LoggedPrint log(const PrintEntry& entry) const { return log_print(entry, &machine_, options_); }
  std::string fault(const PrintEntry& entry, const Machine* machine) const {
    try {
      log_print(entry, machine, options_);
    } catch (const std::runtime_error& error) {
      return error.what();
    }
    return "logged";
  }
  std::vector<PrintedWeek> weeks() const {
    return read_history(options_.history, 0, {}, {}).printed;
  }

  const test::TempFolder folder_;
  const Machine machine_ = load_machine("changer-5").machine();
  AuditOptions options_;
};

TEST_F(PrintLog, APrintUsesWhatItsTallySays) {
  const std::string path = plate();
  const AuditReport audited = audit({path}, machine_, options_);
  const auto total = [&](std::string_view key) {
    const auto& keys = audit_keys();
    return audited.rows.at(0).totals.at(
        static_cast<std::size_t>(std::ranges::find(keys, key) - keys.begin()));
  };
  const LoggedPrint logged = log(entry(kNoon, path));
  EXPECT_TRUE(logged.counted);
  EXPECT_FALSE(logged.is_fault);
  EXPECT_EQ(logged.machine, "changer-5");
  EXPECT_EQ(logged.finished_s, kNoon);
  EXPECT_DOUBLE_EQ(*logged.purge_g, total("purge_g"));
  EXPECT_DOUBLE_EQ(*logged.energy_wh, total("energy_wh"));
  ASSERT_EQ(weeks().size(), 1U);
  const PrintedWeek week = weeks()[0];
  EXPECT_EQ(week.monday, "2026-11-23");
  EXPECT_EQ(week.prints, 1U);
  EXPECT_DOUBLE_EQ(week.hours, total("time_s") / 3600.0);
  EXPECT_DOUBLE_EQ(week.part_g, total("part_g"));
  EXPECT_DOUBLE_EQ(week.energy_kwh, total("energy_wh") / 1000.0);
  EXPECT_EQ(week.without_good, 1U);
  EXPECT_FALSE(week.cost.has_value());
}

TEST_F(PrintLog, WithinHalfOfItsTimeAPrintIsTheSame) {
  const std::string path = plate();
  EXPECT_TRUE(log(entry(kNoon, path)).counted);
  const LoggedPrint again = log(entry(kNoon + 1500, path));
  EXPECT_FALSE(again.counted);
  EXPECT_EQ(again.why,
            "is in the log as finished 2026-11-25T12:00:00Z (by hand; not failed); it counts once");
  EXPECT_TRUE(log(entry(kNoon + 4000, path)).counted) << "it may have been printed again";
  EXPECT_TRUE(log(entry(kNoon - 4000, path)).counted);
  EXPECT_EQ(weeks().at(0).prints, 3U);
}

TEST_F(PrintLog, OnAnotherUnitOrOfAnotherContentItIsAnother) {
  PrintEntry first = entry(kNoon, plate());
  first.unit = "1";
  PrintEntry second = first;
  second.unit = "2";
  EXPECT_TRUE(log(first).counted);
  EXPECT_TRUE(log(second).counted);
  EXPECT_TRUE(log(entry(kNoon, plate("other.gcode"))).counted);
  EXPECT_FALSE(log(second).counted);
}

TEST_F(PrintLog, AnotherOutcomeOfTheSamePrintIsRefused) {
  PrintEntry print = entry(kNoon, plate());
  print.good_parts = 4;
  EXPECT_TRUE(log(print).counted);
  print.good_parts = 3;
  EXPECT_EQ(fault(print, &machine_),
            print.path +
                ": is in the log as finished 2026-11-25T12:00:00Z (by hand; not failed, 4 "
                "good), and now as not failed, 3 good");
  print.good_parts.reset();
  EXPECT_FALSE(log(print).counted) << "who does not say how many does not contradict";
  print.failed = true;
  print.share = 0.25;
  EXPECT_TRUE(fault(print, &machine_).ends_with("and now as failed, 0.25 of it used, 0 good"))
      << fault(print, &machine_);
}

TEST_F(PrintLog, APrintThatWasLoggedAsGoodIsNoFailedOne) {
  PrintEntry print = entry(kNoon, plate());
  EXPECT_TRUE(log(print).counted);
  print.failed = true;
  EXPECT_TRUE(fault(print, &machine_).ends_with("(by hand; not failed), and now as failed, 0 good"))
      << fault(print, &machine_);
}

TEST_F(PrintLog, AFailedPrintCountsWhatItUsed) {
  const std::string path = plate();
  const LoggedPrint whole = log(entry(kNoon, path));
  PrintEntry failed = entry(kNoon + 20000, path);
  failed.failed = true;
  failed.share = 0.25;
  const LoggedPrint quarter = log(failed);
  EXPECT_DOUBLE_EQ(*quarter.purge_g, 0.25 * *whole.purge_g);
  EXPECT_DOUBLE_EQ(*quarter.energy_wh, 0.25 * *whole.energy_wh);
  const PrintedWeek week = weeks().at(0);
  EXPECT_EQ(week.prints, 2U);
  EXPECT_EQ(week.failed, 1U);
  EXPECT_NEAR(week.purge_g, 1.25 * *whole.purge_g, 1e-12);
  EXPECT_EQ(week.without_good, 1U) << "of a failed print no part is good";
}

TEST_F(PrintLog, WeeksBeginOnMondayAndAreMachinesApart) {
  const std::string path = plate();
  constexpr std::int64_t kDay = 86400;
  log(entry(kNoon - 2 * kDay, path));  // Monday noon
  log(entry(kNoon - 3 * kDay, path));  // Sunday before
  log(entry(kNoon + 4 * kDay, path));  // Sunday of the week
  const Machine other = load_machine("switcher-4").machine();
  log_print(entry(kNoon, path), &other, options_);
  const std::vector<PrintedWeek> all = weeks();
  ASSERT_EQ(all.size(), 3U);
  EXPECT_EQ(all[0].monday, "2026-11-16");
  EXPECT_EQ(all[0].prints, 1U);
  EXPECT_EQ(all[1].monday, "2026-11-23");
  EXPECT_EQ(all[1].machine, "changer-5");
  EXPECT_EQ(all[1].prints, 2U);
  EXPECT_EQ(all[2].machine, "switcher-4");
}

TEST_F(PrintLog, WithoutAMachineTheHistoryMustKnowOne) {
  const std::string path = plate();
  EXPECT_EQ(fault(entry(kNoon, path), nullptr), at("h.sqlite") + ": there is no such history");
  log(entry(kNoon, plate("first.gcode")));
  EXPECT_EQ(fault(entry(kNoon, path), nullptr),
            path + ": is not in the history; --machine says what printed it");
  log(entry(kNoon, path));
  EXPECT_EQ(fault(entry(kNoon + 90000, path), nullptr), "logged") << "there is one";
  const Machine other = load_machine("switcher-4").machine();
  log_print(entry(kNoon, path), &other, options_);
  EXPECT_EQ(fault(entry(kNoon + 190000, path), nullptr),
            path + ": was tallied on several machines; --machine says which printed it");
}

TEST_F(PrintLog, WhatIsNoPlateIsAFault) {
  EXPECT_EQ(fault(entry(kNoon, at("none.gcode")), &machine_),
            at("none.gcode") + ": cannot be read");
  const std::string empty = put("empty.gcode", "");
  EXPECT_EQ(fault(entry(kNoon, empty), &machine_), empty + ": the file is empty");
  PrintEntry member = entry(kNoon, plate());
  member.member = "b.gcode";
  EXPECT_EQ(fault(member, &machine_), member.path + ": holds no plate 'b.gcode'");
}

TEST_F(PrintLog, OfAFolderEveryFileCountsOnce) {
  plate("finished/a.gcode");
  plate("finished/b.gcode");
  put("finished/broken.gcode", "");
  const std::vector<LoggedPrint> first = log_finished_folder(at("finished"), &machine_, options_);
  ASSERT_EQ(first.size(), 3U);
  EXPECT_TRUE(first[0].counted);
  EXPECT_TRUE(first[1].counted);
  EXPECT_TRUE(first[2].is_fault);
  EXPECT_EQ(first[2].why, at("finished/broken.gcode") + ": the file is empty");
  options_.now_s = [] { return kNoon + 900000; };
  for (const LoggedPrint& again : log_finished_folder(at("finished"), &machine_, options_))
    EXPECT_FALSE(again.counted) << "days later, too";
  const std::vector<LoggedPrint> nowhere = log_finished_folder(at("nowhere"), &machine_, options_);
  ASSERT_EQ(nowhere.size(), 1U) << "a folder that is not there is a plate that is not";
  EXPECT_TRUE(nowhere[0].is_fault);
  EXPECT_EQ(nowhere[0].why, at("nowhere") + ": cannot be read");
}

class PrintsOfAPlan : public PrintLog {
 protected:
  /// One run from 8:00 to 10:00 and one from 10:00 to 12:00, of a queue that lies beside it.
  std::string plan(const std::string& machine = "bench", const std::string& job = "tags") const {
    plate();
    put("queue.toml",
        "start = \"2026-05-04 08:00\"\n[[machines]]\nname = \"bench\"\nmachine = \"changer-5\"\n"
        "attended = [\"mon-fri 07:30-17:00\"]\n"
        "[[jobs]]\nname = \"tags\"\nplate = \"tag.gcode\"\ncopies = 4\n");
    const auto run = [&](const char* id, int from_h, int to_h) {
      return "{\"id\": \"" + std::string(id) + "\", \"state\": \"planned\", \"job\": \"" + job +
             "\", \"machine\": \"" + machine + "\", \"instance\": 1, \"times\": 1, \"parts\": 4, " +
             "\"start_s\": " + std::to_string(kDay + from_h * 3600) +
             ", \"end_s\": " + std::to_string(kDay + to_h * 3600) +
             ", \"swaps\": 3, \"part_g\": 10, \"purge_g\": 2, \"energy_wh\": 100, \"cost\": 1.5}";
    };
    return "{\"schema\": \"platetally.plan/1\", \"currency\": \"EUR\", \"queue\": \"" +
           at("queue.toml") + "\", \"runs\": [" + run("r1", 8, 10) + ", " + run("r2", 10, 12) +
           "]}";
  }
  std::vector<LoggedPrint> log_until(double hour, const std::vector<std::string>& failed = {},
                                     double utc_offset_h = 0.0) const {
    return log_plan_prints(plan(), "plan.json",
                           {kDay + static_cast<std::int64_t>(3600.0 * hour), utc_offset_h, failed},
                           options_);
  }
  std::string fault_of(const std::string& json, const std::vector<std::string>& failed = {}) const {
    try {
      log_plan_prints(json, "plan.json", {kDay + 86400, 0.0, failed}, options_);
    } catch (const std::exception& error) {
      return error.what();
    }
    return "logged";
  }
  static constexpr std::int64_t kDay = 1777852800;  // Monday, 2026-05-04
};

TEST_F(PrintsOfAPlan, AreTheRunsThatHaveEnded) {
  EXPECT_TRUE(log_until(9.9).empty());
  const std::vector<LoggedPrint> one = log_until(10.0);
  ASSERT_EQ(one.size(), 1U);
  EXPECT_TRUE(one[0].counted);
  EXPECT_EQ(one[0].unit, "bench 1");
  EXPECT_EQ(one[0].finished_s, kDay + 36000);
  const std::vector<LoggedPrint> both = log_until(12.0);
  ASSERT_EQ(both.size(), 2U);
  EXPECT_FALSE(both[0].counted);
  EXPECT_TRUE(both[1].counted);
  const PrintedWeek week = weeks().at(0);
  EXPECT_EQ(week.monday, "2026-05-04");
  EXPECT_EQ(week.prints, 2U);
  EXPECT_EQ(week.good_parts, 8U);
  EXPECT_DOUBLE_EQ(week.hours, 4.0);
  EXPECT_DOUBLE_EQ(week.purge_g, 4.0);
  EXPECT_DOUBLE_EQ(*week.cost, 3.0);
  EXPECT_EQ(week.currency, "EUR");
}

TEST_F(PrintsOfAPlan, AFailedRunIsLoggedOnceItHasStarted) {
  EXPECT_EQ(log_until(9.0, {"r2"}).size(), 0U) << "neither has ended, and it has not begun";
  const std::vector<LoggedPrint> failed = log_until(11.0, {"r2"});
  ASSERT_EQ(failed.size(), 2U);
  EXPECT_EQ(failed[1].finished_s, kDay + 11 * 3600) << "by now";
  EXPECT_EQ(weeks().at(0).failed, 1U);
  EXPECT_EQ(weeks().at(0).good_parts, 4U);
}

TEST_F(PrintsOfAPlan, TheWorkshopsClockMayRunAheadOfUtc) {
  EXPECT_EQ(log_until(10.0, {}, 2.0).at(0).finished_s, kDay + 8 * 3600);
}

TEST_F(PrintsOfAPlan, WhatIsNoPlanOrNamesNothingIsRefused) {
  const std::string no_plan =
      "plan.json: is no plan; expected the JSON that platetally plan writes";
  for (const char* text :
       {"", "[]", "{}", "{\"schema\": \"platetally.plan/2\"}", "{\"schema\": 3}"})
    EXPECT_EQ(fault_of(text), no_plan) << text;
  EXPECT_EQ(fault_of("{\"schema\": \"platetally.plan/1\"}"),
            "plan.json: is not as platetally plan writes it");
  EXPECT_EQ(fault_of("{\"schema\": \"platetally.plan/1\", \"queue\": \"" + at("none.toml") +
                     "\", \"currency\": \"\", \"runs\": []}"),
            at("none.toml") + ": the queue of the plan cannot be read any more");
  EXPECT_EQ(fault_of(plan(), {"r9"}), "plan.json: has no run 'r9'");
  EXPECT_EQ(fault_of(plan("shelf")), at("queue.toml") + ": has no machine 'shelf' any more");
  EXPECT_EQ(fault_of(plan("bench", "oak")), at("queue.toml") + ": has no job 'oak' any more");
}

}  // namespace
}  // namespace platetally
