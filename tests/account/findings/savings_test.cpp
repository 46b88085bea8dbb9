// Copies, and findings on plates made by hand; tests/whole/advice_test.cpp follows what they
// advise.
#include "account/findings/savings.hpp"

#include <gtest/gtest.h>

#include "account/ledgers/purge_short.hpp"
#include "platetally/advice.hpp"
#include "platetally/explain.hpp"
#include "support/kept_plate.hpp"

namespace platetally::findings {
namespace {

using test::HandMade;

void lay_block(ledgers::Footprint& footprint, double x, double y, double width, double depth) {
  interpreter::Move move{};
  for (double at = 0.0; at <= depth; at += 1.0) {
    move.from_mm = {x, y + at, 0.2};
    move.to_mm = {x + width, y + at, 0.2};
    footprint.add(move, 1);
  }
}

TEST(Copies, IslandsOfOneSizeAreCopies) {
  ledgers::Footprint footprint(BuildArea{0, 200, 0, 200, 200});
  EXPECT_EQ(count_copies(footprint), 1U);
  for (int i = 0; i < 5; ++i)
    lay_block(footprint, 10.0 + 30 * i, 20, 18, 12);
  lay_block(footprint, 20, 120, 60, 30);  // something else
  EXPECT_EQ(count_copies(footprint), 5U);
}

std::vector<Finding> find(
    const whatif::KeptPlate& plate,
    const std::vector<ledgers::ToolUse>& uses = std::vector<ledgers::ToolUse>(4)) {
  return find_levers({plate, uses}).findings;
}

const Finding* code(const std::vector<Finding>& findings, std::string_view code) {
  const auto found = std::ranges::find(findings, code, &Finding::code);
  return found == findings.end() ? nullptr : &*found;
}

/// Three heads, a tower, 0.2 mm layers: most levers at once.
HandMade wasteful() {
  HandMade made(std::vector<std::vector<int>>(20, {0, 1, 2}));
  made.on_tower = true;
  return made;
}

TEST(Savings, AreTheSameOnSeveralThreads) {
  const whatif::KeptPlate plate = wasteful().make();
  const std::vector<ledgers::ToolUse> uses(4);
  const Levers one = find_levers({plate, uses}, 1);
  const Levers three = find_levers({plate, uses}, 3);
  ASSERT_GE(one.findings.size(), 3U);
  ASSERT_EQ(one.findings.size(), three.findings.size());
  for (std::size_t i = 0; i < one.findings.size(); ++i) {
    EXPECT_EQ(one.findings[i].code, three.findings[i].code);
    EXPECT_EQ(one.findings[i].message, three.findings[i].message);
    EXPECT_EQ(one.findings[i].saves_time_s, three.findings[i].saves_time_s);
    EXPECT_EQ(one.findings[i].saves_purge_g, three.findings[i].saves_purge_g);
    EXPECT_EQ(one.findings[i].saves_energy_wh, three.findings[i].saves_energy_wh);
  }
  EXPECT_EQ(one.placement.zones_then, three.placement.zones_then);
}

TEST(Savings, EachSaysWhatItSavesAndWhatItAssumes) {
  const whatif::KeptPlate plate = wasteful().make();
  const std::vector<Finding> findings = find(plate);
  for (const Finding& finding : findings) {
    SCOPED_TRACE(finding.code);
    EXPECT_FALSE(finding.message.empty());
    EXPECT_FALSE(finding.advice.empty());
    EXPECT_FALSE(finding.assumes.empty());
    EXPECT_TRUE(finding.tried);
    EXPECT_TRUE(finding.trial.starts_with("tried in the model: "));
    EXPECT_GT(largest_share(finding, plate.account), 0.0);
    EXPECT_TRUE(explain_finding(finding.code).has_value());
    // Nothing saves more than is spent.
    EXPECT_LT(finding.saves_time_s, plate.account.totals.time.expected);
    EXPECT_LE(finding.saves_purge_g, plate.account.totals.purge_g + 1e-9);
    EXPECT_LT(finding.saves_energy_wh, plate.account.totals.energy_wh);
  }
  const Finding* tower = code(findings, "tower-without-need");
  ASSERT_NE(tower, nullptr);
  EXPECT_NEAR(tower->saves_purge_g, plate.account.totals.purge_g, 1e-9);
  const Finding* order = code(findings, "cheaper-order");
  ASSERT_NE(order, nullptr);  // two swaps a layer instead of three: 40 instead of 59
  EXPECT_NE(order->trial.find("40 swaps"), std::string::npos) << order->trial;
  const Finding* thick = code(findings, "thicker-layers");
  ASSERT_NE(thick, nullptr);
  EXPECT_NE(thick->advice.find("0.30 mm"), std::string::npos) << thick->advice;
  EXPECT_NE(code(findings, "copies-share-swaps"), nullptr);
  EXPECT_EQ(code(findings, "purge-above-need"), nullptr);  // heads of their own
  EXPECT_EQ(code(findings, "purge-below-need"), nullptr);
}

TEST(Savings, EachKeepsThePlateAsAdvisedForItsPrice) {
  const whatif::KeptPlate plate = wasteful().make();
  for (const Finding& finding : find(plate)) {
    SCOPED_TRACE(finding.code);
    ASSERT_NE(finding.advised, nullptr);
    EXPECT_EQ(finding.plates, finding.code == "copies-share-swaps" ? 2 : 1);
    const Totals& then = finding.advised->totals;
    EXPECT_NEAR(plate.account.totals.energy_wh - then.energy_wh / finding.plates,
                finding.saves_energy_wh, 1e-9);
    double purge_g = 0.0;
    for (const ToolAccount& tool : finding.advised->tools)
      purge_g += tool.purge_g;
    EXPECT_NEAR(purge_g, then.purge_g, 1e-9);
  }
}

// A nozzle that held another colour has to be primed somewhere: without its tower it would spoil
// the part.
TEST(Savings, ATowerIsNeededWhereAnySwapChangesFilament) {
  HandMade one_nozzle(std::vector<std::vector<int>>(20, {0, 1, 2}), 1);
  one_nozzle.on_tower = true;
  EXPECT_EQ(code(find(one_nozzle.make()), "tower-without-need"), nullptr);
  // Tools 0 and 2 share a head; one pair of them is enough.
  HandMade two_heads(std::vector<std::vector<int>>(20, {0, 1, 2}), 2);
  two_heads.on_tower = true;
  EXPECT_EQ(code(find(two_heads.make()), "tower-without-need"), nullptr);
  HandMade apart(std::vector<std::vector<int>>(20, {0, 1}), 2);
  apart.on_tower = true;
  EXPECT_NE(code(find(apart.make()), "tower-without-need"), nullptr);
  whatif::KeptPlate undecided = apart.make();
  undecided.account.tower.verdict = "undecided";
  EXPECT_EQ(code(find(undecided), "tower-without-need"), nullptr);
}

// Three quarters of the nozzle is as thick as a layer goes (common practice, no source).
TEST(Savings, LayersAreMadeThickerOnlyWhereTheNozzleAllowsATenthMore) {
  const auto advised = [](double nozzle_mm) {
    HandMade made = wasteful();
    for (Head& head : made.machine.heads)
      head.nozzle_diameter_mm = nozzle_mm;
    const std::vector<Finding> findings = find(made.make());
    const Finding* thick = code(findings, "thicker-layers");
    return thick == nullptr ? std::string() : thick->advice;
  };
  // Layers are 0.20 mm: from 0.22 mm on it is worth slicing for.
  EXPECT_EQ(advised(0.28), "") << "0.21 mm";
  EXPECT_EQ(advised(0.30), "slice with layers of 0.22 mm where the look allows it");
  EXPECT_EQ(advised(0.60), "slice with layers of 0.45 mm where the look allows it");
  HandMade mixed = wasteful();
  mixed.machine.heads[0].nozzle_diameter_mm = 0.6;
  mixed.machine.heads[1].nozzle_diameter_mm = 0.25;
  EXPECT_EQ(code(find(mixed.make()), "thicker-layers"), nullptr) << "the finest nozzle decides";
}

TEST(Savings, ToolsThatAreSwappedForAndLayNoPartAreNamed) {
  whatif::KeptPlate plate = wasteful().make();
  plate.account.tools[1].part_g = 0.0;
  const std::vector<Finding> one = find(plate);
  ASSERT_NE(code(one, "tool-without-use"), nullptr);
  EXPECT_EQ(code(one, "tool-without-use")->message, "tool 1 is selected and lays no part");
  EXPECT_EQ(code(one, "tool-without-use")->advice, "take tool 1 out of the plate");
  EXPECT_EQ(code(one, "cheaper-order"), nullptr) << "it has to go before others are ordered";
  plate.account.tools[2].part_g = 0.0;
  const std::vector<Finding> two = find(plate);
  EXPECT_EQ(code(two, "tool-without-use")->message, "tools 1, 2 are selected and lay no part");
  plate.account.tools[1].part_g = plate.account.tools[2].part_g = 1.0;
  EXPECT_EQ(code(find(plate), "tool-without-use"), nullptr);
}

TEST(Savings, AHeadThatIsHotBeforeAndBehindItsUseIsHeatedInTime) {
  const whatif::KeptPlate plate = HandMade(std::vector<std::vector<int>>(60, {0})).make();
  std::vector<ledgers::ToolUse> uses(4);
  uses[0] = {0.0, 10.0, 1300.0, 1300.0};
  uses[3] = {0.0, 400.0, 700.0, 800.0};
  EXPECT_EQ(code(find(plate, uses), "heat-without-use"), nullptr) << "500 s are not worth a word";
  uses[3] = {0.0, 500.0, 700.0, 800.0};
  const std::vector<Finding> findings = find(plate, uses);
  const Finding* idle = code(findings, "heat-without-use");
  ASSERT_NE(idle, nullptr) << "600 s are";
  EXPECT_EQ(idle->message, "tool 3 is hot for 8 min before its first use and 2 min after its last");
  EXPECT_TRUE(idle->advice.starts_with("heat tool 3 from layer ") ||
              idle->advice == "switch tool 3 off after its last use")
      << idle->advice;
}

// Its figures are of a plate that does not come out in its colours.
TEST(Savings, APlateOfAnotherMachineIsNotToldToBePrintedTwice) {
  whatif::KeptPlate plate = wasteful().make();
  ASSERT_NE(code(find(plate), "copies-share-swaps"), nullptr);
  plate.account.diagnostics.push_back({});
  plate.account.diagnostics.back().code = "purge-of-other-machine";
  EXPECT_TRUE(find(plate).empty());
}

TEST(Savings, StandbyIsSilentWhereWaitsAreShort) {
  const whatif::KeptPlate plate = wasteful().make();
  EXPECT_EQ(code(find(plate), "standby-set-point"), nullptr);
}

TEST(Savings, OneColourSavesNothingBySwaps) {
  const whatif::KeptPlate plate = HandMade(std::vector<std::vector<int>>(20, {0})).make();
  for (const Finding& finding : find(plate))
    EXPECT_EQ(finding.saves_purge_g, 0.0) << finding.code;
}

TEST(Savings, ATrialThatIsNotPossibleNamesNoFigures) {
  whatif::KeptPlate plate = wasteful().make();
  plate.turns.clear();
  const std::vector<Finding> findings = find(plate);
  const Finding* tower = code(findings, "tower-without-need");
  ASSERT_NE(tower, nullptr);
  EXPECT_FALSE(tower->tried);
  EXPECT_TRUE(tower->trial.starts_with("not tried: ")) << tower->trial;
  EXPECT_EQ(tower->saves_purge_g, 0.0);
  EXPECT_EQ(tower->saves_time_s, 0.0);
}

TEST(Savings, HeadsThatAreHotWithoutUse) {
  const whatif::KeptPlate plate = HandMade(std::vector<std::vector<int>>(60, {0})).make();
  std::vector<ledgers::ToolUse> uses(4);
  uses[0] = {0.0, 10.0, 1300.0, 1300.0};
  uses[3] = {0.0, -1.0, -1.0, 1300.0};
  const std::vector<Finding> findings = find(plate, uses);
  const Finding* idle = code(findings, "heat-without-use");
  ASSERT_NE(idle, nullptr);
  EXPECT_EQ(idle->advice, "leave tool 3 cold");
  EXPECT_GT(idle->saves_energy_wh, 0.2 * plate.account.tools[3].energy_wh);
}

/// One nozzle whose swaps purge 10 mm of filament, 24 mm3.
whatif::KeptPlate one_nozzle(const std::string& first, const std::string& second) {
  whatif::KeptPlate plate = HandMade(std::vector<std::vector<int>>(20, {0, 1}), 1).make();
  plate.account.tools[0].colour = first;
  plate.account.tools[1].colour = second;
  hold_against_need(plate.turns, plate.machine, plate.materials, plate.account);
  return plate;
}

TEST(PurgeShort, SaysWhatIsLeftAndHowManySwaps) {
  const whatif::KeptPlate plate = one_nozzle("black", "white");
  ASSERT_EQ(plate.account.totals.swaps, 39U);
  EXPECT_EQ(plate.account.totals.swaps_short, 39.0);
  double short_g = 0.0;
  for (const SwapPairAccount& pair : plate.account.swap_pairs) {
    EXPECT_EQ(pair.swaps_short, pair.count);
    EXPECT_NEAR(pair.purge_each_low_g, pair.purge_g / static_cast<double>(pair.count), 1e-12);
    // 24 mm3 do not even empty the nozzle: all of the old colour is left.
    EXPECT_GT(*pair.left_de00, 50.0);
    EXPECT_NEAR(*pair.needed_each_low_g * plate.machine.need.margin, *pair.needed_each_high_g,
                1e-12);
    EXPECT_NEAR(pair.short_g,
                static_cast<double>(pair.count) * *pair.needed_each_high_g - pair.purge_g, 1e-9);
    short_g += pair.short_g;
  }
  EXPECT_NEAR(*plate.account.totals.purge_short_g, short_g, 1e-12);
  whatif::KeptPlate needy = plate;
  for (SwapPairAccount& pair : needy.account.swap_pairs)
    pair.needed_g = static_cast<double>(pair.count) * *pair.needed_each_high_g;
  std::vector<Finding> findings = find(needy);
  const Finding* finding = code(findings, "purge-below-need");
  ASSERT_NE(finding, nullptr);
  EXPECT_EQ(finding->severity, Severity::warning);
  EXPECT_NEAR(finding->saves_purge_g, -short_g, 1e-6);  // it costs what is missing
  needy.account.findings = findings;
  for (const Aim aim : {Aim::time, Aim::grams, Aim::energy}) {
    rank_findings(needy.account, aim);
    EXPECT_EQ(needy.account.findings.front().code, "purge-below-need");
  }
}

TEST(PurgeShort, UnknownColoursAreNotJudged) {
  const whatif::KeptPlate plate = one_nozzle("", "white");
  EXPECT_FALSE(plate.account.totals.swaps_short.has_value());
  for (const SwapPairAccount& pair : plate.account.swap_pairs) {
    EXPECT_FALSE(pair.left_de00.has_value());
    EXPECT_EQ(pair.swaps_short, 0U);
  }
}

TEST(PurgeShort, WhatMayBePurgeIsAllowedFor) {
  whatif::KeptPlate plate = one_nozzle("black", "white");
  plate.account.totals.purge_high_g = 1000.0;  // perhaps all of it is purge
  for (SwapPairAccount& pair : plate.account.swap_pairs)
    pair.swaps_short = 0;
  hold_against_need(plate.turns, plate.machine, plate.materials, plate.account);
  EXPECT_EQ(plate.account.totals.swaps_short, 0.0);
}

TEST(Ranking, GoesByTheValueThatIsAskedFor) {
  Account account;
  account.totals.time.expected = 3600.0;
  account.totals.energy_wh = 100.0;
  account.totals.part_g = 50.0;
  Finding slow, cool, lean;
  slow.code = "slow";
  slow.saves_time_s = 600.0;
  cool.code = "cool";
  cool.saves_energy_wh = 30.0;
  lean.code = "lean";
  lean.saves_purge_g = 20.0;
  lean.saves_time_s = 10.0;
  account.findings = {lean, cool, slow};
  rank_findings(account, Aim::time);
  EXPECT_EQ(account.findings[0].code, "slow");
  EXPECT_EQ(account.findings[1].code, "lean");
  rank_findings(account, Aim::energy);
  EXPECT_EQ(account.findings[0].code, "cool");
  EXPECT_EQ(account.findings[1].code, "lean");  // 40 % of the material, before 17 % of the time
  rank_findings(account, Aim::grams);
  EXPECT_EQ(account.findings[0].code, "lean");
  EXPECT_EQ(usual_aim(account), Aim::time);
  account.cost.emplace();
  EXPECT_EQ(usual_aim(account), Aim::money);
}

TEST(Pages, AreSortedAndComplete) {
  const std::vector<std::string> codes = finding_codes();
  EXPECT_TRUE(std::ranges::is_sorted(codes));
  for (const std::string& code : codes) {
    const std::string page = explain_finding(code).value_or("");
    for (const char* part : {"What was seen", "What to do", "What it saves", "assumes", "sample"})
      EXPECT_NE(page.find(part), std::string::npos) << code;
  }
  EXPECT_FALSE(explain_finding("no-such-code").has_value());
}

}  // namespace
}  // namespace platetally::findings
