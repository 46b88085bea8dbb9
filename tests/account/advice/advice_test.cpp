// Names of aims, what a finding saves of each, and the order in which findings are told.
#include <gtest/gtest.h>

#include <algorithm>

#include "account/advice/shift.hpp"
#include "platetally/account.hpp"
#include "platetally/advice.hpp"
#include "support/chance.hpp"

namespace platetally {
namespace {

constexpr Aim kAims[] = {Aim::time, Aim::money, Aim::grams, Aim::energy};

/// An hour, 50 g and 200 Wh.
Account tray_of_labels() {
  Account account;
  account.totals.time.expected = 3600.0;
  account.totals.part_g = 30.0;
  account.totals.purge_g = 15.0;
  account.totals.start_up_g = 5.0;
  account.totals.energy_wh = 200.0;
  return account;
}

Finding saving(double time_s, double purge_g, double energy_wh,
               std::optional<double> money = std::nullopt) {
  Finding finding;
  finding.saves_time_s = time_s;
  finding.saves_purge_g = purge_g;
  finding.saves_energy_wh = energy_wh;
  finding.saves_money = money;
  return finding;
}

std::vector<std::string> codes_of(const Account& account) {
  std::vector<std::string> codes;
  for (const Finding& finding : account.findings)
    codes.push_back(finding.code);
  return codes;
}

TEST(Aims, EveryNameLeadsBackToItsAim) {
  for (const Aim aim : kAims)
    EXPECT_EQ(aim_named(name_of(aim)), aim);
  EXPECT_EQ(name_of(Aim::grams), "grams");
  for (const char* word : {"", "Time", "times", "hours", " time"})
    EXPECT_EQ(aim_named(word), std::nullopt) << word;
}

TEST(Aims, WithPricesMoneyIsMeantElseTime) {
  Account account = tray_of_labels();
  EXPECT_EQ(usual_aim(account), Aim::time);
  account.cost.emplace();
  EXPECT_EQ(usual_aim(account), Aim::money);
}

TEST(Saved, IsOfTheAimAlone) {
  const Finding finding = saving(60.0, 2.0, 7.0, 0.5);
  EXPECT_EQ(saved(finding, Aim::time), 60.0);
  EXPECT_EQ(saved(finding, Aim::grams), 2.0);
  EXPECT_EQ(saved(finding, Aim::energy), 7.0);
  EXPECT_EQ(saved(finding, Aim::money), 0.5);
  EXPECT_EQ(saved(saving(60.0, 2.0, 7.0), Aim::money), 0.0) << "without prices nothing is known";
}

TEST(LargestShare, IsOfWhatThePlateTakes) {
  const Account account = tray_of_labels();
  EXPECT_DOUBLE_EQ(largest_share(saving(360.0, 0.0, 0.0), account), 0.1);
  EXPECT_DOUBLE_EQ(largest_share(saving(0.0, 5.0, 0.0), account), 0.1) << "of all 50 g";
  EXPECT_DOUBLE_EQ(largest_share(saving(0.0, 0.0, 20.0), account), 0.1);
  EXPECT_DOUBLE_EQ(largest_share(saving(36.0, 5.0, 60.0), account), 0.3);
  EXPECT_EQ(largest_share(saving(-360.0, -5.0, -20.0), account), 0.0) << "it only costs";
  EXPECT_DOUBLE_EQ(largest_share(saving(-360.0, 5.0, 0.0), account), 0.1);
}

TEST(LargestShare, OfMoneyNeedsACost) {
  Account account = tray_of_labels();
  const Finding finding = saving(0.0, 0.0, 0.0, 1.0);
  EXPECT_EQ(largest_share(finding, account), 0.0);
  account.cost.emplace();
  account.cost->labour = 4.0;
  EXPECT_DOUBLE_EQ(largest_share(finding, account), 0.25);
  account.cost->labour = 0.0;
  EXPECT_EQ(largest_share(finding, account), 0.0) << "of a plate that costs nothing";
}

TEST(LargestShare, OfAnEmptyPlateIsNone) {
  EXPECT_EQ(largest_share(saving(60.0, 2.0, 7.0, 0.5), Account()), 0.0);
}

// Scaling plate and savings alike changes no share.
TEST(LargestShare, DoesNotDependOnTheSizeOfThePlate) {
  test::Random random(7);
  for (int i = 0; i < 200; ++i) {
    Account account = tray_of_labels();
    Finding finding =
        saving(random.real(-900.0, 900.0), random.real(-9.0, 9.0), random.real(-50.0, 50.0));
    const double share = largest_share(finding, account);
    const double factor = random.real(0.1, 30.0);
    account.totals.time.expected *= factor;
    account.totals.part_g *= factor;
    account.totals.purge_g *= factor;
    account.totals.start_up_g *= factor;
    account.totals.energy_wh *= factor;
    finding.saves_time_s *= factor;
    finding.saves_purge_g *= factor;
    finding.saves_energy_wh *= factor;
    EXPECT_NEAR(largest_share(finding, account), share, 1e-12);
  }
}

TEST(Ranking, WhatSpoilsSomethingComesFirstWhateverItSaves) {
  Account account = tray_of_labels();
  Finding spoils = saving(-600.0, -9.0, -9.0);
  spoils.code = "spoils";
  spoils.severity = Severity::warning;
  Finding saves = saving(600.0, 9.0, 9.0);
  saves.code = "saves";
  account.findings = {saves, spoils};
  for (const Aim aim : kAims) {
    rank_findings(account, aim);
    EXPECT_EQ(codes_of(account), (std::vector<std::string>{"spoils", "saves"}));
  }
}

TEST(Ranking, WhatSavesEqualAmountsGoesByTheLargestShareOfAnything) {
  Account account = tray_of_labels();
  Finding alone = saving(60.0, 0.0, 0.0);
  alone.code = "alone";
  Finding besides = saving(60.0, 10.0, 0.0);
  besides.code = "besides";
  account.findings = {alone, besides};
  rank_findings(account, Aim::time);
  EXPECT_EQ(codes_of(account), (std::vector<std::string>{"besides", "alone"}));
}

TEST(Ranking, WhatIsAlikeInAllStaysInItsOrder) {
  Account account = tray_of_labels();
  for (const char* code : {"first", "second", "third"}) {
    account.findings.push_back(saving(60.0, 1.0, 1.0));
    account.findings.back().code = code;
  }
  for (const Aim aim : kAims)
    rank_findings(account, aim);
  EXPECT_EQ(codes_of(account), (std::vector<std::string>{"first", "second", "third"}));
}

class RankingOfAny : public testing::TestWithParam<unsigned> {};

// Whatever order they come in, they end in one: by severity, then by what is aimed at.
TEST_P(RankingOfAny, EndsInOneOrder) {
  test::Random random(GetParam());
  Account account = tray_of_labels();
  for (int i = 0; i < 12; ++i) {
    account.findings.push_back(saving(random.real(-900.0, 900.0), random.real(-9.0, 9.0),
                                      random.real(-50.0, 50.0), random.real(-2.0, 2.0)));
    account.findings.back().code = std::to_string(i);
    account.findings.back().severity = random.one_in(4) ? Severity::warning : Severity::note;
  }
  for (const Aim aim : kAims) {
    rank_findings(account, aim);
    const std::vector<std::string> order = codes_of(account);
    for (std::size_t i = 1; i < account.findings.size(); ++i) {
      const Finding& before = account.findings[i - 1];
      const Finding& behind = account.findings[i];
      EXPECT_GE(before.severity, behind.severity);
      if (before.severity == behind.severity) {
        EXPECT_GE(saved(before, aim), saved(behind, aim));
      }
    }
    std::ranges::reverse(account.findings);
    std::swap(account.findings[random.below(12)], account.findings[random.below(12)]);
    rank_findings(account, aim);
    EXPECT_EQ(codes_of(account), order) << name_of(aim);
  }
}

INSTANTIATE_TEST_SUITE_P(Seeds, RankingOfAny, testing::Range(0U, 10U));

struct ShiftCase {
  double x_mm, y_mm;
  const char* words;
};

class ShiftWords : public testing::TestWithParam<ShiftCase> {};

TEST_P(ShiftWords, LeaveOutWhatIsNothingInOneDecimal) {
  EXPECT_EQ(advice::shift_words(GetParam().x_mm, GetParam().y_mm), GetParam().words);
}

INSTANTIATE_TEST_SUITE_P(
    Cases, ShiftWords,
    testing::Values(ShiftCase{1.0, -45.0, "+1.0 mm in X and -45.0 mm in Y"},
                    ShiftCase{0.0, 12.34, "+12.3 mm in Y"}, ShiftCase{-2.55, 0.0, "-2.5 mm in X"},
                    ShiftCase{0.049, -0.049, "nothing"}, ShiftCase{0.051, 0.0, "+0.1 mm in X"},
                    ShiftCase{0.0, -0.051, "-0.1 mm in Y"}, ShiftCase{0.0, 0.0, "nothing"}));

TEST(Grades, HaveTheirNames) {
  EXPECT_EQ(name_of(Grade::ready), "ready");
  EXPECT_EQ(name_of(Grade::look), "look");
  EXPECT_EQ(name_of(Grade::cannot), "cannot");
}

}  // namespace
}  // namespace platetally
