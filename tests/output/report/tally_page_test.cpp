// The page of a tally: its drawings and data say what the account says, and names stay text.
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <limits>
#include <nlohmann/json.hpp>

#include "output/report/bed_drawing.hpp"
#include "output/report/chart.hpp"
#include "output/report/page_assets.hpp"
#include "output/report/plate_picture.hpp"
#include "output/report/tally_charts.hpp"
#include "platetally/account.hpp"
#include "platetally/page.hpp"
#include "platetally/picture.hpp"
#include "platetally/report.hpp"

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

TEST(Chart, LayersHaveAPanelForWhatIsEverOtherThanZero) {
  Account account = account_with(10);
  Chart chart = layer_chart(account);
  ASSERT_EQ(chart.panels.size(), 3U);
  EXPECT_EQ(chart.edges.size(), 11U);
  EXPECT_EQ(chart.panels[1].title, "purge");
  EXPECT_EQ(chart.panels[1].series[0].values[7], 1.5);
  for (LayerAccount& layer : account.layers)
    layer.swaps = 0;
  chart = layer_chart(account);
  EXPECT_EQ(chart.panels.size(), 2U);
  EXPECT_FALSE(layer_chart(Account()).has_something());
}

TEST(Chart, LayersInARowThatAToolPrintsInAreOneSpan) {
  Account account = account_with(6);
  for (const char* colour : {"black", "#f0c814", "moss\" onload=\"x"}) {
    ToolAccount tool;
    tool.tool = static_cast<int>(account.tools.size());
    tool.colour = colour;
    account.tools.push_back(tool);
  }
  account.layers[1].order = {0, 1};
  account.layers[2].order = {1};
  account.layers[4].order = {1, 2};
  const ChartPanel tools = layer_chart(account).panels.back();
  ASSERT_EQ(tools.lanes.size(), 3U);
  ASSERT_EQ(tools.lanes[1].spans.size(), 2U);
  EXPECT_EQ(tools.lanes[1].spans[0].from, 1.0);
  EXPECT_EQ(tools.lanes[1].spans[0].to, 3.0);
  EXPECT_EQ(tools.lanes[0].spans[0].paint, "black");
  EXPECT_EQ(tools.lanes[1].spans[0].paint, "#f0c814");
  EXPECT_EQ(tools.lanes[2].spans[0].paint, "");
}

TEST(Chart, SpansHoldTheirWordsWhereTheyFit) {
  Chart chart;
  chart.axis = ChartAxis::time;
  const ChartLane lane{
      "changer-5",
      {{0.0, 3600.0, "lantern <4>", Hue::first}, {3600.0, 3700.0, "tag", Hue::second}}};
  chart.panels = {{"machines", "", {}, {lane}}};
  chart.edges = edges_of({lane});
  EXPECT_EQ(chart.edges, (std::vector<double>{0.0, 3600.0, 3700.0}));
  const std::string drawing = html_of(chart);
  EXPECT_EQ(count(drawing, "<rect class=\"lane h-"), 2U);
  EXPECT_NE(drawing.find(">lantern &lt;4&gt;</text>"), std::string::npos);
  EXPECT_EQ(drawing.find(">tag</text>"), std::string::npos);
}

TEST(Chart, PowerIsEnergyOverTimeAndThinned) {
  Account account;
  PowerSample sample;
  sample.duration_s = 1800.0;
  sample.energy.bed_wh = 50.0;
  account.power = {sample, sample};
  account.power[1].start_s = 1800.0;
  account.power[1].energy.fans_wh = 2.0;
  Chart chart = power_chart(account);
  ASSERT_EQ(chart.panels.at(0).series.size(), 2U);
  EXPECT_DOUBLE_EQ(chart.panels[0].series[0].values[0], 100.0);
  EXPECT_DOUBLE_EQ(chart.panels[0].series[1].values[1], 4.0);
  EXPECT_EQ(chart.edges, (std::vector<double>{0.0, 1800.0, 3600.0}));
  account.power.assign(4096, sample);
  for (std::size_t i = 0; i < account.power.size(); ++i)
    account.power[i].start_s = 1800.0 * static_cast<double>(i);
  chart = power_chart(account);
  EXPECT_LE(chart.edges.size(), 1501U);
  EXPECT_DOUBLE_EQ(chart.panels[0].series[0].values[0], 100.0);
  EXPECT_DOUBLE_EQ(chart.panels[0].series[0].values.back(), 100.0);
  EXPECT_DOUBLE_EQ(chart.edges.back(), 4096.0 * 1800.0);
}

Chart one_panel(std::vector<double> values) {
  Chart chart;
  chart.id = "c";
  chart.axis = ChartAxis::time;
  for (std::size_t i = 0; i <= values.size(); ++i)
    chart.edges.push_back(60.0 * static_cast<double>(i));
  chart.panels = {{"power", "W", {{"bed", Hue::bed, std::move(values)}}}};
  return chart;
}

TEST(Chart, JsonHasNullForWhatIsNotKnown) {
  Chart chart = one_panel({std::numeric_limits<double>::quiet_NaN(), -0.0});
  chart.panels[0].series[0].name = "a<b";
  const auto json = nlohmann::json::parse(json_of(chart));
  EXPECT_TRUE(json["panels"][0]["series"][0]["values"][0].is_null());
  EXPECT_EQ(json["panels"][0]["series"][0]["values"][1], 0);
}

TEST(Chart, AShortSpikeIsCutOffAndSaidALongRiseIsNot) {
  std::vector<double> values(40, 100.0);
  values[0] = 700.0;
  Chart chart = one_panel(values);
  PanelScale scale = scale_of(chart.panels[0], chart.edges);
  EXPECT_TRUE(scale.is_cut());
  EXPECT_DOUBLE_EQ(scale.most, 700.0);
  EXPECT_DOUBLE_EQ(scale.shown, 140.0);
  const std::string cut = html_of(chart);
  EXPECT_NE(cut.find("Magnified"), std::string::npos);
  EXPECT_NE(cut.find("700\xC2\xA0W"), std::string::npos);
  std::fill_n(values.begin(), 10, 700.0);
  chart = one_panel(values);
  scale = scale_of(chart.panels[0], chart.edges);
  EXPECT_FALSE(scale.is_cut());
  EXPECT_GE(scale.shown, 700.0);
  EXPECT_EQ(html_of(chart).find("Magnified"), std::string::npos);
  EXPECT_EQ(scale_of(ChartPanel{"p", "g"}, {0.0, 1.0}).shown, 1.0);
}

TEST(Chart, LongPlatesAreDrawnInBinsOfTwoUnits) {
  const std::string few = html_of(layer_chart(account_with(20)));
  EXPECT_EQ(count(few, "class=\"fill h-purge\""), 1U);
  Account account = account_with(5000);
  for (std::size_t i = 0; i < account.layers.size(); ++i)
    account.layers[i].purge_g = static_cast<double>(i % 11);
  const std::string many = html_of(layer_chart(account));
  // A step up or down a bin at most, of 500 bins on each of three panels.
  EXPECT_LE(count(many, "v"), 3U * 500U + 200U);
  EXPECT_GT(count(many, "v"), 300U);
}

TEST(Chart, AxesAreLabelledAsTheScriptLabelsThem) {
  std::ifstream file(std::string(PLATETALLY_TESTDATA) + "/axis-ticks.json");
  const auto cases = nlohmann::json::parse(file);
  for (const auto& one : cases["up_to"]) {
    const std::vector<double> ticks = ticks_up_to(one[0], one[1]);
    ASSERT_EQ(ticks.size(), one[2].size()) << one;
    for (std::size_t i = 0; i < ticks.size(); ++i)
      EXPECT_NEAR(ticks[i], one[2][i].get<double>(), 1e-9) << one;
  }
  const auto words_of = [](const Chart& chart, int count) {
    std::vector<std::string> words;
    for (const auto& tick : axis_ticks(chart, count))
      words.push_back(tick.second);
    return words;
  };
  for (const auto& one : cases["time_s"]) {
    Chart chart;
    chart.axis = ChartAxis::time;
    chart.edges = {one[0], one[1]};
    EXPECT_EQ(words_of(chart, one[2]), one[3].get<std::vector<std::string>>()) << one;
  }
  for (const auto& one : cases["layers"]) {
    Chart chart;
    for (int i = 0; i <= one[0].get<int>(); ++i) {
      chart.edges.push_back(i);
      chart.layer_index.push_back(i);
    }
    chart.edges.push_back(one[0].get<int>() + 1);
    EXPECT_EQ(words_of(chart, one[1]), one[2].get<std::vector<std::string>>()) << one;
  }
}

TEST(Plate, ShowsTheZonesWhatLiesThereAndTheBetterPlace) {
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
  std::string drawing = drawn_plate(account);
  EXPECT_NE(drawing.find("12.3 Wh"), std::string::npos);
  EXPECT_NE(drawing.find(">off<"), std::string::npos);
  EXPECT_EQ(count(drawing, "class=\"laid\""), 1U);
  EXPECT_EQ(drawing.find("class=\"place\""), std::string::npos);
  EXPECT_EQ(drawing.find("class=\"tower\""), std::string::npos);
  account.bed_picture.shift_x_mm = 30.0;
  account.tower.verdict = "tower";
  account.tower.x_max_mm = account.tower.y_max_mm = 30.0;
  drawing = drawn_plate(account);
  EXPECT_EQ(count(drawing, "class=\"place\""), 1U);
  EXPECT_EQ(count(drawing, "class=\"tower\""), 1U);
  EXPECT_NE(key_of_plate(account).find("prime tower"), std::string::npos);
  EXPECT_TRUE(drawn_plate(Account()).empty());
  EXPECT_EQ(map_step(0.0, 5.0), 0);
  EXPECT_EQ(map_step(0.1, 5.0), 1);
  EXPECT_EQ(map_step(5.0, 5.0), 3);
}

TEST(Plate, OneZoneIsNoMapButWhatLiesThereIsShown) {
  Account account;
  account.bed_picture.bed_width_mm = account.bed_picture.bed_depth_mm = 200.0;
  account.bed_picture.columns = account.bed_picture.rows = 80;
  account.bed_picture.laid.assign(6400, 0);
  account.bed_picture.laid[10 * 80 + 10] = 1;
  BedZoneAccount zone;
  zone.energy_wh = 80.0;
  account.bed_zones = {zone};
  const std::string drawing = drawn_plate(account);
  EXPECT_NE(drawing.find("tile one"), std::string::npos);
  EXPECT_EQ(drawing.find("Wh"), std::string::npos);
  EXPECT_EQ(count(drawing, "class=\"laid\""), 1U);
}

/// Two squares of a label, of a white and an unknown filament, beside purge of the first.
Account with_areas() {
  Account account = account_with(4);
  account.bed_picture.bed_width_mm = account.bed_picture.bed_depth_mm = 200.0;
  account.bed_picture.columns = account.bed_picture.rows = 80;
  account.bed_picture.laid.assign(6400, 0);
  ToolAccount white, unknown;
  white.colour = "white";
  unknown.tool = 1;
  unknown.colour = "<b>moss";
  account.tools = {white, unknown};
  const auto square = [](double x_mm, double side_mm) {
    return std::vector<std::vector<std::array<double, 2>>>{
        {{x_mm, 20}, {x_mm + side_mm, 20}, {x_mm + side_mm, 20 + side_mm}, {x_mm, 20 + side_mm}}};
  };
  PlatePicture picture;
  picture.areas = {{AreaUse::purge, 0, 0, square(150, 10)},
                   {AreaUse::part, 0, 1, square(20, 30)},
                   {AreaUse::part, 1, 2, square(60, 30)}};
  picture.outlines = {{AreaUse::part, -1, 1, square(20, 30)},
                      {AreaUse::part, -1, 2, square(60, 30)}};
  account.plate_picture = picture;
  picture.at_mm = 0.6;
  account.layer_picture = picture;
  for (const char* name : {"object 1", "<i>fern"}) {
    ObjectAccount object;
    object.number = account.objects.size() + 1;
    object.name = name;
    object.part_g = 7.25;
    account.objects.push_back(object);
  }
  return account;
}

TEST(Plate, AreasHaveTheColoursOfTheirFilamentsAndPurgeIsHatched) {
  const Account account = with_areas();
  const std::string drawing = drawn_plate(account);
  EXPECT_EQ(count(drawing, "class=\"area\" fill=\"#"), 2U);
  EXPECT_EQ(count(drawing, "class=\"area hue h-2\""), 1U);
  EXPECT_EQ(count(drawing, "fill=\"url(#purge)\""), 1U);
  EXPECT_EQ(count(drawing, "class=\"outline\""), 2U);
  EXPECT_EQ(count(drawing, "class=\"number\""), 2U);
  EXPECT_EQ(count(drawing, "class=\"laid\""), 0U);
  const std::string key = key_of_plate(account);
  EXPECT_NE(key.find("tool 0, white"), std::string::npos);
  EXPECT_NE(key.find("tool 1, &lt;b&gt;moss"), std::string::npos);
  EXPECT_NE(key.find("hatched: purge"), std::string::npos);
}

TEST(Plate, NumbersThatWouldLieOnOtherWordsAreLeftOut) {
  WordPlaces places;
  EXPECT_TRUE(places.take(100, 100, "12", true));
  EXPECT_FALSE(places.take(104, 104, "13", true));
  EXPECT_TRUE(places.take(140, 100, "13", true));
}

/// Two by two zones on a bed of 200 mm: 11, 12, 13 Wh, and one that is off.
Account with_zones() {
  Account account = account_with(4);
  account.bed_picture.bed_width_mm = account.bed_picture.bed_depth_mm = 200.0;
  account.bed_picture.columns = account.bed_picture.rows = 80;
  account.bed_picture.laid.assign(6400, 0);
  for (int i = 0; i < 4; ++i) {
    BedZoneAccount zone;
    zone.row = i / 2;
    zone.column = i % 2;
    zone.energy_wh = i == 3 ? 0.0 : 11.0 + i;
    zone.active_s = i < 2 ? 100.0 : 0.0;
    account.bed_zones.push_back(zone);
  }
  return account;
}

double x_of(const std::string& drawing, const std::string& words) {
  const std::size_t end = drawing.find(">" + words + "<");
  const std::size_t from = drawing.rfind("x=\"", end);
  return end == std::string::npos ? -1.0 : std::stod(drawing.substr(from + 3));
}

TEST(Plate, WordsOfAZoneLieInACornerWhereNoObjectDoes) {
  Account account = with_zones();
  const std::string bare = drawn_plate(account);
  const double left = x_of(bare, "13.0 Wh");
  EXPECT_GT(left, 0.0);
  EXPECT_GT(x_of(bare, "12.0 Wh"), left + 100.0);
  const auto box = [](double x_mm, double y_mm, double to_x_mm, double to_y_mm) {
    return PictureArea{AreaUse::part,
                       -1,
                       1,
                       {{{x_mm, y_mm}, {to_x_mm, y_mm}, {to_x_mm, to_y_mm}, {x_mm, to_y_mm}}}};
  };
  PlatePicture picture;
  picture.outlines = {box(0, 160, 30, 200), box(102, 2, 198, 98)};
  account.plate_picture = picture;
  const std::string drawing = drawn_plate(account);
  EXPECT_EQ(x_of(drawing, "11.0 Wh"), left);
  EXPECT_GT(x_of(drawing, "13.0 Wh"), left + 60.0) << "in the other corner";
  EXPECT_EQ(x_of(drawing, "12.0 Wh"), -1.0) << "there is no room beside the object";
  const std::string key = key_of_plate(account);
  EXPECT_NE(key.find("warm: not heated itself, warmed by neighbours"), std::string::npos);
  EXPECT_NE(key.find("off: not heated"), std::string::npos);
}

TEST(Picture, SaysInWordsWhatItsColoursMean) {
  const Account account = with_areas();
  const std::string plate = to_svg(account);
  EXPECT_EQ(plate.find("<?xml"), 0U);
  EXPECT_EQ(count(plate, "<svg"), 1U);
  for (const char* words :
       {"tool 0, white", "tool 1, &lt;b&gt;moss", "hatched: purge", "X in mm (front edge)",
        "the whole plate from above", "2 &lt;i&gt;fern: 7.25 g"})
    EXPECT_NE(plate.find(words), std::string::npos) << words;
  PictureOptions options;
  options.of_layer = true;
  options.date = "2026-11-27";
  const std::string layer = to_svg(account, options);
  EXPECT_NE(layer.find("layer at 0.60 mm, from above; on changer; 2026-11-27"), std::string::npos);
  EXPECT_NE(layer.find("<g class=\"layer\">"), std::string::npos);
}

TEST(TallyPage, HasATableOfSeveralObjects) {
  Account account = with_areas();
  const std::string page = to_html(account);
  EXPECT_NE(page.find("Object by object"), std::string::npos);
  EXPECT_NE(page.find("2 &lt;i&gt;fern"), std::string::npos);
  EXPECT_NE(page.find("<tfoot>\n<tr><th scope=\"row\" class=\"w\">plate</th>"), std::string::npos);
  EXPECT_EQ(page.find("labour per plate"), std::string::npos) << "no prices";
  account.cost.emplace();
  account.cost->currency = "EUR";
  account.cost->labour = 1.0;
  account.objects[0].cost = 0.18749;
  account.objects[1].cost = 12.5;
  const std::string priced = to_html(account);
  for (const char* words :
       {">0.187<", ">12.50<", ">12.69<", "Labour per plate is shared", "<small>EUR</small>"})
    EXPECT_NE(priced.find(words), std::string::npos) << words;
  const std::string text = to_text(account, TextOptions{});
  for (const char* words : {"0.187", "12.50", "12.69", "EUR", "labour per plate is shared"})
    EXPECT_NE(text.find(words), std::string::npos) << words;
  account.objects.pop_back();
  EXPECT_EQ(to_html(account).find("Object by object"), std::string::npos);
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
  account.unaccounted = {{"<i>M9", 1, 1, "", ""}};
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
