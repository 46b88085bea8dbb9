// Where purge begins and what it is booked with.
#include <gtest/gtest.h>

#include "base/units.hpp"
#include "material/swaps/support.hpp"

namespace platetally::swaps {
namespace {

using test::feed;
using test::move;
using test::select;

// A cubic millimetre: 0.4158 mm of 1.75 mm filament.
TEST(PurgeBounds, PrimingEndsAtACubicMillimetre) {
  for (const auto& [e_mm, use] : {std::pair(0.415, Use::part), std::pair(0.417, Use::purge)}) {
    const Machine machine = two_tools();
    WatchedBook book(machine);
    book(lay(1.0, 0));
    book(select(1, 0));
    EXPECT_EQ(book(feed(e_mm, 1)).use, use) << e_mm;
  }
}

TEST(PurgeBounds, HiddenPurgeIsBookedWithItsPair) {
  Machine machine = two_tools();
  machine.swap.hidden_purge_mm3 = 40.0 * base::filament_area_mm2(1.75);
  WatchedBook book(machine);
  book(select(0, -1));
  book(lay(1.0, 0));
  book(select(1, 0));
  book(lay(1.0, 1));
  const std::vector<PairBook>& pairs = (*book).pairs();
  EXPECT_NEAR(pairs[0 * 2 + 1].hidden_purge_mm, 40.0, 1e-9);
  EXPECT_EQ(pairs[1 * 2 + 0].hidden_purge_mm, 0.0);
}

// Early purge counts where later purge lies, give or take two millimetres.
TEST(PurgeBounds, EarlyPurgeLiesWithinTwoMillimetresOfLaterPurge) {
  for (const auto& [beyond_mm, counts] : {std::pair(1.95, true), std::pair(2.05, false)}) {
    const Machine machine = two_tools();
    WatchedBook book(machine);
    const auto marked = [](double from_mm, double to_mm, double e_mm, int tool) {
      return move({from_mm, 100, 0.2}, {to_mm, 100, 0.2}, e_mm, 0.2, tool, 1,
                  interpreter::kMarkedPurge);
    };
    book(select(0, -1));
    book(marked(50, 60 + beyond_mm, 4.0, 0));
    book(lay(1.0, 0));
    book(select(1, 0));
    book(marked(50, 60, 3.0, 1));
    for (const Recounted& early : (*book).settle_early())
      (*book).recount(early);
    EXPECT_EQ((*book).tools()[0].purge_mm, counts ? 4.0 : 0.0) << beyond_mm;
    EXPECT_EQ((*book).tools()[0].start_up_mm, counts ? 0.0 : 4.0) << beyond_mm;
  }
}

/// A tool returns 2 mm for the one before it, and then does what is given; what may be purge of it.
double doubt_behind_return(const std::vector<decltype(feed(0.0))>& records) {
  const Machine machine = two_tools();
  WatchedBook book(machine);
  book(select(0, -1));
  book(lay(5.0, 0));
  book(feed(-2.0, 0));
  book(select(1, 0));
  book(feed(2.0, 1));
  for (const auto& record : records)
    book(record);
  (*book).settle_early();
  EXPECT_EQ((*book).tools()[1].purge_mm, 0.0);
  return (*book).doubt_mm(1);
}

TEST(PurgeBounds, AReturnThatIsDrawnBackAtOnceMayHaveBeenAFlush) {
  EXPECT_EQ(doubt_behind_return({feed(-2.0, 1), lay(1.0, 1)}), 2.0);
  EXPECT_EQ(doubt_behind_return({lay(1.0, 1), feed(-2.0, 1)}), 0.0);
  EXPECT_EQ(doubt_behind_return({}), 0.0);
}

/// What is fed at rest at X 50 before the first swap, and where that swap flushes.
double doubt_of_first_flush(double e_mm, double swap_x_mm) {
  const Machine machine = two_tools();
  WatchedBook book(machine);
  const auto flush = [](double x_mm, double mm, int tool) {
    return move({x_mm, 5, 0.2}, {x_mm, 5, 0.2}, mm, 0.2, tool, 1);
  };
  book(select(0, -1));
  book(lay(5.0, 0));
  EXPECT_EQ(book(flush(50, e_mm, 0)).use, Use::part);
  book(lay(5.0, 0));
  book(select(1, 0));
  book(flush(swap_x_mm, 20.0, 1));
  (*book).settle_early();
  return (*book).doubt_mm(0);
}

TEST(PurgeBounds, WhatIsFedBeforeTheSwapsWhereTheyFlushMayBePurge) {
  EXPECT_EQ(doubt_of_first_flush(3.0, 51.5), 3.0);
  EXPECT_EQ(doubt_of_first_flush(3.0, 52.5), 0.0);
  EXPECT_EQ(doubt_of_first_flush(0.4, 50.0), 0.0);  // makes up for ooze
}

}  // namespace
}  // namespace platetally::swaps
