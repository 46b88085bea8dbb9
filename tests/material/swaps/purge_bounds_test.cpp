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
    (*book).settle_early();
    EXPECT_EQ((*book).tools()[0].purge_mm, counts ? 4.0 : 0.0) << beyond_mm;
    EXPECT_EQ((*book).tools()[0].start_up_mm, counts ? 0.0 : 4.0) << beyond_mm;
  }
}

}  // namespace
}  // namespace platetally::swaps
