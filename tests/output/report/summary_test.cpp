// The report of one screen: verdict first, short whatever the plate, one line of change a lever.
#include <gtest/gtest.h>

#include <algorithm>
#include <string>

#include "account.hpp"
#include "output/report/strings.hpp"
#include "output/report/text_summary.hpp"
#include "platetally/account.hpp"
#include "platetally/report.hpp"

namespace platetally {
namespace {

/// A plate with as much to say as there can be, all of it long.
Account talkative() {
  Account account = test::labels_account();
  const std::string long_text(900, 'x');
  std::string words;
  for (int i = 0; i < 120; ++i)
    words += "word ";
  account.path = long_text;
  for (int i = 0; i < 12; ++i) {
    account.verdict.reasons.push_back({"reason", Grade::look, words});
    Finding finding;
    finding.code = "some-finding-" + std::to_string(i);
    finding.message = finding.advice = finding.assumes = words;
    finding.tried = i % 2 == 0;
    finding.saves_time_s = i < 6 ? 1e5 : 1e-3;
    finding.saves_purge_g = 1234.5;
    finding.saves_energy_wh = -9876.5;
    account.findings.push_back(finding);
    Diagnostic diagnostic;
    diagnostic.code = "code-" + std::to_string(i);
    diagnostic.severity = i % 2 == 0 ? Severity::error : Severity::warning;
    diagnostic.line = 7;
    diagnostic.message = words;
    account.diagnostics.push_back(diagnostic);
    account.unaccounted.push_back({long_text, 3, 1, "", ""});
  }
  account.verdict.grade = Grade::look;
  account.cost.emplace();
  account.cost->currency = "EUR";
  account.cost->purge_filament = 12.3;
  account.cost->not_counted = {"the machine's price", "energy", "filament of some tools"};
  for (double* part : {&account.totals.time_by.print_s, &account.totals.time_by.travel_s,
                       &account.totals.time_by.swap_s, &account.totals.time_by.heat_wait_s,
                       &account.totals.time_by.other_s})
    *part += 123456.0;
  return account;
}

TEST(Summary, FitsOneScreenWhateverThePlate) {
  for (const Account& account : {test::labels_account(), talkative(), Account{}}) {
    const std::string text = to_text(account);
    EXPECT_LE(std::ranges::count(text, '\n'), report::kSummaryLines) << text;
    EXPECT_GT(std::ranges::count(text, '\n'), 5);
  }
}

TEST(Summary, TheVerdictComesFirst) {
  Account account = test::labels_account();
  EXPECT_TRUE(to_text(account).starts_with("Ready to print\n")) << to_text(account);
  account.verdict.grade = Grade::cannot;
  account.verdict.reasons = {{"leaves-area", Grade::cannot, "it leaves the build area"}};
  for (const bool full : {false, true})
    EXPECT_TRUE(to_text(account, {.full = full})
                    .starts_with("Cannot be printed as it is: it leaves the build area\n"));
  account.verdict.grade = Grade::look;
  EXPECT_TRUE(to_text(account).starts_with("Look before you print: "));
}

TEST(Summary, LeversShowTheAimFirstAndFoldTrifles) {
  Account account = test::labels_account();
  account.findings.clear();
  account.totals.time.expected = 3600.0;
  Finding order;
  order.code = "cheaper-order";
  order.advice = "print in another order";
  order.message = "there are cheaper ones";
  order.tried = true;
  order.saves_time_s = 600.0;
  order.saves_purge_g = -2.5;
  Finding trifle = order;
  trifle.code = "place-on-bed";
  trifle.saves_time_s = 1.0;
  trifle.saves_purge_g = 0.0;
  Finding untried = order;
  untried.code = "tower-without-need";
  untried.tried = false;
  untried.saves_time_s = untried.saves_purge_g = 0.0;
  account.findings = {order, untried, trifle};
  const std::string by_time = to_text(account);
  EXPECT_NE(by_time.find(" -10 min 0 s  print in another order\n"), std::string::npos) << by_time;
  EXPECT_NE(by_time.find("+2.50 g: there are cheaper ones\n"), std::string::npos) << by_time;
  EXPECT_NE(by_time.find("not tried, no figures: "), std::string::npos);
  EXPECT_NE(by_time.find("less than 1 % of time, material or energy: place-on-bed\n"),
            std::string::npos);
  const std::string by_grams = to_text(account, {.aim = Aim::grams});
  EXPECT_NE(by_grams.find(" +2.50 g  print in another order\n"), std::string::npos) << by_grams;
  EXPECT_NE(by_grams.find("by grams;"), std::string::npos);
}

}  // namespace
}  // namespace platetally
