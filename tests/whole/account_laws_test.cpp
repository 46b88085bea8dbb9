// Laws that every account obeys, on every plate and machine that comes with the project.
#include <algorithm>
#include <cmath>

#include "support.hpp"

namespace platetally {
namespace {

std::vector<std::string> plates() {
  std::vector<std::string> found;
  for (const char* folder : {"demo", "plates"})
    for (const auto& entry : std::filesystem::directory_iterator(test::testdata(folder)))
      if (entry.path().filename().string().find(".gcode") != std::string::npos)
        found.push_back(std::string(folder) + "/" + entry.path().filename().string());
  std::sort(found.begin(), found.end());
  return found;
}

class EveryPlate : public testing::TestWithParam<std::string> {
 protected:
  static std::string path() { return test::testdata(GetParam()); }
};

#define EXPECT_SAME(a, b) EXPECT_NEAR(a, b, 1e-9 * std::max(1e-6, std::abs(b)))

TEST_P(EveryPlate, SumsOverLayersEqualTheTotals) {
  for (const std::string& name : embedded_machine_names()) {
    SCOPED_TRACE(name);
    const Account account = analyze_file(path(), test::embedded(name));
    const Totals& totals = account.totals;
    double time_s = 0, part_g = 0, purge_g = 0, start_up_g = 0, energy_wh = 0;
    std::uint64_t swaps = 0;
    for (const LayerAccount& layer : account.layers) {
      time_s += layer.time_by.sum_s();
      part_g += layer.part_g;
      purge_g += layer.purge_g;
      start_up_g += layer.start_up_g;
      energy_wh += layer.energy_by.sum_wh();
      swaps += layer.swaps;
    }
    EXPECT_SAME(time_s, totals.time.expected);
    EXPECT_SAME(part_g, totals.part_g);
    EXPECT_SAME(purge_g, totals.purge_g);
    EXPECT_SAME(start_up_g, totals.start_up_g);
    EXPECT_SAME(energy_wh, totals.energy_wh);
    EXPECT_EQ(swaps, totals.swaps);
  }
}

TEST_P(EveryPlate, TheTablesAgreeWithEachOther) {
  const Account account = analyze_file(path(), test::embedded("changer-5"));
  double part_g = 0, purge_g = 0, pair_purge_g = 0;
  std::uint64_t pair_swaps = 0;
  for (const ToolAccount& tool : account.tools) {
    part_g += tool.part_g;
    purge_g += tool.purge_g;
  }
  for (const SwapPairAccount& pair : account.swap_pairs) {
    pair_swaps += pair.count;
    pair_purge_g += pair.purge_g;
  }
  EXPECT_SAME(part_g, account.totals.part_g);
  EXPECT_SAME(purge_g, account.totals.purge_g);
  EXPECT_SAME(pair_purge_g, account.totals.purge_g);
  EXPECT_EQ(pair_swaps, account.totals.swaps);
}

TEST_P(EveryPlate, TheEnergyBookCloses) {
  for (const std::string& name : embedded_machine_names()) {
    SCOPED_TRACE(name);
    const Account account = analyze_file(path(), test::embedded(name));
    EXPECT_LT(account.totals.energy_residual, 1e-9);
    EXPECT_GE(account.totals.peak_power_w, account.totals.mean_power_w);
    EXPECT_LE(account.totals.peak_power_w, account.totals.connected_load_w * (1 + 1e-9));
  }
}

TEST_P(EveryPlate, BandsHoldTheExpectedValueAndNothingIsNegative) {
  const Account account = analyze_file(path(), test::embedded("changer-5"));
  EXPECT_LE(account.totals.time.low, account.totals.time.expected);
  EXPECT_LE(account.totals.time.expected, account.totals.time.high);
  EXPECT_LE(account.totals.purge_low_g, account.totals.purge_g);
  EXPECT_LE(account.totals.purge_g, account.totals.purge_high_g);
  for (const LayerAccount& layer : account.layers) {
    EXPECT_GE(layer.time_by.sum_s(), 0.0);
    EXPECT_GE(layer.energy_by.sum_wh(), 0.0);
    EXPECT_TRUE(std::isfinite(layer.energy_by.sum_wh()));
  }
}

TEST_P(EveryPlate, ThreadsChangeNothing) {
  const Machine machine = test::embedded("changer-5");
  AnalyzeOptions one;
  one.threads = 1;
  AnalyzeOptions two;
  two.threads = 2;
  const Account a = analyze_file(path(), machine, one);
  const Account b = analyze_file(path(), machine, two);
  EXPECT_EQ(a.totals.time, b.totals.time);
  EXPECT_EQ(a.totals.energy_wh, b.totals.energy_wh);
  EXPECT_EQ(a.totals.part_g, b.totals.part_g);
  ASSERT_EQ(a.layers.size(), b.layers.size());
  for (std::size_t i = 0; i < a.layers.size(); ++i)
    EXPECT_EQ(a.layers[i].energy_by.sum_wh(), b.layers[i].energy_by.sum_wh());
}

TEST(Band, WordsThatNothingIsKnownOfWidenItAboveOnly) {
  Machine machine = test::embedded("changer-5");
  machine.procedures.unknown_word_most_s = 2.0;
  const std::string plate = "M83\nG1 Z0.2 F600\nG1 X10 E1\n";
  const Totals known = analyze_bytes(plate, machine).totals;
  const Totals odd = analyze_bytes(plate + "M862.7\nWARM_SHELF\nM862.7\n", machine).totals;
  EXPECT_EQ(odd.time.low, known.time.low);
  EXPECT_EQ(odd.time.expected, known.time.expected);
  EXPECT_NEAR(odd.time.high, known.time.high + 6.0, 1e-9);

  const auto unknown = std::ranges::find(odd.time_band, "unknown-words", &TimeBandCause::cause);
  ASSERT_NE(unknown, odd.time_band.end());
  EXPECT_NEAR(unknown->above_s, 6.0, 1e-12);
}

std::string plate_name(const testing::TestParamInfo<std::string>& info) {
  std::string name = info.param;
  for (char& c : name)
    if (!std::isalnum(static_cast<unsigned char>(c)))
      c = '_';
  return name;
}

INSTANTIATE_TEST_SUITE_P(Testdata, EveryPlate, testing::ValuesIn(plates()), plate_name);

}  // namespace
}  // namespace platetally
