#include "material/swaps/outside_log.hpp"

#include <gtest/gtest.h>

#include "support/records.hpp"

namespace platetally::swaps {
namespace {

using test::move;

constexpr timeline::Swap kSwap{timeline::Selection::swap, 0, 1};

Box inside() {
  Box box;
  box.include(20, 20);
  box.include(180, 180);
  return box;
}

void lay(OutsideLog& log, double x_mm, double y_mm, double e_mm = 1.0) {
  log.lay(move({x_mm, y_mm, 0.2}, {x_mm, y_mm + 10.0, 0.2}, e_mm, 2.0, 1), e_mm, 2.0);
}

TEST(OutsideLog, OnTheWayBackFromASwapAndAwayFromThePrintIsPurge) {
  OutsideLog log;
  log.swap(kSwap);
  log.travel();
  lay(log, -5, 50);
  lay(log, -5, 60);
  log.lay_inside();
  const OutsideLog::Verdict verdict = log.settle(inside());
  ASSERT_EQ(verdict.purge.size(), 1U);
  EXPECT_TRUE(verdict.doubtful.empty());
  EXPECT_EQ(verdict.purge[0].from, 0);
  EXPECT_EQ(verdict.purge[0].to, 1);
  EXPECT_DOUBLE_EQ(verdict.purge[0].fed_mm, 2.0);
  EXPECT_DOUBLE_EQ(verdict.purge[0].print_s, 4.0);
}

TEST(OutsideLog, BesideThePrintItMayBeAPart) {
  OutsideLog log;
  log.swap(kSwap);
  lay(log, 181, 50);
  EXPECT_EQ(log.settle(inside()).doubtful.size(), 1U);
}

TEST(OutsideLog, WithoutASwapBeforeItItMayBeAPart) {
  OutsideLog log;
  log.swap(kSwap);
  log.lay_inside();
  lay(log, -5, 50);
  EXPECT_EQ(log.settle(inside()).doubtful.size(), 1U);
}

TEST(OutsideLog, BesideWhatMayBeAPartItMayBeOneToo) {
  OutsideLog log;
  log.swap(kSwap);
  lay(log, -5, 50);  // would be proven alone
  log.lay_inside();
  lay(log, -6, 55);  // printed beside it without a swap
  const OutsideLog::Verdict verdict = log.settle(inside());
  EXPECT_TRUE(verdict.purge.empty());
  EXPECT_EQ(verdict.doubtful.size(), 2U);
}

TEST(OutsideLog, WhereNothingIsPrintedInsideNothingIsProven) {
  OutsideLog log;
  log.swap(kSwap);
  lay(log, -5, 50);
  EXPECT_EQ(log.settle(Box()).doubtful.size(), 1U);
}

TEST(OutsideLog, IsBoundedAndLosesNothing) {
  OutsideLog log;
  constexpr int kVisits = 50'000;
  for (int i = 0; i < kVisits; ++i) {
    log.travel();
    lay(log, -5, 50);
  }
  double fed_mm = 0.0;
  const OutsideLog::Verdict verdict = log.settle(inside());
  EXPECT_LE(verdict.doubtful.size(), 40'000U);
  for (const OutsideVisit& visit : verdict.doubtful)
    fed_mm += visit.fed_mm;
  EXPECT_DOUBLE_EQ(fed_mm, kVisits);
}

}  // namespace
}  // namespace platetally::swaps
