#include "base/run_each.hpp"

#include <gtest/gtest.h>

#include <atomic>
#include <numeric>
#include <stdexcept>
#include <vector>

namespace platetally::base {
namespace {

TEST(RunEach, DoesEveryPieceOnce) {
  for (const int threads : {1, 2, 7}) {
    std::vector<std::atomic<int>> times(100);
    run_each(times.size(), threads, [&](std::size_t i) { ++times[i]; });
    for (const std::atomic<int>& each : times)
      EXPECT_EQ(each, 1) << "on " << threads << " threads";
  }
}

TEST(RunEach, WithoutThreadsWorksInOrderOnTheAskingOne) {
  for (const int threads : {-1, 0, 1}) {
    std::vector<std::size_t> order;
    run_each(5, threads, [&](std::size_t i) { order.push_back(i); });
    EXPECT_EQ(order, (std::vector<std::size_t>{0, 1, 2, 3, 4}));
  }
}

TEST(RunEach, HasNothingToDoForNothing) {
  run_each(0, 4, [](std::size_t) { FAIL() << "there is no piece"; });
}

TEST(RunEach, LeavesOutWhatHasNotBegunWhenAPieceThrows) {
  int begun = 0;
  EXPECT_THROW(run_each(10, 1,
                        [&](std::size_t i) {
                          ++begun;
                          if (i == 3)
                            throw std::runtime_error("a piece that fails");
                        }),
               std::runtime_error);
  EXPECT_EQ(begun, 4);
}

TEST(RunEach, ThrowsOnTheAskingThreadWhatAnotherOneThrew) {
  std::atomic<int> begun = 0;
  EXPECT_THROW(run_each(1000, 4,
                        [&](std::size_t) {
                          ++begun;
                          throw std::out_of_range("every piece fails");
                        }),
               std::out_of_range);
  EXPECT_GE(begun, 1);
  EXPECT_LE(begun, 4);
}

TEST(RunEach, AllCoresAreAtLeastOne) {
  EXPECT_GE(all_cores(), 1);
  EXPECT_LE(all_cores(), 16);
}

}  // namespace
}  // namespace platetally::base
