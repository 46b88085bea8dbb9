// What if, held against plates that were made that way: the account of a variant of one plate, and
// that of the plate which plate-maker makes so from the start.
//
// Tolerance: 3 % of time, grams and energy (the requirement); swaps are the same.
#include <gtest/gtest.h>

#include <fmt/format.h>

#include <cstdlib>
#include <fstream>
#include <sstream>

#include "platetally/analyze.hpp"
#include "platetally/before_after.hpp"
#include "platetally/compare.hpp"
#include "support.hpp"
#include "support/temp_folder.hpp"

namespace platetally {
namespace {

void write(const std::string& path, const std::string& text) {
  std::ofstream(path, std::ios::binary) << text;
}

/// Without the changes to a tool that is in hand already, their purge, and the drawing back behind
/// it: what plate-maker makes of colours that one tool prints.
std::string without_idle_changes(const std::string& text) {
  std::istringstream lines(text);
  std::string kept, line, in_hand;
  enum { keeping, dropping, drawing_back } state = keeping;
  while (std::getline(lines, line)) {
    if (line.starts_with('T')) {
      state = line == in_hand ? dropping : keeping;
      in_hand = line;
    }
    if (state == keeping)
      kept += line + '\n';
    else if (state == drawing_back && line.starts_with("G1 E-"))
      state = keeping;
    else if (line == "; purge end")
      state = drawing_back;
  }
  return kept;
}

struct Case {
  const char* name;
  const char* machine;
  const char* plate;  ///< arguments of plate-maker
  const char* made;   ///< the same, as it would be
  Variant variant;
};

Variant repeat(int times) {
  Variant variant;
  variant.repeat = times;
  return variant;
}
Variant merge(int tool, int other) {
  Variant variant;
  variant.merge = {{tool, other}};
  return variant;
}
Variant no_tower() {
  Variant variant;
  variant.drop_tower = true;
  return variant;
}

class WhatIfMade : public testing::TestWithParam<Case> {};

TEST_P(WhatIfMade, CostsWhatThePlateMadeSoCosts) {
  const Case& c = GetParam();
  const Machine machine = test::embedded(c.machine);
  AnalyzeOptions options;
  const Account made =
      analyze_bytes(without_idle_changes(test::made_plate(c.made)), machine, options);
  options.variant = c.variant;
  const Account played = analyze_bytes(test::made_plate(c.plate), machine, options);
  const auto near = [](double got, double expected, const char* what) {
    EXPECT_NEAR(got, expected, 0.03 * expected + 1e-9) << what;
  };
  near(played.totals.time.expected, made.totals.time.expected, "time");
  near(played.totals.part_g, made.totals.part_g, "part");
  near(played.totals.purge_g, made.totals.purge_g, "purge");
  near(played.totals.energy_wh, made.totals.energy_wh, "energy");
  EXPECT_EQ(played.totals.swaps, made.totals.swaps);
  EXPECT_EQ(played.what_if.changes, describe(c.variant));
}

INSTANTIATE_TEST_SUITE_P(
    Plates, WhatIfMade,
    testing::Values(
        Case{"FourLabelsOnTheSwitcher", "switcher-4",
             "labels --tools 3 --layers 12 --purge chute --purge-mm3 120 --size 40,20",
             "labels --tools 3 --layers 12 --purge chute --purge-mm3 120 --size 40,20 --copies 2x2",
             repeat(4)},
        Case{"FourLabelsOnTheChanger", "changer-5",
             "labels --tools 3 --layers 12 --purge chute --purge-mm3 15 --size 40,20",
             "labels --tools 3 --layers 12 --purge chute --purge-mm3 15 --size 40,20 --copies 2x2",
             repeat(4)},
        Case{"SixBlocksWithATower", "switcher-4",
             "blocks --tools 2 --layers 30 --purge tower --purge-mm3 60 --purge-at 170,170",
             "blocks --tools 2 --layers 30 --purge tower --purge-mm3 60 --purge-at 170,170 "
             "--copies 3x2",
             repeat(6)},
        Case{"TwoGreensBecomeOne", "switcher-4",
             "labels --tools 3 --layers 12 --purge chute --purge-mm3 120 --comments trade",
             "labels --tools 3 --layers 12 --purge chute --purge-mm3 120 --comments trade "
             "--tool-numbers 0,1,1",
             merge(2, 1)},
        Case{"NoTower", "switcher-4",
             "lantern --tools 3 --layers 40 --purge tower --purge-mm3 80 --purge-at 160,160",
             "lantern --tools 3 --layers 40 --purge none", no_tower()}),
    [](const auto& made) { return made.param.name; });

TEST(WhatIf, WhatCannotBePlayedIsRefusedWithTheReason) {
  AnalyzeOptions options;
  options.variant = repeat(1000);
  const std::string plate = test::made_plate("blocks --tools 2 --layers 3 --purge chute");
  try {
    analyze_bytes(plate, test::embedded("switcher-4"), options);
    FAIL() << "no room for 1000 blocks";
  } catch (const UnreadablePlate& error) {
    EXPECT_NE(std::string(error.what()).find("no room for 1000"), std::string::npos)
        << error.what();
  }
  options.variant = merge(9, 0);
  EXPECT_THROW(analyze_bytes(plate, test::embedded("switcher-4"), options), UnreadablePlate);
}

Account of(const std::string& arguments, const char* machine) {
  return analyze_bytes(test::made_plate(arguments), test::embedded(machine), {});
}

double sum_of(const BeforeAfter& change, HeightSlice::Amounts HeightSlice::*side,
              double HeightSlice::Amounts::*amount) {
  double sum = 0.0;
  for (const HeightSlice& slice : change.slices)
    sum += slice.*side.*amount;
  return sum;
}

TEST(BeforeAfter, SlicesOfLayersOfUnlikeThicknessHoldAllOfBothPlates) {
  const Account thick =
      of("labels --tools 2 --layers 10 --layer-height 0.2 --purge chute", "switcher-4");
  const Account thin =
      of("labels --tools 2 --layers 16 --layer-height 0.15 --purge chute", "switcher-4");
  const BeforeAfter change = before_and_after(thick, thin);
  using Amounts = HeightSlice::Amounts;
  EXPECT_NEAR(sum_of(change, &HeightSlice::before, &Amounts::purge_g),
              thick.totals.purge_g + thick.totals.start_up_g, 1e-9);
  EXPECT_NEAR(sum_of(change, &HeightSlice::after, &Amounts::part_g), thin.totals.part_g, 1e-9);
  EXPECT_NEAR(sum_of(change, &HeightSlice::after, &Amounts::time_s), thin.totals.time.expected,
              1e-6);
  EXPECT_NEAR(sum_of(change, &HeightSlice::before, &Amounts::energy_wh), thick.totals.energy_wh,
              1e-6);
  for (const HeightSlice& slice : change.slices)
    for (const Amounts* amounts : {&slice.before, &slice.after})
      EXPECT_NEAR(amounts->time_by.sum_s(), amounts->time_s, 1e-9);
  // The thicker plate's ten layers, the start, and what the thinner one has above them.
  ASSERT_GE(change.slices.size(), 11U);
  for (std::size_t i = 1; i < change.slices.size(); ++i)
    EXPECT_DOUBLE_EQ(change.slices[i].from_mm, change.slices[i - 1].to_mm);
}

TEST(BeforeAfter, APlateBesideItselfIsAlikeEverywhere) {
  const Account account = of("labels --tools 3 --layers 5 --purge tower", "changer-5");
  const BeforeAfter change = before_and_after(account, account);
  EXPECT_TRUE(change.largest.empty());
  for (const FigureChange& figure : change.figures)
    EXPECT_TRUE(figure.alike) << figure.key;
}

TEST(BeforeAfter, TheLayersThatChangedAreNamedFirst) {
  const Account one =
      of("blocks --tools 2 --layers 20 --colours bands --band-layers 10 "
         "--purge chute --purge-mm3 200",
         "switcher-4");
  const Account other =
      of("blocks --tools 2 --layers 20 --colours bands --band-layers 5 "
         "--purge chute --purge-mm3 200",
         "switcher-4");
  const BeforeAfter change = before_and_after(one, other);
  ASSERT_FALSE(change.largest.empty());
  // A change of colour every five layers instead of every ten: those of layers 6 and 16 are new.
  const HeightSlice& slice = change.slices[change.largest.front().slice];
  EXPECT_NE(slice.before.swaps, slice.after.swaps);
  EXPECT_EQ(change.largest.front().what == "purge_g" || change.largest.front().what == "swaps",
            true)
      << change.largest.front().what;
}

/// Layers of 0.2 mm above what comes before them; the swaps of each, in order.
Account with_swaps(const std::vector<std::uint64_t>& swaps) {
  Account account;
  account.layers.resize(swaps.size() + 1);
  for (std::size_t i = 1; i < account.layers.size(); ++i) {
    account.layers[i].index = i;
    account.layers[i].z_mm = 0.2 * static_cast<double>(i);
    account.layers[i].swaps = swaps[i - 1];
  }
  return account;
}

TEST(BeforeAfter, NeighbouringHeightsThatChangeAlikeAreOneSpan) {
  std::vector<std::uint64_t> swaps(70, 3);
  swaps[60] = 6;  // differs by twice as much
  const BeforeAfter change =
      before_and_after(with_swaps(swaps), with_swaps(std::vector<std::uint64_t>(70, 0)));
  ASSERT_EQ(change.largest.size(), 3U);
  const LargeChange& first = change.largest[0];
  EXPECT_EQ(first.what, "swaps");
  EXPECT_NEAR(first.from_mm, 0.0, 1e-9);
  EXPECT_NEAR(first.to_mm, 12.0, 1e-9);
  EXPECT_NEAR(first.before, 180.0, 1e-9);
  EXPECT_NEAR(first.after, 0.0, 1e-9);
  EXPECT_NEAR(first.share, 180.0 / 213.0, 1e-9);
  EXPECT_NEAR(change.largest[1].from_mm, 12.2, 1e-9);
  EXPECT_NEAR(change.largest[2].before, 6.0, 1e-9);
}

TEST(BeforeAfter, ChangesOfBothDirectionsAndWhatIsAlikeBetweenThemEndASpan) {
  const BeforeAfter change =
      before_and_after(with_swaps({1, 1, 0, 0, 1, 1}), with_swaps({0, 0, 1, 1, 1, 0}));
  ASSERT_EQ(change.largest.size(), 3U);
  EXPECT_NEAR(change.largest[0].to_mm, 0.4, 1e-9);
  EXPECT_NEAR(change.largest[1].to_mm, 0.8, 1e-9);
  EXPECT_NEAR(change.largest[2].from_mm, 1.0, 1e-9);
}

TEST(ComparePlates, AVariantStandsBesideThePlateAsItIs) {
  const test::TempFolder folder;
  const std::string path = (folder.path() / "labels.gcode").string();
  write(path, test::made_plate("labels --tools 3 --layers 6 --purge chute --purge-mm3 100"));
  CompareOptions options;
  options.analyze.variant = merge(2, 1);
  const PlatesCompared compared = compare_variant(path, {test::embedded("switcher-4")}, options);
  ASSERT_TRUE(compared.before_after.has_value());
  const Account& before = compared.plates[0].machines[0].account;
  const Account& after = compared.plates[1].machines[0].account;
  EXPECT_EQ(before.what_if.changes, "");
  EXPECT_EQ(after.what_if.changes, "what tool 2 prints is printed by tool 1");
  EXPECT_LT(after.totals.swaps, before.totals.swaps);
  EXPECT_NE(to_text(compared).find("before: "), std::string::npos);
}

// More of everything is no success: no tick, no colour of one.
TEST(ComparePlates, AChangeForTheWorseDoesNotLookLikeSuccess) {
  const PlatesCompared compared = compare_plates(
      {test::testdata("demo/lantern.gcode.gz"), test::testdata("demo/lantern-chute.gcode.gz")},
      {test::embedded("changer-5")});
  const std::string page = to_html(compared);
  EXPECT_NE(page.find("class=\"verdict plain\""), std::string::npos);
  EXPECT_EQ(page.find("class=\"verdict ready\""), std::string::npos);
  EXPECT_EQ(page.find("class=\"sign\""), std::string::npos);
  EXPECT_NE(page.find("time before"), std::string::npos);
  EXPECT_NE(page.find("time after"), std::string::npos);
  EXPECT_EQ(page.find("alike"), std::string::npos);
  // The cause, all the way up, and not a dozen layers of it.
  EXPECT_NE(page.find("share of the larger total"), std::string::npos);
  const BeforeAfter& change = *compared.before_after;
  EXPECT_GT(change.largest.front().share, 0.3) << change.largest.front().what;
  // Time, purge and energy before swaps and part.
  const std::string verdict = page.substr(page.find("class=\"verdict plain\""), 400);
  EXPECT_NE(verdict.find("time "), std::string::npos) << verdict;
  EXPECT_NE(verdict.find("purge "), std::string::npos) << verdict;
  EXPECT_NE(verdict.find("energy "), std::string::npos) << verdict;
  EXPECT_EQ(verdict.find("swaps "), std::string::npos) << verdict;
}

// On an empty plate there is no height to draw, and it is a page all the same.
TEST(ComparePlates, PlatesWithoutLayersHaveNoHeights) {
  const std::string path = test::testdata("plates/zero-layers.gcode.gz");
  const std::string page = to_html(compare_plates({path, path}, {test::embedded("changer-5")}));
  EXPECT_EQ(page.find("time before"), std::string::npos);
  EXPECT_NE(page.find("No difference beyond the band"), std::string::npos);
}

// With its tower the plate goes from part to tower and to the next part; without it, straight
// there.
TEST(WhatIf, WithoutItsTowerAPlateTakesAsLongAsOneMadeWithoutIt) {
  const char* tower = " --purge tower --purge-mm3 30 --purge-at 160,160";
  const std::string blocks = "blocks --tools 2 --layers 30";
  AnalyzeOptions without;
  without.variant.drop_tower = true;
  const Account foretold =
      analyze_bytes(test::made_plate(blocks + tower), test::embedded("changer-5"), without);
  const Account made = of(blocks + " --purge none", "changer-5");
  EXPECT_NEAR(foretold.totals.time.expected / made.totals.time.expected, 1.0, 0.01);
}

TEST(ComparePlates, TheMachineThatItWasSlicedForNeedNotBeAmongThem) {
  const std::string path = test::testdata("demo/lantern.gcode.gz");
  const Machine changer = test::embedded("changer-5");
  const Machine switcher = test::embedded("switcher-4");
  CompareOptions options;
  options.sliced_for = changer;
  const PlatesCompared alone = compare_plates({path}, {switcher}, options);
  const Comparison both = compare_plate(path, {changer, switcher}, {});
  EXPECT_TRUE(alone.plates[0].machines[0].replanned);
  EXPECT_DOUBLE_EQ(alone.plates[0].machines[0].account.totals.purge_g,
                   both.machines[1].account.totals.purge_g);
}

}  // namespace
}  // namespace platetally
