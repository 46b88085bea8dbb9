// Generated plates against the truth that their generator kept: it shares no code with the product.
#include <cmath>

#include "support.hpp"

namespace platetally {
namespace {

constexpr double kFilamentMm2 = 2.405281875468;  // 1.75 mm; pi / 4 1.75^2
constexpr double kPlaGPerMm3 = 1.24e-3;

class Truth : public testing::TestWithParam<const char*> {
 protected:
  static Account account() {
    return analyze_file(test::testdata(std::string(GetParam()) + ".gcode.gz"),
                        test::embedded("changer-5"));
  }
  static nlohmann::json truth() {
    return test::read_json(test::testdata(std::string(GetParam()) + ".truth.json"));
  }
};

TEST_P(Truth, LinesSwapsSelectionsAndLayers) {
  const Account account = Truth::account();
  const auto truth = Truth::truth();
  EXPECT_EQ(account.lines, truth["lines"].get<std::uint64_t>());
  EXPECT_EQ(account.totals.swaps, truth["swaps"].get<std::uint64_t>());
  EXPECT_EQ(account.totals.tool_selects, truth["tool_selects"].get<std::uint64_t>());
  ASSERT_EQ(account.totals.layers, truth["layers"].get<std::uint64_t>());
}

TEST_P(Truth, FilamentByTool) {
  const Account account = Truth::account();
  const auto truth = Truth::truth();
  double total_mm = 0.0;
  for (const auto& tool : truth.value("tools", nlohmann::json::array())) {
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
  const double true_g = Truth::truth()["purge_mm3"].get<double>() * kPlaGPerMm3;
  EXPECT_NEAR(account.totals.purge_g, true_g, 1e-9 + 0.01 * true_g);
}

TEST_P(Truth, PairsOfTools) {
  const Account account = Truth::account();
  const auto truth = Truth::truth();
  ASSERT_EQ(account.swap_pairs.size(), truth["pairs"].size());
  for (std::size_t i = 0; i < account.swap_pairs.size(); ++i) {
    EXPECT_EQ(account.swap_pairs[i].from, truth["pairs"][i]["from"].get<int>());
    EXPECT_EQ(account.swap_pairs[i].to, truth["pairs"][i]["to"].get<int>());
    EXPECT_EQ(account.swap_pairs[i].count, truth["pairs"][i]["count"].get<std::uint64_t>());
  }
}

TEST_P(Truth, HeightsSwapsAndToolsOfEachLayer) {
  const Account account = Truth::account();
  const auto layers = Truth::truth()["by_layer"];
  ASSERT_EQ(account.layers.size(), layers.size() + 1);
  for (std::size_t i = 0; i < layers.size(); ++i) {
    SCOPED_TRACE(i);
    const LayerAccount& layer = account.layers[i + 1];
    // Where Z climbs or waves while laying, a layer's height is where it was first met.
    EXPECT_NEAR(layer.z_mm, layers[i]["z_mm"].get<double>(), 0.21);
    EXPECT_EQ(layer.order, layers[i]["order"].get<std::vector<int>>());
  }
}

INSTANTIATE_TEST_SUITE_P(
    Plates, Truth,
    testing::Values("demo/labels", "demo/lantern", "plates/selected-twice-absolute",
                    "plates/relative", "plates/firmware-retract-parked", "plates/crlf", "plates/lf",
                    "plates/arcs", "plates/hops-relative", "plates/spiral", "plates/waves",
                    "plates/sequential", "plates/one-layer", "plates/no-layer",
                    "plates/tower-ahead", "plates/line-in-bed", "plates/copies-no-tower"),
    [](const auto& row) {
      std::string name = row.param;
      for (char& c : name)
        if (c == '/' || c == '-')
          c = '_';
      return name;
    });

TEST(Twins, LineEndsChangeNothing) {
  const Machine machine = test::embedded("changer-5");
  const Account crlf = analyze_file(test::testdata("plates/crlf.gcode.gz"), machine);
  const Account lf = analyze_file(test::testdata("plates/lf.gcode.gz"), machine);
  EXPECT_NE(crlf.bytes, lf.bytes);
  EXPECT_EQ(crlf.totals.time, lf.totals.time);
  EXPECT_EQ(crlf.totals.energy_wh, lf.totals.energy_wh);
  EXPECT_EQ(crlf.totals.part_g, lf.totals.part_g);
}

}  // namespace
}  // namespace platetally
