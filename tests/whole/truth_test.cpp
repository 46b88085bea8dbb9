// Generated plates against the truth that their generator kept: it shares no code with the product.
#include <algorithm>
#include <cmath>

#include "platetally/account.hpp"
#include "support.hpp"

namespace platetally {
namespace {

constexpr double kFilamentMm2 = 2.405281875468;  // 1.75 mm; pi / 4 1.75^2
constexpr double kPlaGPerMm3 = 1.24e-3;

std::vector<std::string> plates() {
  std::vector<std::string> found;
  for (const char* folder : {"demo", "plates"})
    for (const auto& entry : std::filesystem::directory_iterator(test::testdata(folder))) {
      const std::string name = entry.path().filename().string();
      if (name.ends_with(".truth.json"))
        found.push_back(std::string(folder) + "/" +
                        name.substr(0, name.size() - std::strlen(".truth.json")));
    }
  std::sort(found.begin(), found.end());
  return found;
}

class Truth : public testing::TestWithParam<std::string> {
 protected:
  static Account account() {
    return analyze_file(test::testdata(GetParam() + ".gcode.gz"), test::embedded("changer-5"));
  }
  static nlohmann::json truth() {
    return test::read_json(test::testdata(GetParam() + ".truth.json"));
  }
  static bool runs_ahead() { return GetParam() == "plates/tower-ahead"; }
};

TEST_P(Truth, LinesSwapsSelectionsAndLayers) {
  const Account account = Truth::account();
  const auto truth = Truth::truth();
  EXPECT_EQ(account.lines, truth["lines"].get<std::uint64_t>());
  EXPECT_EQ(account.totals.swaps, truth["swaps"].get<std::uint64_t>());
  EXPECT_EQ(account.totals.tool_selects, truth["tool_selects"].get<std::uint64_t>());
  EXPECT_EQ(account.totals.layers, truth["layers"].get<std::uint64_t>());
}

TEST_P(Truth, FilamentByTool) {
  const Account account = Truth::account();
  const auto truth = Truth::truth();
  double total_mm = 0.0;
  for (const auto& tool : truth["tools"]) {
    const auto& row = account.tools[tool["tool"].get<std::size_t>()];
    EXPECT_NEAR(row.filament_mm, tool["filament_mm"].get<double>(), 1e-6);
    total_mm += row.filament_mm;
  }
  const Totals& totals = account.totals;
  EXPECT_NEAR(totals.part_g + totals.purge_g + totals.start_up_g,
              total_mm * kFilamentMm2 * kPlaGPerMm3, 1e-9 + 1e-7 * totals.part_g);
}

TEST_P(Truth, PurgeFoundFromTheMotion) {
  const Account account = Truth::account();
  const auto truth = Truth::truth();
  const double true_g = truth["purge_mm3"].get<double>() * kPlaGPerMm3;
  const Totals& totals = account.totals;
  EXPECT_NEAR(totals.purge_g, true_g, 1e-9 + 0.01 * true_g);
  EXPECT_LE(totals.purge_low_g, 1.01 * true_g + 1e-9);
  EXPECT_GE(totals.purge_high_g, 0.99 * true_g - 1e-9);
  EXPECT_LE(totals.purge_high_g - totals.purge_low_g, 0.01 * true_g + 1e-9);  // no false doubt
  const double start_up_g = truth["start_up_mm3"].get<double>() * kPlaGPerMm3;
  EXPECT_NEAR(totals.start_up_g, start_up_g, 1e-9 + 0.01 * start_up_g);
}

TEST_P(Truth, PurgeByPairOfTools) {
  const Account account = Truth::account();
  const auto truth = Truth::truth();
  const auto& pairs = truth["swap_pairs"];
  ASSERT_EQ(account.swap_pairs.size(), pairs.size());
  for (std::size_t i = 0; i < account.swap_pairs.size(); ++i) {
    const SwapPairAccount& pair = account.swap_pairs[i];
    SCOPED_TRACE(testing::Message() << pair.from << " to " << pair.to);
    EXPECT_EQ(pair.from, pairs[i]["from"].get<int>());
    EXPECT_EQ(pair.to, pairs[i]["to"].get<int>());
    EXPECT_EQ(pair.count, pairs[i]["count"].get<std::uint64_t>());
    // The first pair may bear what was laid under a tower before the first swap.
    const double true_g = pairs[i]["purge_mm3"].get<double>() * kPlaGPerMm3;
    const double early_g = truth["purge_before_first_swap_mm3"].get<double>() * kPlaGPerMm3;
    EXPECT_GE(pair.purge_g, 0.98 * true_g - 1e-9);
    EXPECT_LE(pair.purge_g, 1.02 * true_g + early_g + 1e-9);
  }
}

TEST_P(Truth, HeightsAndToolsOfEachLayer) {
  const Account account = Truth::account();
  const auto layers = Truth::truth()["by_layer"];
  ASSERT_EQ(account.layers.size(), layers.size() + 1);
  for (std::size_t i = 0; i < layers.size(); ++i) {
    SCOPED_TRACE(i);
    const LayerAccount& layer = account.layers[i + 1];
    // Where Z climbs or waves while laying, a layer's height is where it was first met.
    EXPECT_NEAR(layer.z_mm, layers[i]["z_mm"].get<double>(), 0.21);
    std::vector<int> order;
    for (const int tool : layers[i]["tools"].get<std::vector<int>>())
      if (std::ranges::find(order, tool) == order.end())
        order.push_back(tool);
    std::vector<int> got = layer.order;
    if (runs_ahead()) {
      // The first strokes of such a tower count at their own height, before the part is there.
      std::ranges::sort(got);
      std::ranges::sort(order);
    }
    EXPECT_EQ(got, order);
  }
}

INSTANTIATE_TEST_SUITE_P(Plates, Truth, testing::ValuesIn(plates()), [](const auto& row) {
  std::string name = row.param;
  for (char& c : name)
    if (c == '/' || c == '-')
      c = '_';
  return name;
});

TEST(Twins, LineEndsAndChecksumsChangeNothing) {
  const Machine machine = test::embedded("changer-5");
  const Account lf = analyze_file(test::testdata("plates/twin-lf.gcode.gz"), machine);
  for (const char* other : {"plates/twin-crlf", "plates/checksums"}) {
    const Account account = analyze_file(test::testdata(std::string(other) + ".gcode.gz"), machine);
    EXPECT_NE(account.bytes, lf.bytes);
    EXPECT_EQ(account.totals.time, lf.totals.time);
    EXPECT_EQ(account.totals.energy_wh, lf.totals.energy_wh);
    EXPECT_EQ(account.totals.part_g, lf.totals.part_g);
  }
}

}  // namespace
}  // namespace platetally
