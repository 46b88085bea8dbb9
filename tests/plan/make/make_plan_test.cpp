// From a small queue to its plan: every figure of a run, a job and a machine, and what is refused.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "support/planning.hpp"

namespace platetally {
namespace {

using test::FramePlate;
using test::Workshop;

constexpr std::int64_t kHour_s = 3600;
constexpr std::int64_t kDay_s = 24 * kHour_s;
constexpr std::int64_t kMonday_s = Workshop::kMonday_s;

class MakePlan : public test::Planning {};

Prices some_prices(const std::string& currency = "EUR") {
  Prices prices;
  prices.currency = currency;
  prices.filament_per_kg = 20.0;
  prices.energy_per_kwh = 0.3;
  prices.labour_per_plate = 1.0;
  return prices;
}

TEST_F(MakePlan, OneTagIsSetUpStartedAndDoneAsItsAccountSays) {
  QueueMachine& machine = shop_.add_machine("changer", "changer-5");
  machine.handling_s = 420.0;
  machine.loaded = {"filament 0"};
  const QueueJob& job = shop_.add_job("tags", {}, 1);
  const Plan plan = make();
  ASSERT_EQ(plan.runs.size(), 1U);
  const PlanRun& run = plan.runs[0];
  EXPECT_EQ(run.id, "r1");
  EXPECT_EQ(run.state, RunState::planned);
  EXPECT_EQ(run.setup_s, shop_.queue.start_s);
  EXPECT_EQ(run.start_s, run.setup_s + 420);
  EXPECT_EQ(run.end_s, run.start_s + seconds_of(job.path));
  EXPECT_TRUE(run.put_in.empty());
  EXPECT_EQ(run.loaded, (std::vector<std::string>{"filament 0"}));
  EXPECT_EQ(run.unattended_s, 0.0);
  EXPECT_EQ(plan.sums.manual_s, 420.0);
  EXPECT_EQ(plan.sums.finish_s, run.end_s);
  EXPECT_FALSE(plan.leaves_out());
  EXPECT_TRUE(plan.problems.empty());
}

TEST_F(MakePlan, SpoolsThatAreNotLoadedArePutInAndTakeTheirTime) {
  QueueMachine& machine = shop_.add_machine("changer", "changer-5");
  machine.handling_s = 300.0;
  machine.spool_change_s = 200.0;
  machine.loaded = {"black", "white"};
  QueueJob& job = shop_.add_job("tags", {40.0, 20.0, 2, {0, 1, 2}}, 1);
  job.colours = {"green", "white", "blue"};
  const Plan plan = make();
  ASSERT_EQ(plan.runs.size(), 1U);
  const PlanRun& run = plan.runs[0];
  std::vector<std::string> put_in = run.put_in;
  std::ranges::sort(put_in);
  EXPECT_EQ(put_in, (std::vector<std::string>{"blue", "green"}));
  EXPECT_EQ(run.start_s, run.setup_s + 300 + 2 * 200);
  EXPECT_EQ(plan.sums.changes, 2);
  EXPECT_EQ(plan.machines[0].changes, 2);
  EXPECT_EQ(plan.machines[0].manual_s, 700.0);
  EXPECT_EQ(plan.jobs[0].manual_s, 700.0);
}

TEST_F(MakePlan, ChangingSpoolsCostsLabour) {
  QueueMachine& machine = shop_.add_machine("changer", "changer-5");
  machine.spool_change_s = 720.0;  // a fifth of an hour
  QueueJob& job = shop_.add_job("tags", {}, 1);
  job.colours = {"green"};
  machine.loaded = {"green"};
  shop_.queue.prices = some_prices();
  shop_.queue.labour_per_h = 25.0;
  const double loaded = make().sums.cost;
  machine.loaded = {"white"};
  EXPECT_NEAR(make().sums.cost, loaded + 5.0, 1e-9);
}

TEST_F(MakePlan, NothingIsSetUpBeforeSomebodyComes) {
  QueueMachine& machine = shop_.add_machine("changer", "changer-5");
  machine.attended = {{9 * kHour_s, 17 * kHour_s}};  // Mondays
  machine.handling_s = 600.0;
  shop_.add_job("tags", {}, 1).colours = {"green"};
  machine.loaded = {"green"};
  shop_.queue.start_s = kMonday_s + 5 * kHour_s;
  EXPECT_EQ(make().runs.at(0).setup_s, kMonday_s + 9 * kHour_s);
  // Ten minutes of handling do not fit into the last nine.
  shop_.queue.start_s = kMonday_s + 17 * kHour_s - 540;
  EXPECT_EQ(make().runs.at(0).setup_s, kMonday_s + 7 * kDay_s + 9 * kHour_s);
  shop_.queue.start_s = kMonday_s + 17 * kHour_s - 600;
  EXPECT_EQ(make().runs.at(0).setup_s, shop_.queue.start_s);
}

TEST_F(MakePlan, HoursWithNobodyThereAreCounted) {
  QueueMachine& machine = shop_.add_machine("switcher", "switcher-4");
  machine.handling_s = 0.0;
  machine.loaded = {"filament 0"};
  const QueueJob& job = shop_.add_job("trays", {90.0, 60.0, 130}, 1);
  const std::int64_t print_s = seconds_of(job.path);
  ASSERT_GT(print_s, 600);
  machine.attended = {{8 * kHour_s, 8 * kHour_s + 500}};
  const Plan plan = make();
  EXPECT_EQ(plan.runs.at(0).start_s, shop_.queue.start_s);
  EXPECT_EQ(plan.runs[0].unattended_s, static_cast<double>(print_s - 500));
  EXPECT_EQ(plan.machines[0].unattended_s, plan.runs[0].unattended_s);
  EXPECT_EQ(plan.machines[0].printing_s, static_cast<double>(print_s));
}

TEST_F(MakePlan, AMachineThatIsNotToBeHadYetBeginsLater) {
  QueueMachine& machine = shop_.add_machine("changer", "changer-5");
  machine.loaded = {"filament 0"};
  shop_.add_job("tags", {}, 1);
  machine.down_until_s = kMonday_s + 11 * kHour_s;
  EXPECT_EQ(make().runs.at(0).setup_s, kMonday_s + 11 * kHour_s);
  machine.down_until_s = kMonday_s;  // past
  EXPECT_EQ(make().runs.at(0).setup_s, shop_.queue.start_s);
}

TEST_F(MakePlan, WithoutAnAimItIsCostWhereEverythingHasAPriceElseFinish) {
  shop_.add_machine("changer", "changer-5");
  shop_.add_machine("switcher", "switcher-4").prices = some_prices();
  shop_.add_job("tags", {}, 1);
  const Plan half = make();
  EXPECT_EQ(half.asked, "hours until all is done");
  EXPECT_EQ(half.aim.finish, 1.0);
  EXPECT_EQ(half.aim.cost, 0.0);
  EXPECT_EQ(half.currency, "");
  EXPECT_EQ(std::ranges::count(half.bounds, "cost", &PlanBound::measure), 0);
  shop_.queue.prices = some_prices();
  const Plan priced = make();
  EXPECT_EQ(priced.asked, "cost");
  EXPECT_EQ(priced.currency, "EUR");
  EXPECT_EQ(std::ranges::count(priced.bounds, "cost", &PlanBound::measure), 1);
}

TEST_F(MakePlan, WhatIsAskedIsSaidWithItsWeights) {
  shop_.add_machine("changer", "changer-5");
  shop_.add_job("tags", {}, 1);
  shop_.queue.prices = some_prices();
  shop_.queue.late_per_h = 4.0;
  options_.aim = {0.5, 2.0, 0.0, 1.0};
  EXPECT_EQ(make().asked, "0.5 x cost + 2 x hours until all is done + kWh + 2 an hour late");
  // The price of being late counts where cost does.
  options_.aim = {0.0, 0.0, 0.25, 0.0};
  EXPECT_EQ(make().asked, "0.25 x grams purged");
}

TEST_F(MakePlan, WhatCannotBePlannedIsRefusedInOneLine) {
  EXPECT_EQ(refusal(), "there is nothing to plan: no job, or no machine");
  shop_.add_machine("changer", "changer-5");
  EXPECT_EQ(refusal(), "there is nothing to plan: no job, or no machine");
  shop_.add_machine("switcher", "switcher-4");
  shop_.add_job("tags", {}, 1);
  options_.aim.cost = 1.0;
  EXPECT_EQ(refusal(),
            "planning by cost needs prices of every machine: give the queue prices = \"FILE\", or "
            "plan by finish, waste or energy");
  shop_.queue.machines[0].prices = some_prices("EUR");
  shop_.queue.machines[1].prices = some_prices("points");
  EXPECT_EQ(refusal(), "prices are in EUR and in points; expected one currency");
}

TEST_F(MakePlan, AJobThatDrawsMoreThanTheLimitIsLeftOutWithBothFigures) {
  shop_.add_machine("changer", "changer-5");
  shop_.add_job("tags", {}, 2);
  shop_.queue.power_limit_w = 20.0;
  const Plan plan = make();
  EXPECT_TRUE(plan.runs.empty());
  EXPECT_TRUE(plan.leaves_out());
  ASSERT_EQ(plan.jobs[0].why_not.size(), 1U);
  EXPECT_TRUE(plan.jobs[0].why_not[0].starts_with("on changer: it draws "));
  EXPECT_TRUE(plan.jobs[0].why_not[0].ends_with(" W, more than the limit of 20 W"));
  ASSERT_EQ(plan.problems.size(), 1U);
  EXPECT_EQ(plan.problems[0],
            "job 'tags' fits on no machine, it is left out: " + plan.jobs[0].why_not[0]);
}

TEST_F(MakePlan, AJobIsLeftOutForEveryReasonThatThereIs) {
  shop_.add_machine("changer", "changer-5");
  shop_.add_machine("switcher", "switcher-4");
  shop_.add_job("tags", {40.0, 20.0, 2, {0, 4}}, 1);
  shop_.add_job("trays", {}, 1);
  options_.down = {{"changer", std::nullopt}};
  const Plan plan = make();
  ASSERT_EQ(plan.problems.size(), 1U);
  EXPECT_EQ(plan.problems[0],
            "job 'tags' fits on no machine, it is left out: on switcher: it prints with tool 4, "
            "and the last tool of switcher-4 is 3; on changer: down for good");
  EXPECT_EQ(plan.jobs[0].plates, 0);
  EXPECT_FALSE(plan.jobs[0].finish_s);
  EXPECT_TRUE(plan.jobs[1].why_not.empty()) << "it is printed on the other machine";
  EXPECT_EQ(plan.jobs[1].parts, 1);
}

TEST_F(MakePlan, LateIsWhatLiesBehindTheDate) {
  QueueMachine& machine = shop_.add_machine("changer", "changer-5");
  machine.loaded = {"filament 0"};
  shop_.add_job("tags", {}, 1).due_s = shop_.queue.start_s + 60;
  const Plan plan = make();
  const double late_s = static_cast<double>(plan.runs.at(0).end_s - shop_.queue.start_s - 60);
  EXPECT_GT(late_s, 0.0);
  EXPECT_EQ(plan.jobs[0].late_s, late_s);
  EXPECT_EQ(plan.sums.late_jobs, 1);
  EXPECT_NEAR(plan.sums.late_h, late_s / 3600.0, 1e-12);
  shop_.queue.jobs[0].due_s = plan.runs[0].end_s;
  EXPECT_EQ(make().jobs[0].late_s, 0.0);
  EXPECT_EQ(make().sums.late_jobs, 0);
}

TEST_F(MakePlan, MoneyOfARunIsThatOfTheHourInWhichItStarts) {
  QueueMachine& machine = shop_.add_machine("changer", "changer-5");
  machine.loaded = {"filament 0"};
  machine.handling_s = 600.0;
  machine.attended = {{10 * kHour_s + 1800, 10 * kHour_s + 3600}};  // starts at 10:40
  Prices prices = some_prices();
  prices.energy_per_kwh.reset();
  for (int hour = 0; hour < 24; ++hour)
    prices.energy_per_kwh_by_hour.push_back(0.1 + 0.05 * hour);
  shop_.queue.prices = prices;
  const QueueJob& job = shop_.add_job("tags", {}, 1);
  const Plan plan = make();
  ASSERT_EQ(plan.runs.at(0).start_s, kMonday_s + 10 * kHour_s + 2400);
  const Account account = analyze_file(job.path, machine.machine);
  prices.start_hour = 10.0;
  EXPECT_DOUBLE_EQ(plan.runs[0].cost, cost_of_plate(account, prices, 1).total());
  EXPECT_LT(plan.batches.at(0).cost, plan.runs[0].cost) << "midnight would have been cheaper";
}

TEST_F(MakePlan, WhatRunsAddUpToIsWhatJobsMachinesAndThePlanSay) {
  for (const char* name : {"changer", "second changer"}) {
    QueueMachine& machine = shop_.add_machine(name, "changer-5");
    machine.attended = {{8 * kHour_s, 8 * kHour_s + 1800}, {32 * kHour_s, 33 * kHour_s}};
    machine.loaded = {"green", "white"};
  }
  shop_.queue.machines[1].count = 2;
  shop_.queue.prices = some_prices();
  shop_.queue.labour_per_h = 12.0;
  shop_.add_job("tags", {40.0, 20.0, 2, {0, 1}}, 7).colours = {"green", "white"};
  shop_.add_job("trays", {90.0, 60.0, 3, {0, 1}}, 9).colours = {"red", "white"};
  shop_.add_job("lanterns", {60.0, 60.0, 6}, 4).colours = {"black"};
  const Plan plan = make();
  double cost = 0.0, purge_g = 0.0, energy_wh = 0.0, manual_s = 0.0;
  std::int64_t last_s = 0;
  int changes = 0;
  std::vector<int> parts(3);
  std::map<std::string, int> ids;
  for (const PlanRun& run : plan.runs) {
    cost += run.cost;
    purge_g += run.purge_g;
    energy_wh += run.energy_wh;
    changes += static_cast<int>(run.put_in.size());
    manual_s += 600.0 + 300.0 * static_cast<double>(run.put_in.size());
    last_s = std::max(last_s, run.end_s);
    parts[run.job] += run.parts;
    EXPECT_EQ(++ids[run.id], 1);
  }
  EXPECT_EQ(parts, (std::vector<int>{7, 9, 4}));
  EXPECT_EQ(plan.sums.changes, changes);
  EXPECT_NEAR(plan.sums.cost, cost + 12.0 * changes * 300.0 / 3600.0, 1e-9);
  EXPECT_NEAR(plan.sums.purge_g, purge_g, 1e-9);
  EXPECT_NEAR(plan.sums.energy_wh, energy_wh, 1e-9);
  EXPECT_NEAR(plan.sums.manual_s, manual_s, 1e-9);
  EXPECT_EQ(plan.sums.finish_s, last_s);
  const auto over_jobs = [&](double PlannedJob::*what) {
    double sum = 0.0;
    for (const PlannedJob& job : plan.jobs)
      sum += job.*what;
    return sum;
  };
  const auto over_machines = [&](double PlannedMachine::*what) {
    double sum = 0.0;
    for (const PlannedMachine& machine : plan.machines)
      sum += machine.*what;
    return sum;
  };
  ASSERT_EQ(plan.machines.size(), 3U);
  EXPECT_NEAR(over_jobs(&PlannedJob::cost), cost, 1e-9);
  EXPECT_NEAR(over_machines(&PlannedMachine::cost), cost, 1e-9);
  EXPECT_NEAR(over_jobs(&PlannedJob::energy_wh), energy_wh, 1e-9);
  EXPECT_NEAR(over_machines(&PlannedMachine::energy_wh), energy_wh, 1e-9);
  EXPECT_NEAR(over_jobs(&PlannedJob::purge_g), purge_g, 1e-9);
  EXPECT_NEAR(over_machines(&PlannedMachine::purge_g), purge_g, 1e-9);
  EXPECT_NEAR(over_jobs(&PlannedJob::manual_s), manual_s, 1e-9);
  EXPECT_NEAR(over_machines(&PlannedMachine::manual_s), manual_s, 1e-9);
}

TEST_F(MakePlan, SaysWhatItWasMadeFrom) {
  shop_.add_machine("changer", "changer-5").prices = some_prices();
  shop_.add_machine("second changer", "changer-5");
  shop_.add_job("tags", {}, 1);
  shop_.queue.prices = some_prices("EUR");
  shop_.queue.path = shop_.put("week.toml", "# the week\n");
  options_.seed = 5;
  options_.aim.waste = 2.0;
  const Plan plan = make();
  EXPECT_EQ(option_of(plan, "now"), "2026-05-04 08:00");
  EXPECT_EQ(option_of(plan, "aim"), "cost=0,finish=0,waste=2,energy=0");
  EXPECT_EQ(option_of(plan, "seed"), "5");
  EXPECT_EQ(option_of(plan, "queue").size(), 32U) << "128 bits in hexadecimal";
  EXPECT_EQ(option_of(plan, "prices"), prices_hash(some_prices()));
  EXPECT_EQ(option_of(plan, "prices of changer"), prices_hash(some_prices()));
  for (const char* name : {"seconds", "failed", "down", "earlier", "prices of second changer"})
    EXPECT_EQ(option_of(plan, name), "(absent)") << name;
  EXPECT_EQ(plan.made_from.machines.size(), 1U) << "two of the same description are one machine";
  EXPECT_EQ(plan.made_from.plates.size(), 1U);
}

TEST_F(MakePlan, EveryBatchThatWasTriedIsInThePlan) {
  shop_.add_machine("changer", "changer-5");
  shop_.add_machine("single", "single-1");
  shop_.add_job("tags", {}, 3);
  shop_.add_job("wide", {60.0, 20.0, 2, {0}, 210, 200.0}, 1);
  const Plan plan = make();
  std::vector<std::string> rows;
  for (const BatchRow& row : plan.batches)
    rows.push_back(fmt::format("{} {} {}{}", row.job, row.machine, row.times,
                               row.impossible.empty() ? "" : " not"));
  EXPECT_EQ(rows, (std::vector<std::string>{"0 0 1", "0 0 2", "0 0 3", "0 1 1", "0 1 2", "0 1 3",
                                            "1 0 1", "1 1 1 not"}));
}

TEST_F(MakePlan, RulesAreNamedAndWhatCannotBeDoneByOneIsSaid) {
  shop_.add_machine("changer", "changer-5");
  shop_.add_machine("single", "single-1");
  shop_.add_job("tags", {40.0, 20.0, 2, {0, 1}}, 1);
  shop_.queue.jobs[0].colours = {"green", "white"};
  const Plan plan = make();
  std::map<std::string, bool> rules;
  for (const PlanSums& rule : plan.rules)
    rules[rule.name] = rule.possible;
  EXPECT_EQ(rules, (std::map<std::string, bool>{{"all on changer", true},
                                                {"all on single", false},
                                                {"best for each by itself", true},
                                                {"first come, first served", true}}));
}

TEST_F(MakePlan, NoBoundLiesAboveItsValueAndTheGapIsTheirDistance) {
  QueueMachine& machine = shop_.add_machine("changer", "changer-5");
  machine.attended = {{8 * kHour_s, 9 * kHour_s}, {32 * kHour_s, 33 * kHour_s}};
  shop_.queue.prices = some_prices();
  shop_.add_job("tags", {}, 5).colours = {"green"};
  shop_.add_job("trays", {90.0, 60.0, 2, {0, 1}}, 3).colours = {"red", "white"};
  const Plan plan = make();
  std::vector<std::string> measures;
  for (const PlanBound& bound : plan.bounds) {
    measures.push_back(bound.measure);
    EXPECT_LE(bound.bound, bound.value);
    if (bound.value > 0.0) {
      EXPECT_NEAR(bound.gap, (bound.value - bound.bound) / bound.value, 1e-9) << bound.measure;
    }
  }
  EXPECT_EQ(measures,
            (std::vector<std::string>{"asked", "cost", "finish", "waste", "energy", "late"}));
  EXPECT_NEAR(plan.bounds[2].value, static_cast<double>(plan.sums.finish_s - plan.now_s) / 3600.0,
              1e-9);
  EXPECT_NEAR(plan.bounds[4].value, plan.sums.energy_wh / 1000.0, 1e-9);
}

}  // namespace
}  // namespace platetally
