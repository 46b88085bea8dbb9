#include "motion/timeline/swap_watch.hpp"

#include <gtest/gtest.h>

#include "support/records.hpp"

namespace platetally::timeline {
namespace {

using test::move;
using test::select;

struct Row {
  const char* what;
  const char* program;  // digits select, 'p' parks, 'L' lays with the tool in hand, 'v' travels
  int swaps;
  int firsts;
};

class SwapDefinition : public testing::TestWithParam<Row> {};

TEST_P(SwapDefinition, CountsChangesAfterMaterialOnly) {
  const Row& row = GetParam();
  SwapWatch watch;
  int swaps = 0;
  int firsts = 0;
  int in_hand = 0;
  for (const char* step = row.program; *step != '\0'; ++step) {
    Swap swap;
    if (*step == 'L') {
      swap = watch.see(move({0, 0, 0.2}, {5, 0, 0.2}, 0.2, 0.1, in_hand));
    } else if (*step == 'v') {
      swap = watch.see(move({0, 0, 0.2}, {5, 0, 0.2}, 0.0, 0.1, in_hand));
    } else {
      const int tool = *step == 'p' ? -1 : *step - '0';
      swap = watch.see(select(tool, in_hand));
      in_hand = tool;
    }
    swaps += swap.selection == Selection::swap;
    firsts += swap.selection == Selection::first;
  }
  EXPECT_EQ(swaps, row.swaps) << row.what;
  EXPECT_EQ(firsts, row.firsts) << row.what;
}

INSTANTIATE_TEST_SUITE_P(
    Rows, SwapDefinition,
    testing::Values(Row{"one tool", "0LLL", 0, 1}, Row{"repeated selection", "0L0L00L", 0, 1},
                    Row{"each selection written twice", "00L11L00L", 2, 1},
                    Row{"changes before any material", "0v1v0L", 0, 3},
                    Row{"parking at the end", "0L1Lp", 1, 1},
                    Row{"parking between two tools", "0Lp1Lp0L", 2, 1},
                    Row{"parking and the same tool again", "0Lp0L", 0, 1},
                    Row{"selections with no material between", "0L12L", 2, 1},
                    Row{"a plate that never selects its first tool", "L1L", 1, 0}));

}  // namespace
}  // namespace platetally::timeline
