// An account as a record and back as a row.
#include "output/audit/record.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "platetally/account.hpp"

namespace platetally::audit_stage {
namespace {

const Wanted kByPurge{"totals.purge_g", {}};

Account plate() {
  Account account;
  account.totals.purge_g = 12.25;
  account.totals.swaps = 7;
  return account;
}

AuditRow row_of_plate(const Account& account, const Wanted& wanted) {
  return row_of(line_of(3, "plates/a.gcode", "c0ffee", body_of(account, "", wanted.keys(), "hash")),
                wanted)
      .value();
}

std::vector<double> strip_of_layers(const std::vector<double>& purge_g) {
  Account account = plate();
  for (const double g : purge_g) {
    account.layers.emplace_back();
    account.layers.back().purge_g = g;
  }
  return row_of_plate(account, kByPurge).purge_strip_g;
}

TEST(Record, TheRowSaysWhatTheAccountSays) {
  Account account = plate();
  account.findings.emplace_back();
  account.findings[0].code = "cheaper-order";
  account.findings[0].saves_purge_g = 0.1;  // no binary fraction: kept to the last bit
  account.unaccounted = {{"M900", 3, 1, {}, {}}, {"M901", 4, 9, {}, {}}};
  Diagnostic error;
  error.severity = Severity::error;
  error.count = 5;
  Diagnostic warning;
  warning.severity = Severity::warning;
  warning.count = 2;
  account.diagnostics = {error, warning, warning};
  const AuditRow row = row_of_plate(account, kByPurge);
  EXPECT_EQ(row.index, 3U);
  EXPECT_EQ(row.path, "plates/a.gcode");
  EXPECT_EQ(row.error, "");
  EXPECT_EQ(row.sort_value, 12.25);
  EXPECT_EQ(row.unknown_words, 7U);
  EXPECT_EQ(row.left_out, 5U);
  EXPECT_EQ(row.warnings, 4U);
  ASSERT_EQ(row.findings.size(), 1U);
  EXPECT_EQ(row.findings[0].code, "cheaper-order");
  EXPECT_EQ(row.findings[0].saves_purge_g, 0.1);
  EXPECT_FALSE(row.findings[0].saves_money);
}

TEST(Record, TheVerdictKeepsItsReasons) {
  Account account = plate();
  account.machine = "bench";
  account.verdict = {Grade::cannot,
                     {{"leaves-area", Grade::cannot, "it leaves \"the area\""},
                      {"colours-unknown", Grade::ready, "not checked"}}};
  account.cost.emplace().currency = "EUR";
  const AuditRow row = row_of_plate(account, kByPurge);
  EXPECT_EQ(row.verdict, "cannot");
  ASSERT_EQ(row.reasons.size(), 2U);
  EXPECT_EQ(row.reasons[0].code, "leaves-area");
  EXPECT_EQ(row.reasons[0].grade, Grade::cannot);
  EXPECT_EQ(row.reasons[0].text, "it leaves \"the area\"");
  EXPECT_EQ(row.reasons[1].grade, Grade::ready);
  EXPECT_EQ(row.machine, "bench");
  EXPECT_EQ(row.machine_hash, "hash");
  EXPECT_EQ(row.currency, "EUR");
  EXPECT_EQ(row.fails_because, "");
}

TEST(Record, WhatWasLeftOutOrWarnedOfMayNotPass) {
  Account account = plate();
  Diagnostic remark;
  remark.severity = Severity::warning;
  account.diagnostics = {remark};
  Wanted wanted = kByPurge;
  EXPECT_FALSE(row_of_plate(account, wanted).limits_fail);
  wanted.strict = true;
  EXPECT_EQ(row_of_plate(account, wanted).fails_because, "1 warning; --strict lets none pass");
  wanted.strict = false;
  account.diagnostics[0].severity = Severity::error;
  account.diagnostics[0].count = 2;
  EXPECT_EQ(row_of_plate(account, wanted).fails_because,
            "2 things were left out of the account; --partial lets it pass");
  wanted.partial = true;
  EXPECT_FALSE(row_of_plate(account, wanted).limits_fail);
  account.reading.broken = "unexpected end";
  EXPECT_FALSE(row_of_plate(account, wanted).limits_fail);
  wanted.limits = {{"totals.purge_g", 50.0}};
  EXPECT_EQ(row_of_plate(account, wanted).fails_because,
            "is a part of a plate; no limit passes on it");
}

TEST(Record, APathMayHoldAnything) {
  const std::string path = "a \"b\"\\c\n{d}: é.gcode";
  const auto row = row_of(line_of(0, path, "", body_of(plate(), "in.zip", {}, "hash")), kByPurge);
  ASSERT_TRUE(row);
  EXPECT_EQ(row->path, path);
  EXPECT_EQ(row->member, "in.zip");
}

TEST(Record, TheBodyCanBeTakenOutOfTheLineAgain) {
  const std::string body = body_of(plate(), "in \"member\": .zip", {}, "hash");
  const std::string line = line_of(7, R"(a, "member": {)", "c0ffee", body);
  EXPECT_EQ(body_in(line), body);
  EXPECT_EQ(row_of(line, kByPurge)->content_hash, "c0ffee");
  EXPECT_EQ(body_in("{}"), "");
}

TEST(Record, OnlyWhatIsBeyondALimitBreachesIt) {
  const Wanted wanted{"totals.purge_g", {{"totals.purge_g", 12.25}, {"totals.swaps", 6.0}}};
  const AuditRow row = row_of_plate(plate(), wanted);
  ASSERT_EQ(row.breaches.size(), 1U);
  EXPECT_EQ(row.breaches[0].key, "totals.swaps");
  EXPECT_EQ(row.breaches[0].value, 7.0);
  EXPECT_EQ(row.breaches[0].limit, 6.0);
}

TEST(Record, ALimitOnWhatIsNotKnownIsAnError) {
  const Wanted wanted{"totals.purge_g", {{"totals.cost", 5.0}}};
  const AuditRow row = row_of_plate(plate(), wanted);
  EXPECT_TRUE(row.breaches.empty());
  ASSERT_EQ(row.limit_errors.size(), 1U);
  EXPECT_TRUE(row.limit_errors[0].starts_with("the limit 5 of 'totals.cost' cannot be checked"));
}

TEST(Record, AToolThatIsNotThereIsWithinItsLimit) {
  const Wanted wanted{"totals.purge_g", {{"tools.4.part_g", 0.5}}};
  const AuditRow row = row_of_plate(plate(), wanted);
  EXPECT_TRUE(row.breaches.empty());
  EXPECT_TRUE(row.limit_errors.empty());
}

TEST(Record, AnErrorIsARowToo) {
  const auto row = row_of(line_of(1, "a", "", body_of_error("b", "no \"plate\"")), kByPurge);
  ASSERT_TRUE(row);
  EXPECT_EQ(row->member, "b");
  EXPECT_EQ(row->error, "no \"plate\"");
}

TEST(Record, OtherLinesAreNoRows) {
  for (const char* line : {"", "{}", "[1]", "nothing", R"({"type": "end"})", R"({"type": "plate"})",
                           R"({"type": "plate", "values": 3})"})
    EXPECT_FALSE(row_of(line, kByPurge)) << line;
}

// 48 layers in 24 parts: two to a part.
TEST(Record, TheStripHoldsThePurgeOfLayersInTwentyFourParts) {
  std::vector<double> purge_g(48, 1.0);
  purge_g[0] = 4.0;
  purge_g[47] = 2.0;
  const std::vector<double> strip = strip_of_layers(purge_g);
  ASSERT_EQ(strip.size(), 24U);
  EXPECT_NEAR(strip.front(), 5.0, 1e-12);
  EXPECT_NEAR(strip[12], 2.0, 1e-12);
  EXPECT_NEAR(strip.back(), 3.0, 1e-12);
}

// 36 layers in 24 parts: a part and a half... each layer is two thirds of a part, so the second one
// lies half in the first part and half in the second one.
TEST(Record, ALayerOverABorderCountsToBothSides) {
  std::vector<double> purge_g(36, 0.0);
  purge_g[1] = 6.0;
  const std::vector<double> strip = strip_of_layers(purge_g);
  ASSERT_EQ(strip.size(), 24U);
  EXPECT_NEAR(strip[0], 3.0, 1e-12);
  EXPECT_NEAR(strip[1], 3.0, 1e-12);
}

TEST(Record, AFewLayersAreAPartEach) {
  EXPECT_EQ(strip_of_layers({1.0, 2.0, 3.0}), (std::vector<double>{1.0, 2.0, 3.0}));
  EXPECT_TRUE(strip_of_layers({}).empty());
}

TEST(Wanted, EachKeyOnce) {
  const Wanted wanted{"totals.swaps",
                      {{"totals.purge_g", 1.0}, {"totals.swaps", 2.0}, {"totals.purge_g", 3.0}}};
  EXPECT_EQ(wanted.keys(), (std::vector<std::string>{"totals.purge_g", "totals.swaps"}));
}

}  // namespace
}  // namespace platetally::audit_stage
