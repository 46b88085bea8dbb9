// A queue of the demo's plates from file to plan.
#include "platetally/plan.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <map>
#include <set>

#include "platetally/plate.hpp"
#include "platetally/report.hpp"
#include "support.hpp"
#include "support/temp_folder.hpp"

namespace platetally {
namespace {

Queue week() {
  QueueLoad load = load_queue(test::testdata("demo/week.toml"));
  EXPECT_TRUE(load.usable);
  return load.queue;
}

/// The machine's hours in which somebody is there, minute by minute.
bool attended(const QueueMachine& machine, std::int64_t at_s) {
  const std::int64_t monday_s = *parse_moment("2026-05-04 00:00");
  const std::int64_t second = (at_s - monday_s) % (7 * 86400);
  return std::ranges::any_of(machine.attended, [&](const WeekSpan& span) {
    return second >= span.from_s && second <= span.to_s;
  });
}

void expect_sound(const Plan& plan) {
  std::map<std::pair<std::size_t, int>, std::int64_t> free_s;
  std::map<std::pair<std::size_t, int>, std::vector<std::string>> held;
  std::vector<int> parts(plan.queue.jobs.size());
  std::set<std::string> ids;
  for (const PlanRun& run : plan.runs) {
    EXPECT_TRUE(ids.insert(run.id).second) << run.id;
    if (run.state == RunState::failed)
      continue;
    parts[run.job] += run.parts;
    const QueueMachine& machine = plan.queue.machines[run.machine];
    auto& busy_until_s = free_s[{run.machine, run.instance}];
    EXPECT_LT(run.instance, machine.count);
    EXPECT_GE(run.setup_s, busy_until_s) << run.id;
    EXPECT_GE(run.end_s, run.start_s);
    EXPECT_EQ(run.parts, run.times * plan.queue.jobs[run.job].parts);
    if (run.state == RunState::planned) {
      EXPECT_TRUE(attended(machine, run.setup_s) && attended(machine, run.start_s - 1)) << run.id;
      for (const std::string& colour : plan.queue.jobs[run.job].colours)
        EXPECT_NE(std::ranges::find(run.loaded, colour), run.loaded.end()) << run.id;
    }
    EXPECT_LE(run.loaded.size(), machine.machine.tools.size());
    busy_until_s = run.end_s;
  }
  for (const PlannedJob& job : plan.jobs) {
    EXPECT_EQ(job.parts, parts[job.job]);
    EXPECT_GE(job.parts, plan.queue.jobs[job.job].copies);
  }
  for (const PlanBound& bound : plan.bounds) {
    EXPECT_LE(bound.bound, bound.value) << bound.measure;
    EXPECT_GE(bound.gap, 0.0);
    EXPECT_LT(bound.gap, 1.0);
  }
  for (const double watts : plan.power.highest_w)
    EXPECT_LE(watts, plan.queue.power_limit_w.value_or(1e6));
}

TEST(Plan, TheDemoWeekByEachAimIsNoWorseThanAnyRuleOrOtherAim) {
  const Queue queue = week();
  std::map<std::string, Plan> plans;
  for (const auto& [name, aim] : std::map<std::string, PlanAim>{{"cost", {1, 0, 0, 0}},
                                                                {"finish", {0, 1, 0, 0}},
                                                                {"waste", {0, 0, 1, 0}},
                                                                {"energy", {0, 0, 0, 1}}}) {
    PlanOptions options;
    options.aim = aim;
    plans[name] = make_plan(queue, options);
    expect_sound(plans[name]);
    EXPECT_EQ(plans[name].sums.late_jobs, 0) << name;
  }
  const auto measure = [](const PlanSums& sums, const std::string& name) {
    return name == "cost"     ? sums.cost
           : name == "finish" ? static_cast<double>(sums.finish_s)
           : name == "waste"  ? sums.purge_g
                              : sums.energy_wh;
  };
  for (const auto& [name, plan] : plans) {
    for (const auto& [other_name, other] : plans)
      EXPECT_LE(measure(plan.sums, name), measure(other.sums, name) * (1.0 + 1e-9))
          << name << " against " << other_name;
    for (const PlanSums& rule : plan.rules)
      if (rule.possible && rule.late_jobs == 0) {
        EXPECT_LE(measure(plan.sums, name), measure(rule, name) * (1.0 + 1e-9))
            << name << " against " << rule.name;
      }
  }
}

TEST(Plan, TheSameBytesWhateverTheThreads) {
  const Queue queue = week();
  PlanOptions options;
  const std::string one = to_json(make_plan(queue, options));
  options.threads = 3;
  EXPECT_EQ(one, to_json(make_plan(queue, options)));
}

TEST(Plan, WhatIsPrintedStaysAndTheRestIsPlannedAgain) {
  const Queue queue = week();
  const Plan first = make_plan(queue);
  PlanOptions options;
  options.earlier = read_plan(to_json(first));
  options.now_s = parse_moment("2026-05-05 09:00");
  const PlanRun* printing = nullptr;
  for (const PlanRun& run : first.runs)
    if (run.setup_s < *options.now_s && run.end_s > *options.now_s)
      printing = &run;
  ASSERT_NE(printing, nullptr);
  const Plan again = make_plan(queue, options);
  expect_sound(again);
  for (const PlanRun& run : first.runs) {
    const auto kept = std::ranges::find(again.runs, run.id, &PlanRun::id);
    if (run.setup_s >= *options.now_s) {
      EXPECT_TRUE(kept == again.runs.end() || kept->setup_s >= *options.now_s);
      continue;
    }
    ASSERT_NE(kept, again.runs.end());
    EXPECT_EQ(kept->state, run.end_s <= *options.now_s ? RunState::done : RunState::printing);
    EXPECT_EQ(kept->start_s, run.start_s);
    EXPECT_DOUBLE_EQ(kept->energy_wh, run.energy_wh);
  }
  // What fails is printed again, and costs again.
  options.failed = {printing->id};
  const Plan failed = make_plan(queue, options);
  expect_sound(failed);
  EXPECT_GT(failed.sums.energy_wh, again.sums.energy_wh);
  options.failed = {"r99"};
  EXPECT_THROW(make_plan(queue, options), std::invalid_argument);
  // A machine that is down for good prints nothing more.
  options.failed.clear();
  options.down = {{"switcher 2", std::nullopt}};
  const Plan down = make_plan(queue, options);
  for (const PlanRun& run : down.runs)
    EXPECT_FALSE(run.state == RunState::planned && run.machine == 1 && run.instance == 1) << run.id;
  EXPECT_EQ(
      std::ranges::count_if(
          down.jobs, [&](const PlannedJob& job) { return job.parts < queue.jobs[job.job].copies; }),
      0);
  options.down = {{"swicher", std::nullopt}};
  EXPECT_THROW(make_plan(queue, options), std::invalid_argument);
}

TEST(Plan, AJobThatFitsNowhereIsSaidAndTheOthersArePlanned) {
  Queue queue = week();
  queue.jobs[3].machines = {1};
  queue.jobs[3].colours = {"black", "white", "red", "yellow"};
  queue.jobs[3].path = test::testdata("plates/none.gcode");
  queue.power_limit_w.reset();
  const Plan plan = make_plan(queue);
  ASSERT_EQ(plan.problems.size(), 1U);
  EXPECT_NE(plan.problems[0].find("fits on no machine, it is left out: on switcher: "),
            std::string::npos)
      << plan.problems[0];
  EXPECT_TRUE(plan.leaves_out());
  EXPECT_EQ(plan.jobs[3].parts, 0);
  EXPECT_FALSE(plan.jobs[3].why_not.empty());
  EXPECT_EQ(plan.jobs[0].parts, 144);
  queue.power_limit_w = 50.0;
  const Plan dark = make_plan(queue);
  EXPECT_TRUE(dark.runs.empty());
  EXPECT_EQ(dark.problems.size(), 5U);
}

TEST(Plan, WithoutPricesItIsByFinishAndCostIsAnError) {
  Queue queue = week();
  queue.prices.reset();
  const Plan plan = make_plan(queue);
  EXPECT_EQ(plan.asked, "hours until all is done");
  EXPECT_TRUE(nlohmann::json::parse(to_json(plan)).at("sums").at("cost").is_null());
  PlanOptions options;
  options.aim.cost = 1.0;
  EXPECT_THROW(make_plan(queue, options), std::invalid_argument);
}

TEST(Plan, ReadsNothingButAPlan) {
  for (const char* text : {"", "{}", "[]", "{\"schema\": \"platetally.tally/1\"}",
                           "{\"schema\": \"platetally.plan/1\"}",
                           "{\"schema\": \"platetally.plan/1\", \"queue\": \"q\", \"runs\": [1]}",
                           "{\"schema\": \"platetally.plan/1\", \"queue\": \"q\", \"runs\": [{}]}"})
    EXPECT_THROW(read_plan(text), std::invalid_argument) << text;
}

TEST(Plan, ItsPageAndTableHoldEveryRun) {
  Queue queue = week();
  queue.jobs[0].name = "<b>labels</b> & \"more\"";
  const Plan plan = make_plan(queue);
  const std::string page = to_html(plan);
  EXPECT_EQ(page.find("<b>labels"), std::string::npos);
  EXPECT_NE(page.find("&lt;b&gt;labels"), std::string::npos);
  const std::string csv = to_csv(plan);
  EXPECT_EQ(static_cast<std::size_t>(std::ranges::count(csv, '\n')), plan.runs.size() + 1);
  for (const PlanRun& run : plan.runs)
    EXPECT_NE(page.find(fmt::format(">{}<", run.id)), std::string::npos) << run.id;
  for (std::size_t job = 1; job < queue.jobs.size(); ++job)
    EXPECT_NE(page.find(fmt::format(">{}<", queue.jobs[job].name)), std::string::npos);
}

// The what-if behind the batches against plates that were made with the copies on them: twice and
// six times the tags of the demo, by plate-maker, on the same bed. Of the tower, the lines before
// its first swap count as part or not, whichever the reading is sure of: up to 1 % of so small a
// plate's part. Travel between more parts, and where they lie, are the plate-maker's own.
TEST(Plan, BatchesComeNearPlatesMadeThatWay) {
  const test::TempFolder temp;
  const std::string recipe =
      "labels --tools 2 --size 46,16 --gap 5 --origin 90,90 --layers 5 --upper-layers 2 --purge "
      "tower --purge-mm3 45 --tower-side 18 --comments trade ";
  const Machine machine = test::embedded("changer-5");
  const Plate plate = keep_plate(test::testdata("demo/tags.gcode.gz"), machine);
  const struct {
    int times;
    const char* copies;
    const char* purge_at;
  } cases[] = {{2, "2x4", "205,90"}, {6, "4x6", "320,90"}};
  for (const auto& one : cases) {
    const std::string path = (temp.path() / fmt::format("{}.gcode", one.times)).string();
    const std::string command =
        fmt::format("'{}' {} --copies {} --purge-at {} -o '{}'", PLATETALLY_PLATE_MAKER, recipe,
                    one.copies, one.purge_at, path);
    ASSERT_EQ(std::system(command.c_str()), 0) << command;
    const Account made = analyze_file(path, machine);
    Variant variant;
    variant.repeat = one.times;
    const Played played = plate.play(variant);
    ASSERT_TRUE(played.ok()) << played.impossible;
    const Totals& tried = played.account.totals;
    EXPECT_EQ(tried.swaps, made.totals.swaps);
    EXPECT_NEAR(tried.part_g, made.totals.part_g, 0.01 * made.totals.part_g);
    EXPECT_NEAR(tried.time_by.print_s, made.totals.time_by.print_s,
                0.02 * made.totals.time_by.print_s);
    EXPECT_NEAR(tried.time.expected, made.totals.time.expected, 0.05 * made.totals.time.expected);
    EXPECT_NEAR(tried.energy_wh, made.totals.energy_wh, 0.15 * made.totals.energy_wh);
    EXPECT_NEAR(tried.purge_g + tried.start_up_g, made.totals.purge_g + made.totals.start_up_g,
                0.2);
  }
}

}  // namespace
}  // namespace platetally
