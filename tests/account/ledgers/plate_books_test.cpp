// Records in, an account out: figures worked out by hand.
#include "account/ledgers/plate_books.hpp"

#include <gtest/gtest.h>

#include "base/units.hpp"
#include "heat/heat_result.hpp"
#include "platetally/account.hpp"
#include "support/records.hpp"
#include "support/rows.hpp"

namespace platetally::ledgers {
namespace {

using test::feed;
using test::move;
using test::select;

// 1 mm of filament is 1 mg.
constexpr double kG = 1e-3;

std::vector<Material> materials() {
  std::vector<Material> materials(2);
  for (Material& material : materials)
    material.density_g_cm3 = 1.0 / base::filament_area_mm2(1.75);
  return materials;
}

Machine two_heads() {
  Machine machine;
  machine.heads.resize(2);
  machine.tools.resize(2);
  machine.tools[1].head = 1;
  machine.area = {0, 200, 0, 200, 200};
  machine.swap.head_change_s = {4.0, 6.0, 10.0};
  machine.procedures.unknown_word_most_s = 0.5;
  return machine;
}

Account account_of(const Machine& machine, const std::vector<interpreter::Record>& records,
                   Account account = {}) {
  const std::vector<Material> of_tools = materials();
  PlateBooks books(machine, of_tools);
  test::give(records, books);
  books.settle_purge();
  books.write({}, {0.0, 0.2, 0.4}, account);
  return account;
}

interpreter::Record lay(double e_mm, int tool, std::uint32_t layer = 1, std::uint8_t flags = 0) {
  return move({10, 10, 0.2}, {20, 10, 0.2}, e_mm, 2.0, tool, layer, flags);
}

TEST(PlateBooks, FeedingAtRestIsNeitherTravelNorPrint) {
  const Account account =
      account_of(two_heads(), {select(0, -1), lay(1.0, 0), feed(-0.8),
                               move({20, 10, 0.2}, {10, 10, 0.2}, 0.0, 1.5), feed(0.8)});
  const TimeBy& time = account.totals.time_by;
  EXPECT_NEAR(time.print_s, 2.0, 1e-12);
  EXPECT_NEAR(time.travel_s, 1.5, 1e-12);
  EXPECT_NEAR(time.other_s, 0.2, 1e-12);
}

/// What a cause adds to the band of the time; nothing where it adds none.
TimeBandCause cause_of(const Account& account, const std::string& name) {
  for (const TimeBandCause& cause : account.totals.time_band)
    if (cause.cause == name)
      return cause;
  return {};
}

TEST(PlateBooks, AnUnknownWordMayTakeItsMostSeconds) {
  const std::vector<interpreter::Record> plate{select(0, -1), lay(1.0, 0)};
  Account account;
  account.unaccounted = {{"M900", 3, 1, {}, {}}, {"M901", 1, 5, {}, {}}};
  account = account_of(two_heads(), plate, std::move(account));
  const Account without = account_of(two_heads(), plate);
  EXPECT_NEAR(account.totals.time.high - without.totals.time.high, 4 * 0.5, 1e-12);
  EXPECT_EQ(account.totals.time.expected, without.totals.time.expected);
  EXPECT_EQ(account.totals.time.low, without.totals.time.low);
  EXPECT_EQ(cause_of(account, "unknown-words").below_s, 0.0);
  EXPECT_NEAR(cause_of(account, "unknown-words").above_s, 4 * 0.5, 1e-12);
  EXPECT_EQ(cause_of(without, "unknown-words").above_s, 0.0);
}

TEST(PlateBooks, HiddenPurgeIsInPairsToolsLayersAndTotals) {
  Machine machine = two_heads();
  machine.swap.hidden_purge_mm3 = 30.0 * base::filament_area_mm2(1.75);
  const Account account =
      account_of(machine, {select(0, -1), lay(1.0, 0), select(1, 0), lay(2.0, 1), feed(5.0, 1),
                           select(0, 1), lay(1.0, 0)});
  ASSERT_EQ(account.swap_pairs.size(), 2U);
  EXPECT_NEAR(account.swap_pairs[0].purge_g, 35 * kG,
              1e-12);  // 0 to 1: what is fed at rest comes on top
  EXPECT_NEAR(account.swap_pairs[1].purge_g, 30 * kG, 1e-12);
  EXPECT_NEAR(account.tools[0].purge_g, 30 * kG, 1e-12);
  EXPECT_NEAR(account.tools[1].purge_g, 35 * kG, 1e-12);
  EXPECT_NEAR(account.layers[1].purge_g, 65 * kG, 1e-12);
  EXPECT_NEAR(account.totals.purge_g, 65 * kG, 1e-12);
  EXPECT_NEAR(account.totals.purge_by.hidden_g, 60 * kG, 1e-12);
  EXPECT_NEAR(account.totals.purge_by.at_rest_g, 5 * kG, 1e-12);
  EXPECT_NEAR(account.totals.part_g, 4 * kG, 1e-12);
}

// Marked material before the first swap is start-up, unless marked purge lies in the same place
// later: then it was the purge's foundation all along.
TEST(PlateBooks, EarlyPurgeInThePlaceOfLaterPurgeIsNoStartUp) {
  const auto marked = [](double x_mm, double e_mm, int tool) {
    return move({x_mm, 150, 0.2}, {x_mm + 8, 150, 0.2}, e_mm, 1.0, tool, 1,
                interpreter::kMarkedPurge);
  };
  const std::vector<interpreter::Record> plate{select(0, -1), marked(50, 7.0, 0), lay(1.0, 0),
                                               select(1, 0),  marked(50, 3.0, 1), lay(1.0, 1)};
  const Account there = account_of(two_heads(), plate);
  EXPECT_NEAR(there.totals.start_up_g, 0.0, 1e-15);
  EXPECT_NEAR(there.totals.purge_g, 10 * kG, 1e-12);
  EXPECT_NEAR(there.layers[1].start_up_g, 0.0, 1e-15);
  EXPECT_NEAR(there.layers[1].purge_g, 10 * kG, 1e-12);
  EXPECT_NEAR(there.tools[0].purge_g, 7 * kG, 1e-12);
  EXPECT_NEAR(there.swap_pairs[0].purge_g, 10 * kG, 1e-12);
  EXPECT_NEAR(there.totals.part_g, 2 * kG, 1e-12);

  std::vector<interpreter::Record> elsewhere = plate;
  elsewhere[1] = marked(100, 7.0, 0);
  const Account apart = account_of(two_heads(), elsewhere);
  EXPECT_NEAR(apart.totals.start_up_g, 7 * kG, 1e-12);
  EXPECT_NEAR(apart.totals.purge_g, 3 * kG, 1e-12);
  EXPECT_NEAR(apart.totals.part_g, 2 * kG, 1e-12);
}

// The foot of a tower below the first swap moves with the tower; a marked purge line does not.
TEST(PlateBooks, OnlyMarkedPurgeThatStaysStartUpIsFixed) {
  Machine machine = two_heads();
  machine.bed = {};
  machine.bed.rows = machine.bed.columns = 2;
  machine.bed.width_mm = machine.bed.depth_mm = 200;
  constexpr std::uint8_t kMarked = interpreter::kMarkedPurge;
  const auto marked = [&](double y, int tool, std::uint32_t layer) {
    return move({10, y, 0.2}, {20, y, 0.2}, 1.0, 2.0, tool, layer, kMarked);
  };
  const std::vector<Material> of_tools = materials();
  PlateBooks books(machine, of_tools);
  const std::vector<interpreter::Record> plate{select(0, -1), marked(10, 0, 0), marked(150, 0, 1),
                                               lay(5.0, 0),   select(1, 0),     marked(150, 1, 2),
                                               lay(5.0, 1, 2)};
  test::give(plate, books);
  books.settle_purge();
  ASSERT_GE(books.fixed_tiles().size(), 2U);
  EXPECT_EQ(books.fixed_tiles()[0], 0b0001U);
  EXPECT_EQ(books.fixed_tiles()[1], 0U);
}

TEST(PlateBooks, TheWidestCauseOfTheBandComesFirst) {
  Machine machine = two_heads();
  machine.procedures.homing_s = {10.0, 15.0, 35.0};
  const Account account =
      account_of(machine, {select(0, -1), test::event(interpreter::RecordKind::home, 0.0),
                           lay(1.0, 0), select(1, 0), lay(1.0, 1)});
  EXPECT_EQ(account.totals.time_band.at(0).cause, "homing");
  EXPECT_NEAR(cause_of(account, "homing").below_s, 5.0, 1e-12);
  EXPECT_NEAR(cause_of(account, "homing").above_s, 20.0, 1e-12);
  EXPECT_NEAR(cause_of(account, "swap").below_s, 2.0, 1e-12);
  EXPECT_NEAR(cause_of(account, "swap").above_s, 4.0, 1e-12);
}

}  // namespace
}  // namespace platetally::ledgers
