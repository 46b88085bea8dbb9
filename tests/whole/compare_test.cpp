// The same plate on other machines: laws. What practice sees is in common_practice_test.cpp.
#include "platetally/compare.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>

#include "support.hpp"

namespace platetally {
namespace {

CompareOptions four_colours() {
  CompareOptions options;
  options.analyze.tool_colours = {"black", "white", "red", "yellow"};
  return options;
}

TEST(Compare, AMachineWithItselfIsTheSame) {
  for (const char* name : {"changer-5", "switcher-4"}) {
    const Machine machine = test::embedded(name);
    const std::string path = test::testdata("demo/lantern.gcode.gz");
    const Comparison comparison = compare_plate(path, {machine, machine}, four_colours());
    ASSERT_EQ(comparison.machines.size(), 2U);
    const Account alone = analyze_file(path, machine, four_colours().analyze);
    for (const ComparedMachine& compared : comparison.machines) {
      EXPECT_FALSE(compared.replanned);
      const Totals& totals = compared.account.totals;
      EXPECT_NEAR(totals.time.expected, alone.totals.time.expected, 1e-9 * totals.time.expected);
      EXPECT_NEAR(totals.energy_wh, alone.totals.energy_wh, 1e-9 * totals.energy_wh);
      EXPECT_NEAR(totals.purge_g, alone.totals.purge_g, 1e-9);
    }
  }
}

TEST(Compare, AFourColourPlateFromTheChangerToTheSwitcher) {
  const Comparison comparison =
      compare_plate(test::testdata("demo/lantern.gcode.gz"),
                    {test::embedded("changer-5"), test::embedded("switcher-4")}, four_colours());
  const Totals& changer = comparison.machines[0].account.totals;
  const Totals& switcher = comparison.machines[1].account.totals;
  EXPECT_TRUE(comparison.machines[1].replanned);
  EXPECT_FALSE(comparison.machines[0].replanned);
  // Every change of filament costs seconds and, by its colours, far more purge than a tower's.
  EXPECT_GT(switcher.time.expected, 3.0 * changer.time.expected);
  EXPECT_NEAR(changer.purge_g, 213 * 32.0 * 1.24e-3, 0.05);
  EXPECT_GT(switcher.purge_g, 10.0 * changer.purge_g);
  // The part and its swaps stay, and the sums hold.
  EXPECT_NEAR(switcher.part_g, changer.part_g, 1e-9);
  EXPECT_EQ(switcher.swaps, changer.swaps);
  EXPECT_NEAR(switcher.time_by.sum_s(), switcher.time.expected, 1e-6);
  EXPECT_NEAR(switcher.energy_by.sum_wh(), switcher.energy_wh, 1e-9 * switcher.energy_wh);
  double pairs_g = 0.0;
  for (const SwapPairAccount& pair : comparison.machines[1].account.swap_pairs)
    pairs_g += pair.purge_g;
  EXPECT_NEAR(pairs_g, switcher.purge_g, 1e-9);
  EXPECT_FALSE(comparison.machines[1].assumed.empty());
}

TEST(Compare, TheOtherWayATowerTakesThePlaceOfThePurge) {
  const Machine changer = test::embedded("changer-5");
  const Comparison comparison =
      compare_plate(test::testdata("demo/lantern-chute.gcode.gz"),
                    {test::embedded("switcher-4"), changer}, four_colours());
  const Account& account = comparison.machines[1].account;
  EXPECT_NEAR(account.totals.purge_g,
              static_cast<double>(account.totals.swaps) * changer.swap.tower_each_mm3 * 1.24e-3,
              1e-9);
  // A tower is laid at the pace of the part, and still in a third of the time.
  EXPECT_LT(account.totals.time.expected,
            comparison.machines[0].account.totals.time.expected / 3.0);
}

TEST(Compare, BreakEvenSecondsMakeBothTakeAsLong) {
  const Machine switcher = test::embedded("switcher-4");
  Machine changer = test::embedded("changer-5");
  changer.swap.long_swap_probability = 0.0;
  const std::string path = test::testdata("demo/lantern-chute.gcode.gz");
  const Comparison comparison = compare_plate(path, {switcher, changer}, four_colours());
  ASSERT_TRUE(comparison.break_even[0].swap_s.has_value());
  const double even_s = *comparison.break_even[0].swap_s;
  changer.swap.head_change_s = Range::exactly(even_s);
  const Comparison again = compare_plate(path, {switcher, changer}, four_colours());
  EXPECT_NEAR(again.machines[1].account.totals.time.expected,
              again.machines[0].account.totals.time.expected, 1.0);
}

TEST(Compare, PricesSayWhatEachCostsAndWhereEnergyTurnsIt) {
  CompareOptions options = four_colours();
  Prices prices;
  prices.filament_per_kg = 20.0;
  prices.energy_per_kwh = 0.3;
  prices.machine_price = 1000.0;
  options.prices = prices;
  const Comparison comparison =
      compare_plate(test::testdata("demo/lantern.gcode.gz"),
                    {test::embedded("changer-5"), test::embedded("switcher-4")}, options);
  ASSERT_TRUE(comparison.machines[0].account.cost && comparison.machines[1].account.cost);
  EXPECT_LT(comparison.machines[0].account.cost->total(),
            comparison.machines[1].account.cost->total());
  // The dearer machine takes more energy too: no price of energy turns that.
  EXPECT_FALSE(comparison.break_even[0].energy_per_kwh.has_value());
}

TEST(Compare, APlateThatDoesNotFitSaysSo) {
  Machine small = test::embedded("single-1");
  small.area.x_max_mm = 80.0;
  const Comparison comparison = compare_plate(test::testdata("demo/lantern.gcode.gz"),
                                              {test::embedded("changer-5"), small}, four_colours());
  EXPECT_TRUE(comparison.machines[0].misfits.empty());
  ASSERT_FALSE(comparison.machines[1].misfits.empty());
  EXPECT_TRUE(std::ranges::any_of(comparison.machines[1].misfits, [](const std::string& misfit) {
    return misfit.find("it fits") != std::string::npos;
  }));
}

/// Lines of tools that follow one another in every layer.
std::string layers_of(const std::vector<std::vector<std::pair<int, double>>>& layers) {
  std::string text = "G90\nM83\nM104 S200 T0\nM104 S200 T1\nM104 S200 T2\n";
  double z_mm = 0.0;
  for (const auto& layer : layers) {
    z_mm += 0.2;
    text += fmt::format("G1 Z{:.2f} F600\n", z_mm);
    for (const auto& [tool, feed_mm] : layer)
      text += fmt::format("T{}\nG1 X20 Y{} F6000\nG1 X60 E{} F1800\n", tool, 20 + tool, feed_mm);
  }
  return text;
}

TEST(Compare, APlateWithTooManyToolsNamesTheNearestThatFits) {
  // T2 lays least. Laid by T1, its neighbour in every layer, it leaves 3 swaps, by T0 5.
  const std::string text = layers_of({{{0, 9.0}, {1, 9.0}, {2, 1.0}},
                                      {{2, 1.0}, {1, 9.0}, {0, 9.0}},
                                      {{0, 9.0}, {1, 9.0}, {2, 1.0}}});
  const std::string path = ::testing::TempDir() + "/three-tools.gcode";
  std::ofstream(path) << text;
  Machine two = test::embedded("changer-5");
  two.name = "two";
  two.tools.resize(2);
  two.heads.resize(2);
  two.swap_pairs.clear();
  const Comparison comparison = compare_plate(path, {test::embedded("changer-5"), two}, {});
  EXPECT_TRUE(comparison.machines[0].misfits.empty());
  ASSERT_FALSE(comparison.machines[1].misfits.empty());
  const std::string& misfit = comparison.machines[1].misfits.back();
  EXPECT_NE(misfit.find("what T2 lays is laid by T1"), std::string::npos) << misfit;
  EXPECT_NE(misfit.find("3 swaps are left"), std::string::npos) << misfit;
}

}  // namespace
}  // namespace platetally
