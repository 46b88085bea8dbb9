#include "material/swaps/purge_book.hpp"

#include <gtest/gtest.h>

#include "base/units.hpp"
#include "material/swaps/support.hpp"

namespace platetally::swaps {
namespace {

using test::feed;
using test::move;
using test::select;

TEST(PurgeBook, FilamentReturnedAfterARetractionIsNoPurge) {
  const Machine machine = two_tools();
  WatchedBook book(machine);
  book(lay(1.0, 0));
  book(select(1, 0));
  book(feed(-2.0, 1));
  EXPECT_EQ(book(feed(2.0, 1)).use, Use::none);
  EXPECT_DOUBLE_EQ((*book).tools()[1].purge_mm, 0.0);
  EXPECT_DOUBLE_EQ((*book).tools()[1].net_mm, 0.0);
}

TEST(PurgeBook, FeedingAtRestBeyondTheDebtIsPurgeOfTheToolThatComes) {
  const Machine machine = two_tools();
  WatchedBook book(machine);
  book(lay(1.0, 0));
  book(feed(-0.8, 0));
  book(select(1, 0));
  const Feed chute = book(feed(50.0, 1));  // never used before: it owes nothing
  EXPECT_EQ(chute.use, Use::purge);
  EXPECT_DOUBLE_EQ(chute.fresh_mm, 50.0);
  EXPECT_DOUBLE_EQ((*book).tools()[1].purge_mm, 50.0);
  const PairBook& pair = (*book).pairs()[0 * 2 + 1];
  EXPECT_EQ(pair.count, 1U);
  EXPECT_DOUBLE_EQ(pair.purge_mm, 50.0);
}

TEST(PurgeBook, AnUnusedToolTakesOverTheRetractionOfTheToolThatIsLeft) {
  const Machine machine = two_tools();
  WatchedBook book(machine);
  book(lay(1.0, 0));
  book(feed(-0.8, 0));
  book(select(1, 0));
  EXPECT_EQ(book(feed(0.8, 1)).use, Use::none);
  book(lay(1.0, 1));
  book(feed(-0.8, 1));
  book(select(0, 1));
  EXPECT_EQ(book(feed(0.8, 0)).use, Use::none);
  EXPECT_DOUBLE_EQ((*book).tools()[1].purge_mm + (*book).tools()[0].purge_mm, 0.0);
}

TEST(PurgeBook, WithoutASwapFeedingAtRestIsStartUpOnlyBeforeTheFirstLayer) {
  const Machine machine = two_tools();
  WatchedBook book(machine);
  EXPECT_EQ(book(feed(20.0, 0, 0)).use, Use::start_up);
  book(lay(1.0, 0));
  EXPECT_EQ(book(feed(20.0, 0, 1)).use, Use::part);
}

TEST(PurgeBook, PrimingBelowACubicMillimetreIsPart) {
  const Machine machine = two_tools();
  WatchedBook book(machine);
  book(lay(1.0, 0));
  book(select(1, 0));
  EXPECT_EQ(book(feed(0.4, 1)).use, Use::part);  // 0.96 mm3
  // A second bit at the same place passes the bound: the first is counted after all.
  EXPECT_DOUBLE_EQ(book(feed(0.4, 1)).earlier_mm, 0.4);
  EXPECT_DOUBLE_EQ((*book).tools()[1].purge_mm, 0.8);
}

TEST(PurgeBook, ARunEndsWhereTheNozzleMoves) {
  const Machine machine = two_tools();
  WatchedBook book(machine);
  book(lay(1.0, 0));
  book(select(1, 0));
  book(feed(0.4, 1));
  book(lay(0.0, 1));
  EXPECT_EQ(book(feed(0.4, 1)).use, Use::part);
}

TEST(PurgeBook, WhatLiesInWasteAreasIsPurgeAndWhatLiesOutsideIsSaidToBeThere) {
  Machine machine = two_tools();
  machine.waste_areas.push_back({"bin", 180, 200, 0, 20});
  WatchedBook book(machine);
  book(lay(1.0, 0));
  book(select(1, 0));
  const Feed outside = book(move({205, 10, 0.2}, {205, 60, 0.2}, 2.0, 1, 1));
  EXPECT_EQ(outside.use, Use::part);
  EXPECT_TRUE(outside.outside);
  EXPECT_EQ(book(move({185, 5, 0.2}, {195, 5, 0.2}, 2.0, 1, 1)).use, Use::purge);
  EXPECT_EQ(book(lay(2.0, 1)).use, Use::part);
  EXPECT_DOUBLE_EQ((*book).tools()[1].purge_mm, 2.0);
  EXPECT_DOUBLE_EQ((*book).tools()[1].part_mm(), 4.0);
}

TEST(PurgeBook, OutsideTheAreaBeforeTheFirstLayerIsStartUp) {
  const Machine machine = two_tools();
  WatchedBook book(machine);
  EXPECT_EQ(book(move({-5, 10, 0.2}, {-5, 60, 0.2}, 2.0, 1, 0, 0)).use, Use::start_up);
  EXPECT_EQ(book(move({-5, 10, 0.4}, {-5, 60, 0.4}, 2.0, 1, 0, 2)).use, Use::part);
}

TEST(PurgeBook, MarkedMaterialIsPurgeAfterTheFirstSwapAndStartUpBefore) {
  const Machine machine = two_tools();
  WatchedBook book(machine);
  EXPECT_EQ(book(lay(3.0, 0, interpreter::kMarkedPurge)).use, Use::start_up);
  book(lay(1.0, 0));
  book(select(1, 0));
  EXPECT_EQ(book(lay(3.0, 1, interpreter::kMarkedPurge)).use, Use::purge);
  EXPECT_DOUBLE_EQ((*book).tools()[0].start_up_mm, 3.0);
  EXPECT_DOUBLE_EQ((*book).tools()[0].part_mm(), 1.0);
  EXPECT_DOUBLE_EQ((*book).tools()[1].purge_mm, 3.0);
}

TEST(PurgeBook, HiddenPurgeIsCountedPerSwapAndApart) {
  Machine machine = two_tools();
  machine.swap.hidden_purge_mm3 = 100.0 * base::filament_area_mm2(1.75);
  WatchedBook book(machine);
  book(select(0, -1));
  book(lay(1.0, 0));
  book(select(1, 0));
  book(lay(1.0, 1));
  book(select(0, 1));
  EXPECT_EQ((*book).swaps(), 2U);
  EXPECT_NEAR((*book).tools()[1].hidden_purge_mm, 100.0, 1e-9);
  EXPECT_NEAR((*book).tools()[0].hidden_purge_mm, 100.0, 1e-9);
  EXPECT_DOUBLE_EQ((*book).tools()[0].net_mm, 1.0);
}

}  // namespace
}  // namespace platetally::swaps
