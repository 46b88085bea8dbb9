// A plan over time: what its machines draw together, and what becomes of it when it is made again
// while things are being printed.
#include <algorithm>
#include <map>

#include "support/planning.hpp"

namespace platetally {
namespace {

class PlanAgain : public test::Planning {};

TEST_F(PlanAgain, OneRunDrawsInEachStepOfThePlanWhatItsAccountDoes) {
  QueueMachine& machine = shop_.add_machine("switcher", "switcher-4");
  machine.loaded = {"filament 0"};
  machine.handling_s = 400.0;  // the print begins in the middle of a step
  const QueueJob& job = shop_.add_job("trays", {90.0, 60.0, 130}, 1);
  const Plan plan = make();
  const PlanPower& power = plan.power;
  const PlanRun& run = plan.runs.at(0);
  EXPECT_EQ(power.step_s, 300);
  EXPECT_EQ(power.start_s, run.start_s - run.start_s % 300);
  ASSERT_EQ(power.highest_w.size(),
            static_cast<std::size_t>((run.end_s - power.start_s) / 300) + 1);
  const Account account = analyze_file(job.path, machine.machine);
  const double most_w = *std::ranges::max_element(power.highest_w);
  double sampled_w = 0.0;
  double upper_wh = 0.0;
  for (const PowerSample& sample : account.power)
    sampled_w = std::max(sampled_w, sample.energy.sum_wh() * 3600.0 / sample.duration_s);
  for (const double w : power.highest_w)
    upper_wh += w * 300.0 / 3600.0;
  EXPECT_NEAR(most_w, sampled_w, 1e-6);
  EXPECT_GE(upper_wh, account.totals.energy_wh);
}

TEST_F(PlanAgain, TogetherMachinesDrawTheSumOfTheirs) {
  QueueMachine& machine = shop_.add_machine("switcher", "switcher-4");
  machine.loaded = {"filament 0"};
  machine.handling_s = 600.0;
  shop_.add_job("trays", {90.0, 60.0, 130}, 1);
  const std::vector<double> one_w = make().power.highest_w;
  machine.count = 2;
  shop_.queue.jobs[0].copies = 2;
  shop_.queue.jobs[0].most_parts = 1;
  const Plan both = make();
  ASSERT_EQ(both.runs.size(), 2U);
  ASSERT_EQ(both.runs[0].start_s, both.runs[1].start_s);
  ASSERT_EQ(both.power.highest_w.size(), one_w.size());
  for (std::size_t step = 0; step < one_w.size(); ++step)
    EXPECT_NEAR(both.power.highest_w[step], 2.0 * one_w[step], 1e-9);
  // Where they must not draw together, the second waits for the first.
  shop_.queue.power_limit_w = 1.5 * *std::ranges::max_element(one_w);
  const Plan limited = make();
  EXPECT_GT(limited.runs.at(1).start_s, limited.runs.at(0).start_s);
  for (const double w : limited.power.highest_w)
    EXPECT_LE(w, *shop_.queue.power_limit_w);
  for (const PlanRun& run : limited.runs)
    EXPECT_EQ(run.start_s % 300, 0) << "starts are on multiples of five minutes";
}

TEST_F(PlanAgain, WhatIsPrintingDrawsPowerBesideWhatIsPlanned) {
  QueueMachine& machine = shop_.add_machine("switcher", "switcher-4");
  machine.loaded = {"filament 0"};
  machine.count = 2;
  QueueJob& job = shop_.add_job("trays", {90.0, 60.0, 260}, 1);
  job.most_parts = 1;
  const Plan first = make();
  const double most_w = *std::ranges::max_element(first.power.highest_w);
  options_.earlier = as_earlier(first);
  options_.now_s = first.runs.at(0).start_s + 1;
  job.copies = 2;
  EXPECT_LT(make().runs.at(1).start_s, first.runs[0].end_s - 600) << "without a limit both print";
  // Whatever the first draws, the second cannot heat up beside it.
  shop_.queue.power_limit_w = 1.02 * most_w;
  const Plan again = make();
  ASSERT_EQ(again.runs.size(), 2U);
  EXPECT_EQ(again.runs[0].state, RunState::printing);
  EXPECT_GT(again.runs[1].start_s, first.runs[0].end_s - 300);
  for (const double w : again.power.highest_w)
    EXPECT_LE(w, 1.02 * most_w + 1e-9);
}

TEST_F(PlanAgain, RunsAreNumberedOnBehindThoseOfTheEarlierPlan) {
  QueueMachine& machine = shop_.add_machine("changer", "changer-5");
  machine.loaded = {"filament 0"};
  QueueJob& job = shop_.add_job("tags", {}, 1);
  job.most_parts = 1;
  EarlierRun earlier;
  earlier.job = "tags";
  earlier.machine = "changer";
  earlier.parts = 1;
  earlier.setup_s = shop_.queue.start_s - 3000;
  earlier.start_s = earlier.setup_s + 600;
  earlier.end_s = earlier.start_s + 100;
  earlier.loaded = {"filament 0"};
  job.copies = 2;
  for (const auto& [id, next] : std::map<std::string, std::string>{
           {"r41", "r42"}, {"night 7", "r1"}, {"r", "r1"}, {"r12345678", "r1"}}) {
    earlier.id = id;
    options_.earlier = EarlierPlan{"", {earlier}};
    const Plan plan = make();
    ASSERT_EQ(plan.runs.size(), 2U) << id;
    EXPECT_EQ(plan.runs[0].id, id);
    EXPECT_EQ(plan.runs[0].state, RunState::done);
    EXPECT_EQ(plan.runs[1].id, next) << id;
  }
}

TEST_F(PlanAgain, WhatIsDoneIsCountedForItsJobButNotForWhatIsStillToDo) {
  QueueMachine& machine = shop_.add_machine("changer", "changer-5");
  machine.loaded = {"filament 0"};
  shop_.add_job("tags", {}, 2).most_parts = 1;
  const Plan first = make();
  ASSERT_EQ(first.runs.size(), 2U);
  options_.earlier = as_earlier(first);
  options_.now_s = first.runs[1].setup_s;
  const Plan again = make();
  ASSERT_EQ(again.runs.size(), 2U);
  EXPECT_EQ(again.runs[0].state, RunState::done);
  EXPECT_EQ(again.jobs[0].parts, 2);
  EXPECT_EQ(again.jobs[0].plates, 2);
  EXPECT_EQ(again.machines[0].plates, 1);
  EXPECT_NEAR(again.sums.energy_wh, again.runs[1].energy_wh, 1e-9);
  EXPECT_NEAR(again.jobs[0].energy_wh, 2.0 * again.runs[1].energy_wh, 1e-9);
  EXPECT_GE(again.power.start_s, again.runs[1].start_s - 300) << "what is over draws nothing";
}

TEST_F(PlanAgain, WhenEverythingIsDoneThereIsNothingMoreToPrint) {
  QueueMachine& machine = shop_.add_machine("changer", "changer-5");
  machine.loaded = {"filament 0"};
  shop_.add_job("tags", {}, 1);
  const Plan first = make();
  options_.earlier = as_earlier(first);
  options_.now_s = first.runs.at(0).end_s + 60;
  const Plan again = make();
  ASSERT_EQ(again.runs.size(), 1U);
  EXPECT_EQ(again.runs[0].state, RunState::done);
  EXPECT_FALSE(again.leaves_out());
  EXPECT_TRUE(again.power.highest_w.empty());
  EXPECT_EQ(again.sums.energy_wh, 0.0);
  EXPECT_EQ(again.jobs[0].finish_s, first.runs[0].end_s);
}

TEST_F(PlanAgain, AFailedRunEndsNowAndItsPartsArePrintedAgain) {
  QueueMachine& machine = shop_.add_machine("changer", "changer-5");
  machine.loaded = {"filament 0"};
  shop_.add_job("tags", {}, 1);
  const Plan first = make();
  options_.earlier = as_earlier(first);
  options_.now_s = first.runs.at(0).start_s + 5;
  options_.failed = {"r1"};
  const Plan again = make();
  ASSERT_EQ(again.runs.size(), 2U);
  EXPECT_EQ(again.runs[0].state, RunState::failed);
  EXPECT_EQ(again.runs[0].end_s, *options_.now_s);
  EXPECT_EQ(again.runs[1].id, "r2");
  EXPECT_EQ(again.jobs[0].parts, 1);
  EXPECT_EQ(again.jobs[0].plates, 2) << "what failed was a plate all the same";
  EXPECT_EQ(again.jobs[0].finish_s, again.runs[1].end_s);
}

TEST_F(PlanAgain, APrintOfAForgottenJobHoldsItsMachineAndIsNotAmongTheRuns) {
  QueueMachine& machine = shop_.add_machine("changer", "changer-5");
  machine.loaded = {"filament 0"};
  shop_.add_job("tags", {}, 1);
  Plan first = make();
  options_.earlier = as_earlier(first);
  options_.earlier->runs.at(0).job = "name plates";
  options_.now_s = first.runs[0].start_s + 5;
  const Plan again = make();
  ASSERT_EQ(again.runs.size(), 1U);
  EXPECT_GE(again.runs[0].setup_s, first.runs[0].end_s);
  EXPECT_EQ(again.runs[0].id, "r2");
  ASSERT_EQ(again.problems.size(), 1U);
  EXPECT_NE(again.problems[0].find("name plates"), std::string::npos);
}

TEST_F(PlanAgain, SaysWhichFailuresAndWhichEarlierPlanItKnew) {
  QueueMachine& machine = shop_.add_machine("changer", "changer-5");
  machine.count = 2;
  machine.loaded = {"filament 0"};
  shop_.add_job("tags", {}, 1);
  const Plan first = make();
  options_.earlier = as_earlier(first);
  options_.now_s = first.runs.at(0).start_s + 5;
  options_.failed = {"r1"};
  options_.down = {{"changer 1", std::nullopt}, {"changer 2", *options_.now_s + 3600 - 5}};
  options_.seconds = 30.0;
  const Plan plan = make();
  EXPECT_EQ(option_of(plan, "failed"), "r1");
  EXPECT_EQ(option_of(plan, "down"),
            "changer 1,changer 2=" + moment_text(*options_.now_s + 3600 - 5));
  EXPECT_EQ(option_of(plan, "seconds"), "30");
  const std::string earlier = option_of(plan, "earlier");
  options_.earlier->runs[0].end_s += 1;
  EXPECT_NE(option_of(make(), "earlier"), earlier);
}

}  // namespace
}  // namespace platetally
