// What the rows of an audit amount to, on rows made by hand.
#include "output/audit/sums.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>

namespace platetally::audit_stage {
namespace {

constexpr double kNotKnown = std::numeric_limits<double>::quiet_NaN();

std::size_t at(std::string_view key) {
  const auto& keys = audit_keys();
  return static_cast<std::size_t>(std::ranges::find(keys, key) - keys.begin());
}

AuditRow row(const std::string& path, double purge_g) {
  AuditRow row;
  row.path = path;
  row.totals.assign(audit_keys().size(), 1.0);
  row.totals[at("purge_g")] = purge_g;
  row.sort_value = purge_g;
  return row;
}

AuditRow failed(const std::string& path) {
  AuditRow row;
  row.path = path;
  row.error = "cannot be read";
  return row;
}

std::vector<std::string> paths_of(const AuditReport& report) {
  std::vector<std::string> paths;
  for (const AuditRow& row : report.rows)
    paths.push_back(row.path);
  return paths;
}

TEST(Sums, TheWorstPlateComesFirstAndWhatFailedLast) {
  AuditReport report;
  report.rows = {row("a", 2.0), failed("b"), row("c", 5.0), row("d", kNotKnown), row("e", 3.0)};
  report.rows[3].sort_value.reset();
  sum_up(report);
  EXPECT_EQ(paths_of(report), (std::vector<std::string>{"c", "e", "a", "d", "b"}));
}

TEST(Sums, EqualPlatesKeepTheOrderOfTheInput) {
  AuditReport report;
  report.rows = {row("a", 2.0), row("b", 2.0), row("c", 2.0)};
  sum_up(report);
  EXPECT_EQ(paths_of(report), (std::vector<std::string>{"a", "b", "c"}));
}

TEST(Sums, FiguresAddUpButForThoseThatMakeNoSense) {
  AuditReport report;
  report.rows = {row("a", 2.0), failed("b"), row("c", 5.5)};
  sum_up(report);
  EXPECT_EQ(report.totals[at("purge_g")], 7.5);
  EXPECT_EQ(report.totals[at("swaps")], 2.0);
  for (const char* key : {"mean_power_w", "peak_power_w", "peak_quarter_hour_w", "connected_load_w",
                          "bed_zones_used", "energy_residual", "cost_per_good_part"}) {
    ASSERT_LT(at(key), audit_keys().size()) << key;
    EXPECT_TRUE(std::isnan(report.totals[at(key)])) << key;
  }
}

// What one plate does not know is left out; what none knows is not known.
TEST(Sums, AFigureThatIsNotKnownIsLeftOut) {
  AuditReport report;
  report.rows = {row("a", kNotKnown), row("b", 4.0)};
  report.rows[0].totals[at("swaps")] = report.rows[1].totals[at("swaps")] = kNotKnown;
  sum_up(report);
  EXPECT_EQ(report.totals[at("purge_g")], 4.0);
  EXPECT_TRUE(std::isnan(report.totals[at("swaps")]));
}

TEST(Sums, PlatesFailuresAndBreachesAreCounted) {
  AuditReport report;
  report.rows = {row("a", 2.0), failed("b"), row("c", 5.0), row("d", 6.0)};
  report.rows[2].breaches.push_back({"totals.purge_g", 5.0, 4.0});
  report.rows[3].limit_errors.emplace_back("its value is not known");
  report.faults.emplace_back("folder", "may not be looked into");
  sum_up(report);
  EXPECT_EQ(report.plates, 3U);
  EXPECT_EQ(report.failed, 3U);  // b, d whose limit could not be checked, and the folder
  EXPECT_EQ(report.exceeded, 1U);
  sum_up(report);
  EXPECT_EQ(report.failed, 3U) << "a second time";
}

TEST(Sums, OnlyTheWorstAndWhatDoesNotPassIsKept) {
  Summing summing(2);
  AuditReport report;
  const double purge_g[] = {3.0, 9.0, 1.0, 7.0, 2.0, 5.0};
  for (std::size_t i = 0; i < 6; ++i) {
    AuditRow one = row(std::string(1, static_cast<char>('a' + i)), purge_g[i]);
    one.limits_fail = i == 2 || i == 4 || i == 5;  // 1, 2 and 5 g: the two largest of them stay
    summing.add(std::move(one));
  }
  summing.add(failed("g"));
  summing.finish(report);
  EXPECT_EQ(paths_of(report), (std::vector<std::string>{"b", "d", "f", "e"}));
  EXPECT_EQ(report.rows_in_all, 7U);
  EXPECT_EQ(report.plates, 6U);
  EXPECT_EQ(report.failed, 1U);
  EXPECT_EQ(report.not_passed, 3U);
  EXPECT_EQ(report.totals[at("purge_g")], 27.0);
  const auto largest = std::ranges::find(report.largest, "purge_g", &AuditLargest::key);
  ASSERT_NE(largest, report.largest.end());
  ASSERT_EQ(largest->plates.size(), 4U);
  EXPECT_EQ(largest->plates[0].path, "b");
  EXPECT_EQ(largest->plates[3].value, 3.0);
}

// 100 columns: names end lines behind / - _, marks stay whole, a word that is too long loses its
// middle.
TEST(Sums, NamesInTheTextEndLinesAtSeparatorsOnly) {
  AuditReport report;
  report.rows = {
      row("a/" + std::string(30, 'b') + "/seed-tray-" + std::string(20, 'c') + "_tags", 5.0),
      row(std::string(90, 'd'), 4.0)};
  report.rows[0].breaches.push_back({"totals.purge_g", 5.0, 4.0});
  report.sort = "totals.purge_g";
  sum_up(report);
  const std::string text = to_text(report);
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t end = text.find('\n', from);
    const std::string line = text.substr(from, end - from);
    if (line.find("is 5") == std::string::npos) {  // the list of limits is no table
      EXPECT_LE(line.size(), 100U) << line;
    }
    from = end + 1;
  }
  EXPECT_NE(text.find("/seed-\n"), std::string::npos) << text;
  EXPECT_NE(text.find("OVER THE LIMIT\n"), std::string::npos) << text;
  EXPECT_NE(text.find("ddd...ddd"), std::string::npos) << text;
}

AuditFinding finding(const std::string& code, double purge_g, double time_s = 0.0) {
  AuditFinding finding;
  finding.code = code;
  finding.saves_purge_g = purge_g;
  finding.saves_time_s = time_s;
  return finding;
}

TEST(Sums, AFindingOfOnePlateCountsItOnce) {
  AuditReport report;
  report.rows = {row("a", 2.0), row("b", 3.0)};
  report.rows[0].findings = {finding("tool-without-use", 1.0, 60.0),
                             finding("tool-without-use", 2.0, 30.0)};
  report.rows[1].findings = {finding("tool-without-use", 4.0, 10.0)};
  sum_up(report);
  ASSERT_EQ(report.findings.size(), 1U);
  EXPECT_EQ(report.findings[0].plates, 2U);
  EXPECT_EQ(report.findings[0].sum.saves_purge_g, 7.0);
  EXPECT_EQ(report.findings[0].sum.saves_time_s, 100.0);
  EXPECT_FALSE(report.findings[0].sum.saves_money);
}

std::vector<std::string> codes_by(std::optional<Aim> value, const std::string& currency) {
  AuditReport report;
  report.rows = {row("a", 2.0)};
  report.rows[0].currency = currency;
  report.rows[0].findings = {finding("a", 1.0), finding("b", 3.0, 5.0), finding("c", 3.0, 9.0),
                             finding("d", 0.0), finding("spoils", -9.0, -9.0)};
  report.rows[0].findings[3].saves_money = 0.5;
  report.rows[0].findings[4].spoils = true;
  report.value = value;
  sum_up(report);
  std::vector<std::string> codes;
  for (const AuditFindingSum& sum : report.findings)
    codes.push_back(sum.sum.code);
  return codes;
}

TEST(Sums, FindingsAreRankedByTheValueThenByWhatElseTheySave) {
  using Codes = std::vector<std::string>;
  EXPECT_EQ(codes_by(std::nullopt, ""), (Codes{"spoils", "c", "b", "d", "a"})) << "time";
  EXPECT_EQ(codes_by(std::nullopt, "EUR"), (Codes{"spoils", "d", "c", "b", "a"})) << "money";
  EXPECT_EQ(codes_by(Aim::grams, "EUR"), (Codes{"spoils", "c", "b", "a", "d"}));
}

TEST(Sums, WhatDoesNotPassIsCountedApart) {
  AuditReport report;
  report.rows = {row("a", 2.0), row("b", 3.0), row("c", 5.0)};
  report.rows[1].limits_fail = report.rows[2].limits_fail = true;
  report.rows[2].breaches.push_back({"totals.purge_g", 5.0, 4.0});
  sum_up(report);
  EXPECT_EQ(report.exceeded, 1U);
  EXPECT_EQ(report.not_passed, 1U);
}

}  // namespace
}  // namespace platetally::audit_stage
