// The purge of a file replaced by what a machine's policy asks for: every figure worked out by
// hand.
#include "account/whatif/replan.hpp"

#include <gtest/gtest.h>

#include "account/whatif/rewrite.hpp"
#include "platetally/account.hpp"
#include "support/kept_plate.hpp"

namespace platetally::whatif {
namespace {

// 1 mm3 of it weighs a thousandth of its density.
const std::vector<Material> kMaterials = [] {
  Material material;
  material.name = "test";
  material.density_g_cm3 = 1.25;
  return std::vector<Material>{material};
}();

/// Tools 0 and 1 on one head, tool 2 on another; no colours, so that no need is known.
Machine machine_with_two_heads() {
  Machine machine;
  machine.heads.resize(2);
  machine.tools.resize(3);
  machine.tools[2].head = 1;
  for (Tool& tool : machine.tools) {
    tool.material = "test";
    tool.colour.clear();
  }
  machine.supply.energy_spread = 0.0;
  machine.swap.head_change_s = {5.0, 7.0, 9.0};
  machine.swap.filament_change_s = {60.0, 80.0, 100.0};
  machine.swap.long_swap_probability = 0.1;
  machine.swap.long_swap_extra_s = 30.0;  // 3 s of every swap
  machine.swap.purge_mm3_s = 10.0;
  machine.swap.purge_each_mm3 = 600.0;
  machine.swap.tower_each_mm3 = 50.0;
  return machine;
}

SwapPairAccount swap_pair(int from, int to, std::uint64_t count, double purge_g) {
  SwapPairAccount pair;
  pair.from = from;
  pair.to = to;
  pair.count = count;
  pair.purge_g = purge_g;
  return pair;
}

/// Four filament changes and two head changes; 1000 s, of which 500 s are swaps.
Account account_of_three_tools() {
  Account account;
  for (int tool = 0; tool < 3; ++tool) {
    account.tools.emplace_back();
    account.tools.back().tool = tool;
    account.tools.back().purge_g = 9.0;
  }
  account.swap_pairs = {swap_pair(0, 1, 4, 6.0), swap_pair(1, 2, 2, 3.0)};
  account.totals.time = {900.0, 1000.0, 1200.0};
  account.totals.time_by = {300.0, 200.0, 500.0, 0.0, 0.0};
  account.totals.energy_by.bed_wh = 80.0;
  account.totals.energy_by.motors_wh = 20.0;
  account.totals.energy_wh = 100.0;
  account.totals.purge_g = 9.0;
  account.totals.purge_by.tower_g = 9.0;
  return account;
}

/// Re-planned from its totals alone: no turns were kept. Gives what that stands on.
std::vector<std::string> replan_totals(Account& account, const Machine& machine) {
  const KeptPlate plate{machine,
                        std::vector<Material>(3, kMaterials.front()),
                        {},
                        {},
                        ledgers::Footprint(machine.area),
                        {},
                        {},
                        account};
  std::vector<std::string> assumed;
  account = replan(plate, {}, assumed);
  return assumed;
}

// 4 x 600 mm3 at 1.25 mg, 2 x 50 mm3 at the same.
TEST(ReplanTotals, EveryPairPurgesByItsKindOfChange) {
  Account account = account_of_three_tools();
  replan_totals(account, machine_with_two_heads());
  EXPECT_NEAR(account.swap_pairs[0].purge_g, 3.0, 1e-12);
  EXPECT_NEAR(account.swap_pairs[1].purge_g, 0.125, 1e-12);
  EXPECT_EQ(account.tools[0].purge_g, 0.0);
  EXPECT_NEAR(account.tools[1].purge_g, 3.0, 1e-12);
  EXPECT_NEAR(account.tools[2].purge_g, 0.125, 1e-12);
  const Totals& totals = account.totals;
  EXPECT_NEAR(totals.purge_g, 3.125, 1e-12);
  EXPECT_EQ(totals.purge_low_g, totals.purge_g);
  EXPECT_EQ(totals.purge_high_g, totals.purge_g);
  EXPECT_EQ(totals.purge_by.tower_g, totals.purge_g);
}

// The machine's own seconds stay: 4 x (80 + 3) + 2 x (7 + 3) = 352 of the 500 s. The other 148 s
// laid purge; in their place come (2400 + 100) mm3 at 10 mm3/s = 250 s. So 102 s more, and 10.2 %
// more energy.
TEST(ReplanTotals, SecondsOfLayingGoAndThoseOfPurgingCome) {
  Account account = account_of_three_tools();
  replan_totals(account, machine_with_two_heads());
  const Totals& totals = account.totals;
  EXPECT_NEAR(totals.time.expected, 1102.0, 1e-9);
  EXPECT_NEAR(totals.time.low, 1002.0, 1e-9);
  EXPECT_NEAR(totals.time.high, 1302.0, 1e-9);
  EXPECT_NEAR(totals.time_by.swap_s, 602.0, 1e-9);
  EXPECT_EQ(totals.time_by.print_s, 300.0);
  EXPECT_NEAR(totals.energy_by.bed_wh, 88.16, 1e-9);
  EXPECT_NEAR(totals.energy_wh, 110.2, 1e-9);
  // The mean power is what it was: 100 Wh in 1000 s.
  EXPECT_NEAR(totals.mean_power_w, 360.0, 1e-9);
  EXPECT_NEAR(totals.energy_high_wh, 110.2 + 360.0 * 200.0 / 3600.0, 1e-9);
}

TEST(ReplanTotals, AMeasuredNeedComesBeforeThePolicy) {
  Machine machine = machine_with_two_heads();
  SwapPair measured;
  measured.from = 0;
  measured.to = 1;
  measured.needed_mm3 = 200.0;
  machine.swap_pairs.push_back(measured);
  Account account = account_of_three_tools();
  account.swap_pairs.pop_back();
  const std::vector<std::string> assumed = replan_totals(account, machine);
  EXPECT_NEAR(account.totals.purge_g, 1.0, 1e-12);
  EXPECT_NE(
      std::find(assumed.begin(), assumed.end(), "every filament change purges what its pair needs"),
      assumed.end());
}

// The head change's need is known to be nothing, and still the tower is printed; so 100 mm3 more
// than without it.
TEST(ReplanTotals, SaysWhatItStandsOn) {
  Account account = account_of_three_tools();
  const std::vector<std::string> assumed = replan_totals(account, machine_with_two_heads());
  ASSERT_EQ(assumed.size(), 5U);
  EXPECT_EQ(assumed[0], "the purge of the file is dropped, with the time of laying it");
  EXPECT_EQ(assumed[1], "purging goes at 10 mm3/s (swap.purge_mm3_s)");
  EXPECT_TRUE(assumed[2].starts_with("50 mm3 on a prime tower at every head change"));
  EXPECT_TRUE(assumed[3].starts_with("600 mm3 at every filament change whose need is not known"));
}

// A file whose swaps take less than the machine's own seconds laid no purge that could be dropped.
TEST(ReplanTotals, NoSecondsAreDroppedThatAreNotThere) {
  Account account = account_of_three_tools();
  account.totals.time_by.swap_s = 100.0;
  replan_totals(account, machine_with_two_heads());
  EXPECT_NEAR(account.totals.time_by.swap_s, 350.0, 1e-9);
}

// Three tools on one head, one change to each in each of two layers: 5 changes behind the first
// tool. Each purges 400 mm3 at 20 mm3/s in place of what the plate laid on its tower, which is
// gone.
TEST(Replan, PlaysTheMachinesOwnPurgeInEveryTurn) {
  test::HandMade made({{0, 1, 2}, {0, 1, 2}}, 1);
  made.on_tower = true;
  made.filler_mm = 3.0;
  made.machine.swap.purge_each_mm3 = 400.0;
  made.machine.swap.purge_mm3_s = 20.0;
  const KeptPlate plate = made.make();
  std::vector<std::string> assumed;
  const Account account = replan(plate, {}, assumed);
  const double changes = 5.0;
  EXPECT_NEAR(account.totals.purge_g,
              base::g_from_mm3(400.0 * changes, plate.materials[0].density_g_cm3), 1e-9);
  EXPECT_NEAR(account.totals.purge_by.at_rest_g, account.totals.purge_g, 1e-9);
  EXPECT_EQ(account.totals.part_g, plate.account.totals.part_g);
  EXPECT_EQ(account.totals.swaps, plate.account.totals.swaps);
  const double change_s = made.machine.swap.filament_change_s.expected +
                          timeline::Durations::long_swap_s(made.machine).expected;
  EXPECT_NEAR(account.totals.time_by.swap_s, changes * (change_s + 400.0 / 20.0), 1e-6);
  double layers_g = 0.0;
  for (const LayerAccount& layer : account.layers)
    layers_g += layer.purge_g;
  EXPECT_NEAR(layers_g, account.totals.purge_g, 1e-9);
}

TEST(SwapsAlike, ComparesThePairsThatOccurOnly) {
  const Machine from = machine_with_two_heads();
  Machine to = from;
  to.tools[1].head = 1;  // 0 to 1 is now a head change, 1 to 2 a filament change
  Account account = account_of_three_tools();
  EXPECT_TRUE(swaps_alike(account, from, from));
  EXPECT_FALSE(swaps_alike(account, from, to));
  account.swap_pairs = {swap_pair(0, 2, 1, 0.0)};
  EXPECT_TRUE(swaps_alike(account, from, to));
}

}  // namespace
}  // namespace platetally::whatif
