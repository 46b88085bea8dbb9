// Reports for people: what each says of a plain case, and laws that hold for all of them whatever
// names they hold.
#include <gtest/gtest.h>

#include <functional>
#include <sstream>

#include "output/report/account.hpp"
#include "output/report/doubts.hpp"
#include "output/report/random_reports.hpp"
#include "output/report/strings.hpp"
#include "output/report/text_page.hpp"
#include "platetally/report.hpp"
#include "support/csv_reader.hpp"
#include "support/test_names.hpp"

namespace platetally {
namespace {

struct Kind {
  const char* name;
  std::function<std::string(unsigned)> text;
};

const std::vector<Kind>& kinds() {
  static const std::vector<Kind> all{
      {"tally", [](unsigned seed) { return to_text(test::random_account(seed)); }},
      {"tally in full",
       [](unsigned seed) {
         return to_text(test::random_account(seed), {.all_diagnostics = true, .full = true});
       }},
      {"order", [](unsigned seed) { return to_text(test::random_order(seed)); }},
      {"comparison", [](unsigned seed) { return to_text(test::random_comparison(seed)); }},
      {"plates compared", [](unsigned seed) { return to_text(test::random_plates(seed)); }},
      {"payback", [](unsigned seed) { return to_text(test::random_payback(seed)); }},
      {"circuit", [](unsigned seed) { return to_text(test::random_circuit(seed)); }},
      {"reconciliation", [](unsigned seed) { return to_text(test::random_reconcile(seed)); }},
      {"calibration", [](unsigned seed) { return to_text(test::random_calibration(seed)); }},
      {"need", [](unsigned seed) { return to_text(test::random_need(seed)); }},
      {"audit", [](unsigned seed) { return to_text(test::random_audit(seed)); }},
      {"history", [](unsigned seed) { return to_text(test::random_history(seed)); }},
      {"plan", [](unsigned seed) { return to_text(test::random_plan(seed)); }},
  };
  return all;
}

class EveryText : public testing::TestWithParam<std::size_t> {
 protected:
  std::string text(unsigned seed) const { return kinds()[GetParam()].text(seed); }
};

TEST_P(EveryText, HoldsNothingThatSteersATerminal) {
  for (unsigned seed = 0; seed < 25; ++seed) {
    std::istringstream lines(text(seed));
    for (std::string line; std::getline(lines, line);)
      EXPECT_EQ(report::printable(line), line) << seed;
  }
}

TEST_P(EveryText, NamesNoNumberThatIsNone) {
  for (unsigned seed = 0; seed < 25; ++seed) {
    const std::string shown = text(seed);
    for (const char* word : {" nan", "(nan", "-nan", " inf "})
      EXPECT_EQ(shown.find(word), std::string::npos) << seed << " " << word << "\n" << shown;
  }
}

TEST_P(EveryText, EndsWithALineEndAndTheSameReportIsTheSameText) {
  EXPECT_EQ(text(3).back(), '\n');
  EXPECT_EQ(text(3), text(3));
}

INSTANTIATE_TEST_SUITE_P(Reports, EveryText, testing::Range(std::size_t{0}, kinds().size()),
                         [](const auto& one) {
                           return test::numbered(one.param, kinds()[one.param].name);
                         });

bool says(const std::string& text, const std::string& words) {
  return text.find(words) != std::string::npos;
}

ComparedMachine on_machine(const char* name, double time_s, double purge_g, double energy_wh) {
  ComparedMachine machine;
  machine.name = name;
  machine.account.totals.time = {0.9 * time_s, time_s, 1.2 * time_s};
  machine.account.totals.purge_g = purge_g;
  machine.account.totals.energy_wh = energy_wh;
  return machine;
}

TEST(CompareText, TheBetterIsNamedWithItsLead) {
  Comparison comparison;
  comparison.machines = {on_machine("bench", 7200.0, 40.0, 100.0),
                         on_machine("shelf", 3600.0, 50.0, 100.4)};
  const std::string text = to_text(comparison);
  EXPECT_TRUE(says(text, "shelf by 1 h (50 %)")) << text;
  EXPECT_TRUE(says(text, "bench by 10 g (20 %)")) << text;
  EXPECT_TRUE(says(text, "  energy Wh")) << text;
  EXPECT_TRUE(says(text, "alike")) << "less than half a percent\n" << text;
}

// Of one colour no machine purges anything: there is no lead, and none in percent.
TEST(CompareText, WhereBothTakeNothingTheyAreAlike) {
  Comparison comparison;
  comparison.machines = {on_machine("bench", 7200.0, 0.0, 100.0),
                         on_machine("shelf", 3600.0, 0.0, 90.0)};
  std::istringstream lines(to_text(comparison));
  bool seen = false;
  for (std::string line; std::getline(lines, line);)
    if (line.starts_with("  purge g")) {
      seen = true;
      EXPECT_TRUE(line.ends_with("   alike")) << line;
    }
  EXPECT_TRUE(seen);
}

TEST(CompareText, AMachineThatCannotIsNeverTheBetterOne) {
  Comparison comparison;
  comparison.machines = {on_machine("bench", 7200.0, 40.0, 100.0),
                         on_machine("shelf", 3600.0, 50.0, 90.0)};
  comparison.machines[1].account.verdict.grade = Grade::cannot;
  const std::string text = to_text(comparison);
  EXPECT_FALSE(says(text, "shelf by"));
  EXPECT_FALSE(says(text, "bench by")) << "alone it leads nobody";
  EXPECT_TRUE(says(text, "(1)")) << "its hours, in brackets";
  EXPECT_TRUE(says(text, "the plate cannot be printed there as it is"));
}

TEST(CompareText, BreakEvenNamesWhatWouldTurnIt) {
  Comparison comparison;
  comparison.machines = {on_machine("bench", 7200.0, 40.0, 100.0),
                         on_machine("shelf", 3600.0, 50.0, 90.0)};
  comparison.break_even = {{"shelf", 0.35, 12.34, std::nullopt}};
  EXPECT_TRUE(says(to_text(comparison),
                   "Break-even of shelf with bench: equal time at 12.3 s a swap; equal cost at "
                   "0.35 a kWh."))
      << to_text(comparison);
  comparison.break_even = {{"shelf", std::nullopt, std::nullopt, std::nullopt}};
  EXPECT_FALSE(says(to_text(comparison), "Break-even"));
}

PaybackReport payback(double extra, double saving, std::optional<double> years) {
  PaybackReport report;
  report.input.machines = {"bench", "shelf"};
  report.input.currency = "EUR";
  report.input.years = 3.0;
  report.extra_price = extra;
  report.saving_a_year = saving;
  report.simple_years = report.discounted_years = years;
  return report;
}

TEST(PaybackText, SaysWhetherItPays) {
  EXPECT_TRUE(
      to_text(payback(0.0, 0.0, 0.0)).starts_with("shelf costs no more to buy and less to run.\n"));
  EXPECT_TRUE(to_text(payback(100.0, -5.0, std::nullopt))
                  .starts_with("shelf never pays back its price difference of 100.00 EUR: it saves "
                               "-5.00 EUR a year.\n"));
  PaybackReport pays = payback(100.0, 50.0, 2.0);
  pays.net_present_value = 12.5;
  EXPECT_TRUE(to_text(pays).starts_with(
      "shelf pays back its price difference of 100.00 EUR after 2.00 years (discounted: 2.00 "
      "years), by saving 50.00 EUR a year.\nOver 3 years it is worth 12.50 EUR today.\n"));
  pays.net_present_value = -12.5;
  pays.discounted_years.reset();
  EXPECT_TRUE(says(to_text(pays), "(discounted: never)"));
  EXPECT_TRUE(says(to_text(pays), "Over 3 years it is still 12.50 EUR short of its price."));
  pays.input.cannot_print[1] = {"oak.gcode", "elm.gcode"};
  EXPECT_TRUE(to_text(pays).starts_with(
      "shelf cannot print 2 of the plates as they are (oak.gcode); nothing pays.\n"));
}

TEST(PaybackText, CumulativeCostIsPriceAndAYearsCostEachYear) {
  PaybackReport report = payback(100.0, 50.0, 2.0);
  report.year[0].price = 900.0;
  report.year[0].running_cost = 250.0;
  report.year[1].price = 2000.0;
  report.year[1].running_cost = 100.0;
  const std::string text = to_text(report);
  for (int year = 1; year <= 3; ++year)
    EXPECT_TRUE(says(text, fmt::format("  {:<22} {:>14.2f} {:>14.2f}\n", year, 900.0 + 250.0 * year,
                                       2000.0 + 100.0 * year)))
        << text;
  EXPECT_FALSE(says(text, "With the spreads given")) << "no cause, no samples";
}

TEST(CircuitText, SaysHowFarApartStartsMustBe) {
  CircuitReport report;
  report.circuit_w = 3680.0;
  report.continuous_w = 2944.0;
  report.machines = 4;
  report.printing_w = 1200.0;
  EXPECT_TRUE(says(to_text(report),
                   "No stagger of up to two hours keeps 4 machines below 2944 W: printing, they "
                   "draw 1200 W on average."));
  report.stagger_s = 0.0;
  EXPECT_TRUE(says(to_text(report), "Started at one instant, 4 machines stay below 2944 W."));
  report.machines = 1;
  EXPECT_TRUE(says(to_text(report), "Started at one instant, 1 machine stays below 2944 W."));
  report.machines = 4;
  report.stagger_s = 300.0;
  report.staggered_peak_w = 2900.0;
  report.staggered_quarter_hour_w = 2500.0;
  EXPECT_TRUE(says(to_text(report),
                   "Started 5 min 0 s apart, 4 machines stay below 2944 W (highest 2900 W, quarter "
                   "hour 2500 W)."));
  EXPECT_TRUE(says(to_text(report), "a licensed electrician decide"));
}

TEST(ReconcileText, WhatWasWeighedLiesInItsBandOrBesideIt) {
  ReconcileReport report;
  const auto said = [&](double measured) {
    report.values = {{"purge_g", "g", 100.0, measured, 90.0, 110.0}};
    return to_text(report);
  };
  EXPECT_TRUE(says(said(90.0),
                   "purge_g: predicted between 90.0 g and 110 g; what was measured lies within"));
  EXPECT_TRUE(says(said(110.0), "what was measured lies within"));
  EXPECT_TRUE(says(said(89.9), "what was measured lies below"));
  EXPECT_TRUE(says(said(110.1), "what was measured lies above"));
  EXPECT_TRUE(says(said(90.0), "-10.0 %"));
  EXPECT_TRUE(says(said(90.0), "against what was weighed or timed\n"));
  report.values = {{"purge_g", "g", std::nan(""), 90.0}};
  EXPECT_TRUE(says(to_text(report), "?")) << "what was not predicted is not off by anything";
  EXPECT_FALSE(says(to_text(report), "%"));
}

TEST(ReconcileText, TheBestExplanationComesFirst) {
  ReconcileReport report;
  report.log_path = "plug.csv";
  EXPECT_TRUE(says(to_text(report), "No entry of the machine file explains more than a twentieth"));
  report.explanations = {{"bed.tile_power_w", 100.0, 120.0, 0.8},
                         {"supply.idle_w", 10.0, 12.0, 0.1}};
  const std::string text = to_text(report);
  EXPECT_TRUE(says(text,
                   "bed.tile_power_w explains most: 120 instead of 100 would take away 80 % "
                   "of the squared difference"));
  EXPECT_TRUE(says(text, "then supply.idle_w: 12 instead of 10, 10 %"));
}

TEST(Accuracy, OfNoPredictionsThereAreNoneYet) {
  EXPECT_TRUE(says(to_text(AccuracyBook{}), "none yet"));
  EXPECT_TRUE(says(to_text(AccuracyBook{{"time_s", 7, 0.034, 0.021}}),
                   "7 plates   mean +3.4 %   spread 2.1 %"));
}

TEST(OrderText, OneToolHasNothingToOrder) {
  OrderReport report;
  report.path = "tag.gcode";
  report.machine = "bench";
  EXPECT_EQ(to_text(report),
            "tag.gcode on bench\n\nOne tool or none is in use: there is nothing to order.\n");
}

TEST(OrderText, FortyRunsAreShownAndTheOthersCounted) {
  OrderReport report = test::random_order(2);
  report.pairs.resize(1);
  report.plan.assign(43, "layers 1-2: 0 1");
  const std::string text = to_text(report);
  EXPECT_TRUE(says(text, "  and 3 more; the JSON has every layer\n"));
  std::size_t shown = 0;
  for (std::size_t at = text.find("layers 1-2"); at != std::string::npos;
       at = text.find("layers 1-2", at + 1))
    ++shown;
  EXPECT_EQ(shown, 40U);
}

TEST(OrderText, AnUnknownNeedIsAQuestionMark) {
  OrderReport report;
  OrderPair pair;
  pair.to = 1;
  pair.count = 3;
  pair.purged_g = 6.0;
  pair.over_purge_g = 1.5;
  report.pairs = {pair};
  report.outcomes = {OrderOutcome{}};
  const std::string unknown = to_text(report);
  EXPECT_TRUE(says(unknown, "6.00         ?         ?         ?\n")) << unknown;
  report.pairs[0].needed_mm3 = 120.0;
  report.pairs[0].needed_g = 1.5;
  const std::string known = to_text(report);
  EXPECT_TRUE(says(known, "6.00       120      4.50      1.50\n")) << known;
}

// A name without blanks is cut between characters, whatever they are made of.
TEST(TextPage, WhatIsClippedStaysText) {
  std::string word;
  for (int i = 0; i < 200; ++i)
    word += i % 3 == 0 ? "\xc3\xa9" : i % 3 == 1 ? "\xe6\xa4\x8d" : "x";  // one, two, one column
  for (int width = 60; width < 80; ++width)
    for (const int indent : {0, 1, 2, 3}) {
      report::TextPage page({.width = width});
      page.clipped(word + " and more words behind it", indent, 1);
      const std::string text = page.take();
      EXPECT_EQ(report::valid_utf8(text), text);
      EXPECT_TRUE(text.ends_with(" ...\n")) << text;
      EXPECT_LE(report::display_width(text.substr(0, text.size() - 1)), width);
    }
  Account account = test::labels_account();
  account.path.clear();
  for (int i = 0; i < 300; ++i)
    account.path += "\xc3\xa9";
  const std::string text = to_text(account);
  EXPECT_EQ(report::valid_utf8(text), text);
}

TEST(TextPage, AClippedTextThatFitsKeepsItsEnd) {
  report::TextPage page({.width = 60});
  page.clipped("labels of moss and fern", 2, 1);
  EXPECT_EQ(page.take(), "  labels of moss and fern\n");
}

TEST(TextPage, AHeadingTooLongForItsRemarkHasItBelow) {
  report::TextPage page({.width = 60});
  page.heading("Energy", "where it goes");
  EXPECT_EQ(page.take(), "\nEnergy  where it goes\n");
  report::TextPage narrow({.width = 60});
  narrow.heading("Energy", std::string(30, 'a') + " " + std::string(30, 'b'));
  EXPECT_EQ(narrow.take(),
            "\nEnergy\n  " + std::string(30, 'a') + "\n  " + std::string(30, 'b') + "\n");
}

TEST(TextPage, AnAmountStandsFlushInItsColumn) {
  report::TextPage page({.width = 60});
  page.amount("12.3 g", "of purge");
  EXPECT_EQ(page.take(), "             12.3 g  of purge\n");
  report::TextPage empty({.width = 20});
  empty.prose("", 2);
  EXPECT_EQ(empty.take(), "  \n");
}

TEST(Doubts, NameTheFilesOwnFiguresAndWhatIsTooFar) {
  Account account;
  EXPECT_EQ(report::stated_line(account), "");
  account.stated = {{"layers", -1, 88.0, 89.0, 3, false},
                    {"filament_g", 2, 10.0, 12.0, 4, true},
                    {"time_s", -1, 3600.0, 5400.0, 5, false},
                    {"filament_mm", -1, 0.0, 12.0, 4, true}};
  EXPECT_EQ(report::stated_line(account),
            "the file's own figures: layers 88 (found 89, +1.1 %), filament of T2 10.00 g (found "
            "12.00 g, +20.0 %, too far), time 1 h 0 min (found 1 h 30 min, +50.0 %), filament 0.00 "
            "mm (found 12.00 mm, +0.0 %, too far)");
}

TEST(Doubts, SayHowMuchOfThePlateIsMissing) {
  Account account;
  EXPECT_EQ(report::partial_line(account), "");
  account.reading.moves = 10;
  account.reading.moves_left_out = 11;
  EXPECT_EQ(report::partial_line(account),
            "a part of the plate only: 10 moves taken, 11 left out; no limit passes on it");
  account.reading.broken = "breaks off";
  EXPECT_EQ(report::partial_line(account),
            "a part of the plate only: the file breaks off; 10 moves taken, 11 left out; no limit "
            "passes on it");
  account.reading.source_bytes = 5;
  account.reading.source_bytes_in_all = 9;
  EXPECT_TRUE(says(report::partial_line(account), "5 of its 9 bytes were read; "));
}

TEST(Doubts, OfWordsOnlyThoseThatMayMatterAreNamed) {
  Account account;
  account.unaccounted = {{"M900", 5, 2, "", ""}, {"HEAT_ALL", 2, 7, "it seems to heat", "row"}};
  EXPECT_EQ(report::words_that_may_matter(account),
            std::vector<std::string>{"HEAT_ALL 2x (from line 7): it seems to heat"});
}

}  // namespace
}  // namespace platetally
