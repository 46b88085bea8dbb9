// The verdict: each reason alone, and the worst of several.
#include "account/findings/verdict.hpp"

#include <gtest/gtest.h>

namespace platetally::findings {
namespace {

/// A plate that nothing speaks against.
struct Sound {
  Machine machine;
  Account account;

  Sound() {
    machine.name = "bench";
    machine.tools.assign(2, Tool{});
    account.machine = "bench";
    account.tools.resize(2);
    account.tools[1].tool = 1;
    account.totals.time = {990.0, 1000.0, 1010.0};
    account.totals.part_g = 10.0;
    account.totals.swaps_short = account.totals.purge_short_g = 0.0;
  }
  void met(const char* code, Severity severity, const char* message, const char* help = "") {
    Diagnostic diagnostic;
    diagnostic.code = code;
    diagnostic.severity = severity;
    diagnostic.message = message;
    diagnostic.help = help;
    account.diagnostics.push_back(diagnostic);
  }
  Verdict verdict() const { return judge(account, machine); }
  void expect(Grade grade, const char* code, const char* words) const {
    const Verdict found = verdict();
    EXPECT_EQ(found.grade, grade);
    ASSERT_EQ(found.reasons.size(), 1U);
    EXPECT_EQ(found.reasons[0].code, code);
    EXPECT_EQ(found.reasons[0].grade, grade);
    EXPECT_NE(found.reasons[0].text.find(words), std::string::npos) << found.reasons[0].text;
  }
};

TEST(Verdict, ASoundPlateIsReady) {
  const Verdict verdict = Sound().verdict();
  EXPECT_EQ(verdict.grade, Grade::ready);
  EXPECT_TRUE(verdict.reasons.empty());
}

TEST(Verdict, WhatCannotBePrinted) {
  Sound leaves;
  leaves.met("plate-leaves-area", Severity::warning, "material is laid over x 1 to 300",
             "moved by x -50.0, y +0.0 mm it fits; embedded machines that fit: some");
  leaves.expect(Grade::cannot, "leaves-area", "moved by x -50.0, y +0.0 mm it fits");

  Sound tools;
  MissingTool missing;
  missing.tool = 7;
  missing.filament_mm = 100.0;
  tools.account.missing_tools.push_back(missing);
  tools.expect(Grade::cannot, "tools-missing",
               "prints with tool 7, and the last tool of bench is 1");

  Sound cold;
  cold.met("nozzle-never-heated", Severity::warning,
           "material is laid and no nozzle is ever set to a temperature; expected M104");
  cold.expect(Grade::cannot, "head-cold", "no nozzle is ever set to a temperature");

  Sound hot;
  hot.met("bed-beyond-machine", Severity::warning, "the bed is set to 130 degC; expected 120");
  hot.expect(Grade::cannot, "set-point-beyond", "130 degC");

  Sound broken;
  broken.account.reading.broken = "unexpected end";
  broken.expect(Grade::cannot, "file-broken", "breaks off: unexpected end");
}

TEST(Verdict, WhatIsToBeLookedAt) {
  Sound left_out;
  left_out.met("number-malformed", Severity::error, "found");
  left_out.expect(Grade::look, "left-out", "1 line of the file");

  Sound words;
  words.account.unaccounted.push_back({"HEAT_ALL", 2, 1, "it seems to heat", "row"});
  words.account.unaccounted.push_back({"M900", 5, 1, "", ""});
  words.expect(Grade::look, "words-unknown", "HEAT_ALL");

  Sound purge;
  purge.account.totals.purge_high_g = 5.0;
  purge.expect(Grade::look, "purge-undecided", "0.0 to 5.0 g");

  Sound stated;
  stated.account.stated.push_back({"filament_mm", -1, 1000.0, 900.0, 3, true});
  stated.expect(Grade::look, "filament-differs", "1000 mm of filament, found were 900");

  Sound wide;
  wide.account.totals.time_band = {{"unknown-words", 0.0, 150.0}, {"swap", 400.0, 400.0}};
  wide.expect(Grade::look, "time-wide", "words that are not known");

  Sound enclosure;
  enclosure.met("enclosure-not-heated", Severity::warning, "found a temperature; left out");
  enclosure.expect(Grade::look, "enclosure-short", "found a temperature");
}

TEST(Verdict, APlateOfAnotherMachineIsToBeSlicedForThisOne) {
  Sound other;
  other.account.totals.swaps = 213;
  other.account.totals.swaps_short = other.account.totals.purge_short_g = std::nullopt;
  other.met("purge-of-other-machine", Severity::warning,
            "sliced for a machine that changes heads: 213 swaps purge 32 mm3 each; expected more",
            "'compare PLATE --sliced-for ITS --machine bench' tells what it takes");
  // Not "whether enough is purged was not checked" besides.
  other.expect(Grade::look, "sliced-for-other-machine",
               "32 mm3 each; slice it for bench, or see what that would take with 'compare PLATE "
               "--sliced-for ITS --machine bench'");
  other.account.diagnostics.clear();
  other.expect(Grade::ready, "colours-unknown", "was not checked");
}

TEST(Verdict, AChangeByHandIsCounted) {
  Sound by_hand;
  by_hand.account.totals.manual_changes = 1;
  by_hand.expect(Grade::look, "manual-changes", "change the filament once");
  by_hand.account.totals.manual_changes = 2;
  by_hand.expect(Grade::look, "manual-changes", "change the filament 2 times");
}

TEST(Verdict, WhatWasNotUnderstoodNeverSaysCannot) {
  Sound macro;
  macro.met("nozzle-never-heated", Severity::warning,
            "material is laid and no nozzle is ever set to a temperature; expected M104");
  macro.account.unaccounted.push_back({"M900", 5, 1, "", ""});
  macro.expect(Grade::cannot, "head-cold", "no nozzle is ever set to a temperature");
  macro.account.unaccounted.push_back({"START_3", 1, 1, "", ""});
  macro.expect(Grade::look, "head-cold", "set to a temperature, unless START_3 does it");

  Sound temperatures;
  temperatures.met("head-never-heated", Severity::warning, "T1 lays 2 g, never heated; expected");
  temperatures.account.unaccounted.push_back({"G9111", 1, 1, "carries temperatures", "row"});
  const Verdict heats = temperatures.verdict();
  EXPECT_EQ(heats.grade, Grade::look);
  ASSERT_EQ(heats.reasons.size(), 2U);
  EXPECT_EQ(heats.reasons[0].code, "head-cold");
  EXPECT_EQ(heats.reasons[1].code, "words-unknown");

  Sound unread;
  unread.met("nozzle-never-heated", Severity::warning, "no nozzle is ever set; expected M104");
  unread.account.reading.commands = 100;
  unread.account.reading.lines_left_out = 1;
  unread.expect(Grade::look, "head-cold", "no nozzle");

  Sound shifted;
  shifted.met("plate-leaves-area", Severity::warning, "material is laid over x 1 to 300", "");
  shifted.account.unaccounted.push_back({"M900", 1, 1, "", ""});
  shifted.expect(Grade::cannot, "leaves-area", "build area of bench");
  shifted.met("word-not-modelled", Severity::note, "M206 changes a setting; it goes on");
  shifted.expect(Grade::look, "leaves-area", "build area of bench; but M206 changes a setting");

  Sound part;
  part.account.reading.moves = 10;
  part.account.reading.moves_left_out = 11;
  part.expect(Grade::look, "file-partial", "only a part of the file");
}

TEST(Verdict, ToolsThatAreSelectedAndFeedNothing) {
  Sound idle;
  MissingTool tool;
  tool.tool = 7;
  tool.selects = 2;
  idle.account.missing_tools.push_back(tool);
  idle.met("tool-not-on-machine", Severity::note, "T1000, which stand for no tool");
  EXPECT_EQ(idle.verdict().grade, Grade::ready);
  idle.account.diagnostics[0].severity = Severity::warning;
  idle.expect(Grade::look, "tools-missing", "it selects tool 7, which bench lacks");
}

TEST(Verdict, PurgeThatIsShortOrNotChecked) {
  Sound plate;
  plate.account.totals.swaps = 34;
  plate.account.tools[0].colour = "black";
  plate.account.tools[1].colour = "#ffffff";
  SwapPairAccount pair;
  pair.from = 0;
  pair.to = 1;
  pair.count = pair.swaps_short = 34;
  pair.purge_g = 34 * 0.08;
  pair.needed_each_high_g = 0.15;
  plate.account.swap_pairs.push_back(pair);
  plate.expect(Grade::look, "purge-short",
               "tool 1 after black gets 0.08 of the 0.15 g that it needs: 34 swaps");
  plate.account.swap_pairs[0].swaps_short = 0;
  plate.account.totals.swaps_short.reset();
  plate.expect(Grade::ready, "colours-unknown", "was not checked");
}

TEST(Verdict, TheWorstReasonComesFirstAndDecides) {
  Sound plate;
  plate.met("number-malformed", Severity::error, "found");
  plate.met("bed-beyond-machine", Severity::warning, "the bed is set to 130 degC; expected 120");
  const Verdict verdict = plate.verdict();
  EXPECT_EQ(verdict.grade, Grade::cannot);
  ASSERT_EQ(verdict.reasons.size(), 2U);
  EXPECT_EQ(verdict.reasons[0].code, "set-point-beyond");
  EXPECT_EQ(name_of(verdict.grade), "cannot");
  EXPECT_EQ(name_of(Grade::look), "look");
  EXPECT_EQ(name_of(Grade::ready), "ready");
}

}  // namespace
}  // namespace platetally::findings
