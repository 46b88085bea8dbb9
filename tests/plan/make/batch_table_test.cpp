// Which batches are tried of every job on every machine, and what the table says of each.
#include "plan/make/batch_table.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>

#include "plan/solve/problem.hpp"
#include "platetally/account.hpp"
#include "platetally/plate.hpp"
#include "support/workshop.hpp"

namespace platetally::plan {
namespace {

using test::FramePlate;

class BatchTable : public testing::Test {
 protected:
  std::vector<JobTable> tables(int threads = 1, const PrintedTimes& also = {}) {
    assumed_.clear();
    made_from_ = {};
    return try_batches(shop_.queue, threads, also, assumed_, made_from_);
  }
  /// What the plate of a job costs on a machine with its parts so often, by the what-if itself.
  Account played(std::size_t job, std::size_t machine, int times) const {
    AnalyzeOptions options;
    options.findings = false;
    const Plate plate =
        keep_plate(shop_.queue.jobs[job].path, shop_.queue.machines[machine].machine, options);
    Variant variant;
    variant.repeat = times;
    const Played played = plate.play(variant);
    EXPECT_TRUE(played.ok()) << played.impossible;
    return played.account;
  }
  bool finds_room(std::size_t job, std::size_t machine, int times) const {
    Variant variant;
    variant.repeat = times;
    return keep_plate(shop_.queue.jobs[job].path, shop_.queue.machines[machine].machine)
        .play(variant)
        .ok();
  }
  static std::vector<int> times_of(const JobTable& table, std::size_t machine = 0) {
    std::vector<int> times;
    for (const TriedBatch& batch : table.batches)
      if (batch.row.machine == machine && batch.row.impossible.empty())
        times.push_back(batch.row.times);
    return times;
  }
  static std::vector<int> up_to(int most) {
    std::vector<int> times(static_cast<std::size_t>(most));
    std::iota(times.begin(), times.end(), 1);
    return times;
  }

  test::Workshop shop_;
  std::vector<std::string> assumed_;
  MadeFrom made_from_;
};

TEST_F(BatchTable, AFewCopiesAreTriedInEveryNumber) {
  shop_.add_machine("changer", "changer-5");
  shop_.add_job("tags", {}, 5);
  EXPECT_EQ(times_of(tables()[0]), up_to(5));
}

TEST_F(BatchTable, ManyCopiesAreTriedInEveryNumberUpToEightAndInEveryEvenDivision) {
  shop_.add_machine("changer", "changer-5");
  shop_.add_job("tags", {}, 19);
  // All on one plate, and on two of ten at most; three of seven are among the small numbers.
  std::vector<int> expected = up_to(8);
  expected.insert(expected.end(), {10, 19});
  EXPECT_EQ(times_of(tables()[0]), expected);
}

TEST_F(BatchTable, APlateOfSeveralPartsIsRepeatedOnlyAsOftenAsItsPartsAreWanted) {
  shop_.add_machine("changer", "changer-5");
  shop_.add_job("tags", {}, 9).parts = 4;
  const JobTable table = tables()[0];
  EXPECT_EQ(times_of(table), up_to(3)) << "nine parts are three plates of four";
  for (const TriedBatch& batch : table.batches)
    EXPECT_EQ(batch.row.parts, 4 * batch.row.times);
}

TEST_F(BatchTable, NoPlateHoldsMorePartsThanTheJobAllows) {
  shop_.add_machine("changer", "changer-5");
  QueueJob& job = shop_.add_job("tags", {}, 40);
  job.parts = 2;
  job.most_parts = 7;
  const JobTable table = tables()[0];
  EXPECT_EQ(times_of(table), up_to(3));
  for (const TriedBatch& batch : table.batches)
    EXPECT_TRUE(batch.row.impossible.empty()) << "the limit is the job's, not the bed's";
}

TEST_F(BatchTable, TheMostThatFindRoomAreFoundAndWhatTheyLeaveOverIsTried) {
  shop_.add_machine("changer", "changer-5");
  shop_.add_job("trays", {60.0, 40.0}, 50);
  const JobTable table = tables()[0];
  const TriedBatch& last = table.batches.back();
  EXPECT_EQ(last.row.impossible, "no room on the bed");
  const int room = last.row.times - 1;
  EXPECT_TRUE(finds_room(0, 0, room));
  EXPECT_FALSE(finds_room(0, 0, room + 1));
  const std::vector<int> times = times_of(table);
  EXPECT_EQ(times.back(), room);
  EXPECT_EQ(last.row.parts, room + 1);
  // Twenty are no even division of fifty.
  ASSERT_EQ(room, 30);
  EXPECT_EQ(std::ranges::count(times, 50 - room), 1);
}

TEST_F(BatchTable, EveryRowIsTheAccountOfThatPlate) {
  shop_.add_machine("changer", "changer-5");
  shop_.add_machine("switcher", "switcher-4");
  QueueJob& job = shop_.add_job("tags", {60.0, 30.0, 3, {0, 1}}, 3);
  for (const std::size_t machine : {std::size_t{0}, std::size_t{1}}) {
    job.machines = {machine};
    job.sliced_for = machine;
    const JobTable table = tables()[0];
    ASSERT_EQ(table.batches.size(), 3U);
    for (const TriedBatch& batch : table.batches) {
      const Totals totals = played(0, machine, batch.row.times).totals;
      EXPECT_EQ(batch.row.swaps, totals.swaps);
      EXPECT_GT(batch.row.swaps, 0U);
      EXPECT_FALSE(batch.row.replanned);
      EXPECT_DOUBLE_EQ(batch.row.time_s, totals.time.expected);
      EXPECT_DOUBLE_EQ(batch.row.energy_wh, totals.energy_wh);
      EXPECT_DOUBLE_EQ(batch.row.purge_g, totals.purge_g + totals.start_up_g);
      EXPECT_DOUBLE_EQ(batch.part_g, totals.part_g);
      EXPECT_DOUBLE_EQ(batch.swap_s, totals.time_by.swap_s);
      EXPECT_EQ(batch.row.cost, 0.0) << "nothing has a price";
      EXPECT_TRUE(batch.cost_by_hour.empty());
    }
  }
}

TEST_F(BatchTable, PartsOnOnePlateShareItsSwaps) {
  shop_.add_machine("changer", "changer-5");
  shop_.add_job("tags", {60.0, 30.0, 3, {0, 1}}, 4);
  const JobTable table = tables()[0];
  const TriedBatch& one = table.batches.front();
  for (const TriedBatch& batch : table.batches) {
    EXPECT_EQ(batch.row.swaps, one.row.swaps);
    EXPECT_NEAR(batch.part_g, batch.row.times * one.part_g, 1e-9);
    EXPECT_LT(batch.row.time_s, batch.row.times * one.row.time_s * (1.0 + 1e-12));
  }
}

TEST_F(BatchTable, PowerIsTheHighestInEachFiveMinutes) {
  shop_.add_machine("switcher", "switcher-4");
  shop_.add_job("trays", {90.0, 60.0, 130}, 2);
  const JobTable table = tables()[0];
  ASSERT_EQ(times_of(table), up_to(2));
  for (const TriedBatch& batch : table.batches) {
    const Account account = played(0, 0, batch.row.times);
    ASSERT_GT(batch.row.time_s, 2.0 * solve::kPowerStep_s);
    EXPECT_EQ(batch.power_w.size(),
              static_cast<std::size_t>(batch.row.time_s / solve::kPowerStep_s) + 1);
    // Second by second, each belongs to the step in which it lies.
    std::vector<double> highest_w(batch.power_w.size(), 0.0);
    double end_s = 0.0;
    for (const PowerSample& sample : account.power)
      end_s += sample.duration_s;
    double at_s = 0.0;
    for (const PowerSample& sample : account.power) {
      const double w = sample.energy.sum_wh() * 3600.0 / sample.duration_s;
      const double from_s = at_s * batch.row.time_s / end_s;
      at_s += sample.duration_s;
      const double to_s = at_s * batch.row.time_s / end_s;
      for (std::size_t step = 0; step < highest_w.size(); ++step)
        if (static_cast<double>(step + 1) * 300.0 > from_s + 1e-6 &&
            static_cast<double>(step) * 300.0 < to_s - 1e-6)
          highest_w[step] = std::max(highest_w[step], w);
    }
    double upper_wh = 0.0;
    for (std::size_t step = 0; step < highest_w.size(); ++step) {
      EXPECT_NEAR(batch.power_w[step], highest_w[step], 1e-6) << step;
      upper_wh += batch.power_w[step] * 300.0 / 3600.0;
    }
    EXPECT_GE(upper_wh, batch.row.energy_wh);
  }
}

TEST_F(BatchTable, CostIsThatOfThePlateWithItsParts) {
  QueueMachine& own = shop_.add_machine("changer", "changer-5");
  shop_.add_machine("switcher", "switcher-4");
  shop_.add_job("tags", {}, 3).parts = 3;
  Prices cheap;
  cheap.filament_per_kg = 20.0;
  cheap.energy_per_kwh = 0.25;
  cheap.labour_per_plate = 1.5;
  Prices dear = cheap;
  dear.labour_per_plate = 4.0;
  shop_.queue.prices = cheap;
  own.prices = dear;
  const JobTable table = tables()[0];
  for (const TriedBatch& batch : table.batches) {
    const Account account = played(0, batch.row.machine, batch.row.times);
    const Prices& prices = batch.row.machine == 0 ? dear : cheap;
    EXPECT_DOUBLE_EQ(batch.row.cost, cost_of_plate(account, prices, batch.row.parts).total());
    EXPECT_TRUE(batch.cost_by_hour.empty());
  }
}

TEST_F(BatchTable, WhereEnergyHasHoursEveryHourOfTheStartHasItsCost) {
  shop_.add_machine("changer", "changer-5");
  shop_.add_job("tags", {}, 1);
  Prices prices;
  prices.labour_per_plate = 1.0;
  for (int hour = 0; hour < 24; ++hour)
    prices.energy_per_kwh_by_hour.push_back(hour >= 22 || hour < 6 ? 0.1 : 0.4);
  shop_.queue.prices = prices;
  const TriedBatch batch = tables()[0].batches.at(0);
  ASSERT_EQ(batch.cost_by_hour.size(), 24U);
  const Account account = played(0, 0, 1);
  for (std::size_t hour = 0; hour < 24; ++hour) {
    prices.start_hour = static_cast<double>(hour);
    EXPECT_DOUBLE_EQ(batch.cost_by_hour[hour], cost_of_plate(account, prices, 1).total()) << hour;
  }
  EXPECT_EQ(batch.row.cost, *std::ranges::min_element(batch.cost_by_hour));
  EXPECT_LT(batch.cost_by_hour[23], batch.cost_by_hour[12]);
}

TEST_F(BatchTable, APlateThatCannotBeReadHasOneRowThatSaysWhy) {
  shop_.add_machine("changer", "changer-5");
  QueueJob& job = shop_.add_job("tags", {}, 6);
  job.path += ".gone";
  job.parts = 3;
  const JobTable table = tables()[0];
  ASSERT_EQ(table.batches.size(), 1U);
  EXPECT_EQ(table.batches[0].row.parts, 3);
  EXPECT_FALSE(table.batches[0].row.impossible.empty());
  ASSERT_EQ(table.why_not.size(), 1U);
  EXPECT_EQ(table.why_not[0], "on changer: " + table.batches[0].row.impossible);
  EXPECT_TRUE(table.filaments.empty());
  EXPECT_TRUE(made_from_.plates.empty());
}

TEST_F(BatchTable, WhatTheVerdictForbidsIsNotPrintedAndItsReasonIsGiven) {
  shop_.add_machine("single", "single-1");
  shop_.add_machine("changer", "changer-5");
  shop_.add_job("wide trays", {60.0, 20.0, 2, {0}, 210, 200.0}, 2);
  const JobTable table = tables()[0];
  EXPECT_TRUE(times_of(table, 0).empty());
  EXPECT_EQ(times_of(table, 1), up_to(2));
  ASSERT_EQ(table.why_not.size(), 1U);
  EXPECT_TRUE(table.why_not[0].starts_with("on single: it leaves the build area of single-1"))
      << table.why_not[0];
}

TEST_F(BatchTable, AToolThatTheMachineLacksIsAReasonToo) {
  shop_.add_machine("switcher", "switcher-4");
  shop_.add_job("tags", {40.0, 20.0, 2, {0, 5}}, 1);
  const JobTable table = tables()[0];
  EXPECT_TRUE(times_of(table).empty());
  EXPECT_EQ(table.why_not.at(0),
            "on switcher: it prints with tool 5, and the last tool of switcher-4 is 3");
}

TEST_F(BatchTable, MoreFilamentsThanAMachineHoldsDoNotFitEvenWhereAPersonChangesThem) {
  shop_.add_machine("single", "single-1");
  QueueJob& job = shop_.add_job("tags", {40.0, 20.0, 2, {0, 2}}, 1);
  EXPECT_EQ(tables()[0].why_not.at(0), "on single: it takes 2 filaments; single holds 1");
  job.colours = {"green", "", "green"};
  EXPECT_EQ(times_of(tables()[0]), up_to(1)) << "both tools feed the same";
}

TEST_F(BatchTable, NobodyIsThereLongEnoughForTheSpools) {
  QueueMachine& machine = shop_.add_machine("changer", "changer-5");
  machine.attended = {{8 * 3600, 8 * 3600 + 1500}};  // Monday, 25 minutes
  machine.handling_s = 600.0;
  machine.spool_change_s = 400.0;
  shop_.add_job("tags", {40.0, 20.0, 2, {0, 1}}, 1);
  EXPECT_EQ(times_of(tables()[0]), up_to(1)) << "1400 s fit";
  shop_.queue.machines[0].spool_change_s = 460.0;
  const JobTable table = tables()[0];
  EXPECT_EQ(table.why_not.at(0),
            "on changer: handling and changing spools take up to 25 min, longer than anybody is "
            "there");
}

TEST_F(BatchTable, WhatMustNotPrintUnattendedFitsIntoSomebodysStay) {
  QueueMachine& machine = shop_.add_machine("switcher", "switcher-4");
  machine.unattended = false;
  machine.handling_s = 600.0;
  machine.spool_change_s = 0.0;
  shop_.add_job("trays", {90.0, 60.0, 130}, 2);
  const std::vector<TriedBatch> free = tables()[0].batches;
  ASSERT_EQ(free.size(), 2U) << "always attended";
  const double one_s = free[0].row.time_s, two_s = free[1].row.time_s;
  // Setup, print, and up to five minutes until the next step of power.
  const auto need_s = [](double print_s) {
    return static_cast<std::int64_t>(600.0 + print_s + 300.0) + 1;
  };
  shop_.queue.machines[0].attended = {{8 * 3600, 8 * 3600 + need_s(two_s)}};
  EXPECT_EQ(times_of(tables()[0]), up_to(2));
  shop_.queue.machines[0].attended = {{8 * 3600, 8 * 3600 + need_s(one_s)}};
  const JobTable only_one = tables()[0];
  EXPECT_EQ(times_of(only_one), up_to(1));
  EXPECT_TRUE(only_one.why_not.empty());
  EXPECT_EQ(only_one.batches.back().row.impossible,
            fmt::format("it must not print unattended, and nobody is there for {:.1f} h at a "
                        "stretch",
                        (600.0 + two_s) / 3600.0));
  shop_.queue.machines[0].attended = {{8 * 3600, 8 * 3600 + need_s(one_s) - 2}};
  EXPECT_TRUE(times_of(tables()[0]).empty());
}

TEST_F(BatchTable, FilamentsAreNamedByTheJobElseByTheMachineElseByTheirNumber) {
  QueueMachine& machine = shop_.add_machine("changer", "changer-5");
  machine.machine.tools[1].colour = "white";
  QueueJob& job = shop_.add_job("tags", {40.0, 20.0, 2, {0, 1, 3}}, 1);
  EXPECT_EQ(tables()[0].filaments, (std::vector<std::string>{"filament 0", "white", "filament 3"}));
  job.colours = {"fern green"};
  EXPECT_EQ(tables()[0].filaments, (std::vector<std::string>{"fern green", "white", "filament 3"}));
  job.colours = {"red", "blue", "never fed", "red"};
  EXPECT_EQ(tables()[0].filaments, (std::vector<std::string>{"red", "blue"})) << "each once";
}

TEST_F(BatchTable, APlateForAnotherKindOfMachineIsPlannedAgainWhichIsSaidOnce) {
  shop_.add_machine("changer", "changer-5");
  shop_.add_machine("switcher", "switcher-4");
  QueueJob& job = shop_.add_job("tags", {60.0, 30.0, 3, {0, 1}}, 3);
  job.sliced_for = 0;
  const JobTable table = tables()[0];
  double changer_g = 0.0, switcher_g = 0.0;
  for (const TriedBatch& batch : table.batches) {
    EXPECT_EQ(batch.row.replanned, batch.row.machine == 1);
    (batch.row.machine == 1 ? switcher_g : changer_g) += batch.row.purge_g;
  }
  EXPECT_GT(switcher_g, changer_g) << "one nozzle purges at every change";
  ASSERT_FALSE(assumed_.empty());
  for (const std::string& sentence : assumed_) {
    EXPECT_EQ(std::ranges::count(assumed_, sentence), 1) << sentence;
    EXPECT_EQ(sentence.find(", with "), std::string::npos) << sentence;
  }
}

TEST_F(BatchTable, JobsOfTheSamePlateAreReadOnceAndEachHasItsOwnRows) {
  shop_.add_machine("changer", "changer-5");
  shop_.add_job("tags", {}, 3);
  QueueJob more = shop_.queue.jobs[0];
  more.name = "more tags";
  more.copies = 6;
  shop_.queue.jobs.push_back(more);
  const std::vector<JobTable> both = tables();
  EXPECT_EQ(times_of(both[0]), up_to(3));
  EXPECT_EQ(times_of(both[1]), up_to(6));
  for (const TriedBatch& batch : both[1].batches)
    EXPECT_EQ(batch.row.job, 1U);
  ASSERT_EQ(made_from_.plates.size(), 1U);
  EXPECT_EQ(made_from_.plates[0].path, shop_.queue.jobs[0].path);
}

TEST_F(BatchTable, WhatIsBeingPrintedIsTriedEvenWhereTheJobNoLongerAllowsIt) {
  shop_.add_machine("changer", "changer-5");
  shop_.add_job("tags", {}, 2);
  EXPECT_EQ(times_of(tables()[0]), up_to(2));
  EXPECT_EQ(times_of(tables(1, {{{0, 0}, {5}}})[0]), (std::vector<int>{1, 2, 5}));
  EXPECT_EQ(times_of(tables(1, {{{0, 1}, {5}}})[0]), up_to(2)) << "that is another machine";
}

TEST_F(BatchTable, ThreadsChangeNothing) {
  shop_.add_machine("changer", "changer-5");
  shop_.add_machine("switcher", "switcher-4");
  shop_.add_job("tags", {}, 4);
  shop_.add_job("trays", {90.0, 60.0, 2, {0, 1}}, 12);
  shop_.add_job("gone", {}, 1).path += ".gone";
  const std::vector<JobTable> one = tables(1);
  const std::vector<JobTable> many = tables(5);
  ASSERT_EQ(one.size(), many.size());
  for (std::size_t job = 0; job < one.size(); ++job) {
    EXPECT_EQ(one[job].why_not, many[job].why_not);
    EXPECT_EQ(one[job].filaments, many[job].filaments);
    ASSERT_EQ(one[job].batches.size(), many[job].batches.size());
    for (std::size_t i = 0; i < one[job].batches.size(); ++i) {
      EXPECT_EQ(one[job].batches[i].row.times, many[job].batches[i].row.times);
      EXPECT_EQ(one[job].batches[i].row.time_s, many[job].batches[i].row.time_s);
      EXPECT_EQ(one[job].batches[i].row.energy_wh, many[job].batches[i].row.energy_wh);
      EXPECT_EQ(one[job].batches[i].power_w, many[job].batches[i].power_w);
    }
  }
}

TEST_F(BatchTable, RowsStandByMachineThenByTimesEachOnce) {
  shop_.add_machine("changer", "changer-5");
  shop_.add_machine("single", "single-1");
  shop_.add_job("tags", {}, 40);
  const JobTable table = tables()[0];
  for (std::size_t i = 1; i < table.batches.size(); ++i) {
    const BatchRow& before = table.batches[i - 1].row;
    const BatchRow& row = table.batches[i].row;
    EXPECT_LT(std::pair(before.machine, before.times), std::pair(row.machine, row.times));
  }
}

}  // namespace
}  // namespace platetally::plan
