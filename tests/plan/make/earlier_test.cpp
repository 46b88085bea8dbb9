// What of an earlier plan stays, on queues that need no plate.
#include "plan/make/earlier.hpp"

#include <gtest/gtest.h>

#include <stdexcept>

namespace platetally::plan {
namespace {

constexpr std::int64_t kNow_s = 1'000'000;
constexpr std::int64_t kHour_s = 3600;

/// Two machines that are alike and one that is not; tags and lanterns.
Queue workshop() {
  Queue queue;
  QueueMachine bench;
  bench.name = "bench";
  bench.count = 2;
  bench.loaded = {"green", "white"};
  QueueMachine shelf;
  shelf.name = "shelf";
  for (const char* colour : {"black", "", "black", "red"}) {
    shelf.machine.tools.emplace_back();
    shelf.machine.tools.back().colour = colour;
  }
  queue.machines = {bench, shelf};
  for (const char* name : {"tags", "lanterns"}) {
    QueueJob job;
    job.name = name;
    job.copies = 10;
    queue.jobs.push_back(job);
  }
  return queue;
}

/// A run of the first bench, with its setup ten minutes before.
EarlierRun run(const char* id, const char* job, std::int64_t start_s, std::int64_t end_s) {
  EarlierRun earlier;
  earlier.id = id;
  earlier.job = job;
  earlier.machine = "bench";
  earlier.parts = 4;
  earlier.setup_s = start_s - 600;
  earlier.start_s = start_s;
  earlier.end_s = end_s;
  earlier.loaded = {"blue", "white"};
  return earlier;
}

struct Keeping {
  Queue queue = workshop();
  PlanOptions options;
  std::vector<std::string> problems;

  explicit Keeping(std::vector<EarlierRun> runs = {}) { options.earlier = EarlierPlan{"", runs}; }
  Kept keep() { return plan::keep(queue, options, kNow_s, problems); }
  std::string refusal() {
    try {
      keep();
    } catch (const std::invalid_argument& error) {
      return error.what();
    }
    return "";
  }
};

TEST(Earlier, WithoutAPlanEveryMachineIsFreeNowWithWhatTheQueueSaysIsLoaded) {
  Keeping now;
  now.options.earlier.reset();
  const Kept kept = now.keep();
  EXPECT_TRUE(kept.runs.empty());
  ASSERT_EQ(kept.instances.size(), 2U);
  ASSERT_EQ(kept.instances[0].size(), 2U);
  ASSERT_EQ(kept.instances[1].size(), 1U);
  for (const auto& alike : kept.instances)
    for (const KeptInstance& one : alike)
      EXPECT_EQ(one.free_s, kNow_s);
  EXPECT_EQ(kept.instances[0][1].loaded, (std::vector<std::string>{"green", "white"}));
  EXPECT_EQ(kept.parts, (std::vector<int>{0, 0}));
  EXPECT_FALSE(kept.end_s[0]);
}

TEST(Earlier, ColoursOfTheMachineFileLieInItsFeedsEachOnceWhereTheQueueSaysNothing) {
  EXPECT_EQ(Keeping().keep().instances[1][0].loaded, (std::vector<std::string>{"black", "red"}));
}

TEST(Earlier, WhatHasEndedIsDoneAndItsPartsAreThere) {
  Keeping now({run("r1", "tags", kNow_s - 2 * kHour_s, kNow_s - kHour_s)});
  const Kept kept = now.keep();
  ASSERT_EQ(kept.runs.size(), 1U);
  EXPECT_EQ(kept.runs[0].state, RunState::done);
  EXPECT_TRUE(kept.runs[0].has_job);
  EXPECT_EQ(kept.parts, (std::vector<int>{4, 0}));
  EXPECT_EQ(kept.end_s[0], kNow_s - kHour_s);
  EXPECT_EQ(kept.instances[0][0].free_s, kNow_s);
  EXPECT_EQ(kept.instances[0][0].loaded, (std::vector<std::string>{"blue", "white"}));
  EXPECT_EQ(kept.instances[0][1].loaded, (std::vector<std::string>{"green", "white"}));
  EXPECT_TRUE(now.problems.empty());
}

TEST(Earlier, WhatIsBeingPrintedKeepsItsMachineUntilItsEnd) {
  Keeping now({run("r1", "tags", kNow_s - kHour_s, kNow_s + kHour_s)});
  const Kept kept = now.keep();
  EXPECT_EQ(kept.runs.at(0).state, RunState::printing);
  EXPECT_EQ(kept.parts[0], 4);
  EXPECT_EQ(kept.end_s[0], kNow_s + kHour_s);
  EXPECT_EQ(kept.instances[0][0].free_s, kNow_s + kHour_s);
  EXPECT_EQ(kept.instances[0][1].free_s, kNow_s);
}

TEST(Earlier, ARunThatEndsThisVerySecondIsDone) {
  Keeping now({run("r1", "tags", kNow_s - kHour_s, kNow_s)});
  EXPECT_EQ(now.keep().runs.at(0).state, RunState::done);
}

TEST(Earlier, OnceSomebodyHasBegunToSetItUpARunStays) {
  const std::int64_t begun_s = kNow_s + 599;  // ten minutes of setup
  Keeping begun({run("r1", "tags", begun_s, begun_s + kHour_s)});
  EXPECT_EQ(begun.keep().runs.size(), 1U);
  Keeping not_yet({run("r1", "tags", begun_s + 1, begun_s + kHour_s)});
  EXPECT_TRUE(not_yet.keep().runs.empty());
}

TEST(Earlier, PartsOfAllRunsOfAJobAddUpAndTheLatestEndCounts) {
  Keeping now({run("r1", "tags", kNow_s - 6 * kHour_s, kNow_s - 2 * kHour_s),
               run("r2", "tags", kNow_s - 5 * kHour_s, kNow_s - 4 * kHour_s),
               run("r3", "lanterns", kNow_s - kHour_s, kNow_s + kHour_s)});
  now.options.earlier->runs[1].instance = 1;
  const Kept kept = now.keep();
  EXPECT_EQ(kept.parts, (std::vector<int>{8, 4}));
  EXPECT_EQ(kept.end_s[0], kNow_s - 2 * kHour_s);
  EXPECT_EQ(kept.end_s[1], kNow_s + kHour_s);
}

TEST(Earlier, TheLastRunOfAMachineSaysWhatLiesInItsFeeds) {
  Keeping now({run("r1", "tags", kNow_s - 5 * kHour_s, kNow_s - 4 * kHour_s),
               run("r2", "tags", kNow_s - 3 * kHour_s, kNow_s - 2 * kHour_s)});
  now.options.earlier->runs[1].loaded = {"red"};
  EXPECT_EQ(now.keep().instances[0][0].loaded, (std::vector<std::string>{"red"}));
}

TEST(Earlier, WhatFailedGivesNoPartsAndFreesItsMachine) {
  Keeping now({run("r1", "tags", kNow_s - kHour_s, kNow_s + kHour_s)});
  now.options.failed = {"r1"};
  const Kept kept = now.keep();
  EXPECT_EQ(kept.runs.at(0).state, RunState::failed);
  EXPECT_EQ(kept.parts[0], 0);
  EXPECT_FALSE(kept.end_s[0]);
  EXPECT_EQ(kept.instances[0][0].free_s, kNow_s);
  // The spools were changed for it all the same.
  EXPECT_EQ(kept.instances[0][0].loaded, (std::vector<std::string>{"blue", "white"}));
}

TEST(Earlier, ARunThatEndedMayHaveFailedToo) {
  Keeping now({run("r1", "tags", kNow_s - 3 * kHour_s, kNow_s - kHour_s)});
  now.options.failed = {"r1"};
  const Kept kept = now.keep();
  EXPECT_EQ(kept.runs.at(0).state, RunState::failed);
  EXPECT_EQ(kept.parts[0], 0);
}

TEST(Earlier, AFailureOfWhatWasNotStartedIsRefusedWithTheNearestRun) {
  Keeping nothing;
  nothing.options.failed = {"r7"};
  EXPECT_EQ(nothing.refusal(), "no run 'r7' was started before now");
  Keeping some({run("r12", "tags", kNow_s - kHour_s, kNow_s),
                run("r40", "tags", kNow_s + kHour_s, kNow_s + 2 * kHour_s)});
  some.options.failed = {"r13"};
  EXPECT_EQ(some.refusal(), "no run 'r13' was started before now; there is 'r12'");
  some.options.failed = {"r12", "r40"};
  EXPECT_EQ(some.refusal(), "no run 'r40' was started before now; there is 'r12'");
}

TEST(Earlier, ARunOnAMachineThatIsGoneIsLeftOutAndSaid) {
  EarlierRun on_cellar = run("r1", "tags", kNow_s - kHour_s, kNow_s + kHour_s);
  on_cellar.machine = "cellar";
  EarlierRun on_third = run("r2", "tags", kNow_s - kHour_s, kNow_s + kHour_s);
  on_third.instance = 2;
  EarlierRun before_first = run("r3", "tags", kNow_s - kHour_s, kNow_s + kHour_s);
  before_first.instance = -1;
  Keeping now({on_cellar, on_third, before_first});
  const Kept kept = now.keep();
  EXPECT_TRUE(kept.runs.empty());
  EXPECT_EQ(kept.parts[0], 0);
  ASSERT_EQ(now.problems.size(), 3U);
  EXPECT_EQ(now.problems[0],
            "run r1 is on 'cellar', which the queue no longer names; it is left out, and what it "
            "printed is planned again");
  EXPECT_TRUE(now.problems[1].starts_with("run r2 is on 'bench'")) << now.problems[1];
}

TEST(Earlier, AMachineGoesOnWithAJobThatTheQueueNoLongerNames) {
  Keeping now({run("r1", "name plates", kNow_s - kHour_s, kNow_s + kHour_s)});
  const Kept kept = now.keep();
  ASSERT_EQ(kept.runs.size(), 1U);
  EXPECT_FALSE(kept.runs[0].has_job);
  EXPECT_EQ(kept.instances[0][0].free_s, kNow_s + kHour_s);
  EXPECT_EQ(kept.parts, (std::vector<int>{0, 0}));
  ASSERT_EQ(now.problems.size(), 1U);
  EXPECT_EQ(now.problems[0],
            "run r1 prints 'name plates', which the queue no longer names; its machine is taken to "
            "go on with it");
}

TEST(Earlier, OfAForgottenJobThatHasEndedNothingIsSaid) {
  Keeping now({run("r1", "name plates", kNow_s - 2 * kHour_s, kNow_s - kHour_s)});
  EXPECT_EQ(now.keep().runs.size(), 1U);
  EXPECT_TRUE(now.problems.empty());
}

TEST(Earlier, AMachineThatIsDownTakesItsPrintWithIt) {
  Keeping now({run("r1", "tags", kNow_s - kHour_s, kNow_s + kHour_s),
               run("r2", "tags", kNow_s - 5 * kHour_s, kNow_s - 4 * kHour_s)});
  now.options.down = {{"bench", std::nullopt}};
  const Kept kept = now.keep();
  EXPECT_EQ(kept.runs[0].state, RunState::failed);
  EXPECT_EQ(kept.runs[1].state, RunState::done) << "what has ended does not fail";
  EXPECT_EQ(kept.parts[0], 4);
  EXPECT_FALSE(kept.instances[0][0].free_s);
  EXPECT_FALSE(kept.instances[0][1].free_s);
  EXPECT_EQ(kept.instances[1][0].free_s, kNow_s);
}

TEST(Earlier, OneOfTwoThatAreAlikeIsDownByItsNumber) {
  Keeping now({run("r1", "tags", kNow_s - kHour_s, kNow_s + kHour_s)});
  now.options.down = {{"bench 2", kNow_s + 3 * kHour_s}};
  const Kept kept = now.keep();
  EXPECT_EQ(kept.runs[0].state, RunState::printing);
  EXPECT_EQ(kept.instances[0][0].free_s, kNow_s + kHour_s);
  EXPECT_EQ(kept.instances[0][1].free_s, kNow_s + 3 * kHour_s);
}

TEST(Earlier, DownUntilAMomentThatIsPastIsToBeHadNow) {
  Keeping now;
  now.options.down = {{"shelf", kNow_s - kHour_s}};
  EXPECT_EQ(now.keep().instances[1][0].free_s, kNow_s);
}

TEST(Earlier, AMachineThatNobodyKnowsIsRefusedWithTheNearestName) {
  Keeping now;
  for (const char* name : {"benhc", "bench 3", "bench 0"}) {
    now.options.down = {{name, std::nullopt}};
    EXPECT_EQ(now.refusal(),
              std::string("no machine is called '") + name + "'; expected one like 'bench'");
  }
}

// What is laid on one side of now goes to exactly one of: done or printing (its parts are there),
// failed (they are not), not started (nothing of it stays).
TEST(Earlier, EveryPartIsCountedOnceWheneverNowIs) {
  std::vector<EarlierRun> runs;
  for (int i = 0; i < 6; ++i) {
    const std::int64_t start_s = kNow_s + (i - 3) * 2 * kHour_s;
    runs.push_back(run("r", i % 2 == 0 ? "tags" : "lanterns", start_s, start_s + kHour_s));
    runs.back().id += std::to_string(i + 1);
    runs.back().parts = 1 << i;
  }
  const Queue queue = workshop();
  for (std::int64_t now_s = kNow_s - 8 * kHour_s; now_s < kNow_s + 8 * kHour_s; now_s += 700) {
    PlanOptions options;
    options.earlier = EarlierPlan{"", runs};
    std::vector<std::string> problems;
    const Kept kept = keep(queue, options, now_s, problems);
    int started = 0;
    for (const EarlierRun& one : runs)
      started += one.setup_s < now_s ? one.parts : 0;
    EXPECT_EQ(kept.parts[0] + kept.parts[1], started) << now_s;
    EXPECT_EQ(kept.parts[0] & kept.parts[1], 0) << now_s;
    EXPECT_GE(kept.instances[0][0].free_s, now_s);
  }
}

}  // namespace
}  // namespace platetally::plan
