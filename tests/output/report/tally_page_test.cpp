// The page of a tally: its drawings and data say what the account says, and names stay text.
#include <gtest/gtest.h>

#include <limits>
#include <nlohmann/json.hpp>

#include "output/report/bed_map.hpp"
#include "output/report/chart.hpp"
#include "output/report/page_assets.hpp"
#include "platetally/account.hpp"
#include "platetally/page.hpp"

namespace platetally::report {
namespace {

Account account_with(std::size_t layers) {
  Account account;
  account.path = "tag.gcode";
  account.machine = "changer";
  for (std::size_t i = 0; i < layers; ++i) {
    LayerAccount layer;
    layer.index = i;
    layer.z_mm = 0.2 * static_cast<double>(i);
    layer.swaps = i % 3;
    layer.purge_g = i == 7 ? 1.5 : 0.25;
    layer.energy_by.bed_wh = 2.0;
    account.layers.push_back(layer);
  }
  return account;
}

std::size_t count(const std::string& text, const std::string& what) {
  std::size_t found = 0;
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1))
    ++found;
  return found;
}

TEST(Chart, LayersAreColumnsWithoutWhatIsAlwaysZero) {
  Account account = account_with(10);
  ChartColumns columns = layer_columns(account);
  ASSERT_EQ(columns.series.size(), 3U);
  EXPECT_EQ(columns.edges.size(), 11U);
  EXPECT_EQ(columns.series[1].name, "purge");
  EXPECT_EQ(columns.series[1].values[7], 1.5);
  for (LayerAccount& layer : account.layers)
    layer.swaps = 0;
  columns = layer_columns(account);
  EXPECT_EQ(columns.series.size(), 2U);
  EXPECT_TRUE(layer_columns(Account()).series.empty());
}

TEST(Chart, PowerIsEnergyOverTime) {
  Account account;
  PowerSample sample;
  sample.duration_s = 1800.0;
  sample.energy.bed_wh = 50.0;
  account.power = {sample, sample};
  account.power[1].start_s = 1800.0;
  account.power[1].energy.fans_wh = 2.0;
  const ChartColumns columns = power_columns(account);
  ASSERT_EQ(columns.series.size(), 2U);
  EXPECT_DOUBLE_EQ(columns.series[0].values[0], 100.0);
  EXPECT_DOUBLE_EQ(columns.series[1].values[1], 4.0);
  EXPECT_EQ(columns.edges, (std::vector<double>{0.0, 1800.0, 3600.0}));
}

TEST(Chart, JsonHasNullForWhatIsNotKnown) {
  ChartColumns columns{{0.0, 1.0, 2.0},
                       {{"a<b", "g", {std::numeric_limits<double>::quiet_NaN(), -0.0}}}};
  const auto json = nlohmann::json::parse(to_json(columns));
  EXPECT_TRUE(json["series"][0]["values"][0].is_null());
  EXPECT_EQ(json["series"][0]["values"][1], 0);
}

TEST(Chart, LongPlatesAreDrawnInBinsOfTwoPixels) {
  const std::string few = drawn_panels(layer_columns(account_with(20)), "layer", 1.0);
  EXPECT_EQ(count(few, "class=\"s2\""), 1U);
  const std::string many = drawn_panels(layer_columns(account_with(5000)), "layer", 1.0);
  // An area has two edges a bin at most: no more than 390 bins on 780 pixels, in three panels.
  EXPECT_LE(count(many, "V"), 3U * 2U * 390U);
  EXPECT_GT(count(many, "V"), 1000U);
}

TEST(BedMap, PrintsTheFiguresOfEveryZone) {
  Account account;
  account.bed_picture.bed_width_mm = account.bed_picture.bed_depth_mm = 200.0;
  account.bed_picture.columns = account.bed_picture.rows = 80;
  account.bed_picture.laid.assign(6400, 0);
  account.bed_picture.laid[10 * 80 + 10] = 1;
  BedZoneAccount zone;
  zone.active_s = 5400.0;
  zone.energy_wh = 12.34;
  account.bed_zones = {zone, zone};
  account.bed_zones[1].column = 1;
  account.bed_zones[1].energy_wh = account.bed_zones[1].active_s = 0.0;
  std::string drawing = drawn_bed(account);
  EXPECT_NE(drawing.find("1.5 h"), std::string::npos);
  EXPECT_NE(drawing.find("12.3 Wh"), std::string::npos);
  EXPECT_NE(drawing.find("off"), std::string::npos);
  EXPECT_EQ(drawing.find("best place"), std::string::npos);
  account.bed_picture.shift_x_mm = 30.0;
  drawing = drawn_bed(account);
  EXPECT_NE(drawing.find("best place"), std::string::npos);
  EXPECT_TRUE(drawn_bed(Account()).empty());
  EXPECT_EQ(map_step(0.0, 5.0), 0);
  EXPECT_EQ(map_step(0.1, 5.0), 1);
  EXPECT_EQ(map_step(5.0, 5.0), 3);
}

TEST(TallyPage, NamesStayTextAndNothingComesFromElsewhere) {
  Account account = account_with(4);
  account.path = "</title><script>alert(1)</script>";
  account.machine = "<img src=x>";
  ToolAccount tool;
  tool.colour = "<b>red";
  account.tools = {tool};
  SwapPairAccount pair;
  pair.to = 1;
  account.swap_pairs = {pair};
  account.unaccounted = {{"<i>M9", 1, 1}};
  Finding finding;
  finding.advice = "<u>do";
  account.findings = {finding};
  Diagnostic warning;
  warning.severity = Severity::warning;
  warning.message = "<s>odd";
  account.diagnostics = {warning};
  const std::string page = to_html(account);
  for (const char* bad : {"<script>alert", "<img", "<b>red", "<i>", "<u>", "<s>"})
    EXPECT_EQ(page.find(bad), std::string::npos) << bad;
  EXPECT_NE(page.find("default-src 'none'"), std::string::npos);
  EXPECT_EQ(page.find("unsafe"), std::string::npos);
  EXPECT_EQ(page.find("style=\""), std::string::npos);
  EXPECT_NE(page.find(css_asset.sha256_base64), std::string::npos);
  EXPECT_EQ(css_asset.sha256_base64.size(), 44U);
}

TEST(TallyPage, AnEmptyAccountIsAPageToo) {
  const std::string page = to_html(Account());
  EXPECT_NE(page.find("</html>"), std::string::npos);
  EXPECT_EQ(page.find("id=\"data\""), std::string::npos);
}

}  // namespace
}  // namespace platetally::report
