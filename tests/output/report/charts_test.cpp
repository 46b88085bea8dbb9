// Charts as geometry: what a path encloses is what its values say, nothing is drawn outside its
// panel, ticks are round and far enough apart. Strips and bars of tables likewise.
#include "output/report/chart.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <cstdlib>
#include <set>

#include "output/report/page_table.hpp"
#include "output/report/strings.hpp"
#include "support/chance.hpp"
#include "support/json_schema.hpp"
#include "support/markup.hpp"

namespace platetally::report {
namespace {

using test::Element;
using test::Markup;

Chart one_panel(std::vector<ChartSeries> series, std::vector<double> edges) {
  Chart chart;
  chart.id = "c";
  chart.axis = ChartAxis::time;
  chart.edges = std::move(edges);
  chart.panels = {{"power", "W", std::move(series)}};
  return chart;
}

std::vector<double> edges_up_to(std::size_t count, double step) {
  std::vector<double> edges;
  for (std::size_t i = 0; i <= count; ++i)
    edges.push_back(step * static_cast<double>(i));
  return edges;
}

using Points = std::vector<std::array<double, 2>>;

/// Corners of a path of M, L, H, V, h, v and Z.
Points corners(const std::string& path) {
  Points points;
  double x = 0.0, y = 0.0;
  for (std::size_t i = 0; i < path.size();) {
    const char command = path[i++];
    const std::size_t end = std::min(path.find_first_of("MLHVhvZ", i), path.size());
    const std::string text = path.substr(i, end - i);
    i = end;
    char* rest = nullptr;
    const double first = std::strtod(text.c_str(), &rest);
    const double second = std::strtod(rest, nullptr);
    if (command == 'M' || command == 'L') {
      x = first;
      y = second;
    } else if (command == 'H' || command == 'h') {
      x = command == 'H' ? first : x + first;
    } else if (command == 'V' || command == 'v') {
      y = command == 'V' ? first : y + first;
    } else {
      continue;
    }
    points.push_back({x, y});
  }
  return points;
}

/// Of a closed ring, never below 0.
double area_of(const Points& ring) {
  double twice = 0.0;
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const auto& a = ring[i];
    const auto& b = ring[(i + 1) % ring.size()];
    twice += a[0] * b[1] - b[0] * a[1];
  }
  return 0.5 * std::abs(twice);
}

std::vector<std::string> paths_of_class(const Markup& markup, std::string_view css) {
  std::vector<std::string> paths;
  for (const Element* element : markup.of_class(css))
    if (element->name == "path")
      paths.push_back(element->get("d"));
  return paths;
}

class AnyChart : public testing::TestWithParam<unsigned> {
 protected:
  AnyChart() {
    test::Random random(GetParam());
    const std::size_t count = 5 + random.below(600);
    std::vector<ChartSeries> series;
    for (int i = 0; i < 3; ++i) {
      ChartSeries one{"series " + std::to_string(i), static_cast<Hue>(random.below(20)), {}};
      for (std::size_t k = 0; k < count; ++k)
        one.values.push_back(random.one_in(9) ? std::nan("") : random.real(0.0, 100.0));
      series.push_back(one);
    }
    chart_ = one_panel(std::move(series), edges_up_to(count, 60.0));
  }
  Chart chart_;
};

// Lower areas lie before higher ones, so the first path encloses all of the stack.
TEST_P(AnyChart, StackedAreasEncloseTheSumsOfTheirValues) {
  const Markup markup = test::read_markup(html_of(chart_));
  ASSERT_TRUE(markup.faults.empty()) << markup.faults[0];
  const std::vector<std::string> paths = paths_of_class(markup, "fill");
  ASSERT_EQ(paths.size(), 3U);
  const double shown = scale_of(chart_.panels[0], chart_.edges).shown;
  const std::size_t count = chart_.edges.size() - 1;
  // Beyond 500 columns neighbours share a bin, whose mean counts what is known of it alone.
  if (count > 500)
    return;
  double stack = 0.0;
  for (std::size_t s = 0; s < 3; ++s) {
    for (const double value : chart_.panels[0].series[s].values)
      stack += std::isfinite(value) ? value : 0.0;
    const double wanted = 1000.0 * 4.0 * 56.0 * stack / (shown * static_cast<double>(count));
    // Corners are whole: half a unit in height over the width, and half a unit a step.
    EXPECT_NEAR(area_of(corners(paths[2 - s])), wanted,
                500.0 + 448.0 / 2.0 * static_cast<double>(count))
        << "series " << s;
    EXPECT_NEAR(area_of(corners(paths[2 - s])) / wanted, 1.0, 0.02) << "series " << s;
  }
}

TEST_P(AnyChart, NothingIsDrawnOutsideThePanel) {
  const Markup markup = test::read_markup(html_of(chart_));
  for (const Element* path : markup.named("path"))
    for (const auto& [x, y] : corners(path->get("d"))) {
      EXPECT_GE(x, 0.0);
      EXPECT_LE(x, 1000.0);
      EXPECT_GE(y, 0.0);
      EXPECT_LE(y, 4.0 * 56.0);
    }
}

TEST_P(AnyChart, ItsDataAreItsValuesInFourDigits) {
  const test::Json json = test::Json::parse(json_of(chart_));
  for (std::size_t s = 0; s < 3; ++s) {
    const std::vector<double>& values = chart_.panels[0].series[s].values;
    const test::Json& shown = json["panels"][0]["series"][s]["values"];
    ASSERT_EQ(shown.size(), values.size());
    for (std::size_t i = 0; i < values.size(); ++i) {
      if (std::isnan(values[i])) {
        EXPECT_TRUE(shown[i].is_null());
      } else {
        EXPECT_NEAR(shown[i].get<double>(), values[i], 1e-3 * values[i]);
      }
    }
  }
  EXPECT_EQ(json["edges"].get<std::vector<double>>(), chart_.edges);
  EXPECT_EQ(json["axis"], "time");
}

TEST_P(AnyChart, TwiceTheValuesNeedTwiceTheScale) {
  const PanelScale scale = scale_of(chart_.panels[0], chart_.edges);
  for (ChartSeries& series : chart_.panels[0].series)
    for (double& value : series.values)
      value *= 2.0;
  const PanelScale twice = scale_of(chart_.panels[0], chart_.edges);
  EXPECT_NEAR(twice.most, 2.0 * scale.most, 1e-9);
  EXPECT_NEAR(twice.shown, 2.0 * scale.shown, 1e-9);
  EXPECT_EQ(twice.is_cut(), scale.is_cut());
}

INSTANTIATE_TEST_SUITE_P(Seeds, AnyChart, testing::Range(0U, 15U));

TEST(ChartShapes, ALineHasGapsWhereNothingIsKnown) {
  const Markup markup = test::read_markup(
      html_of(one_panel({{"w", Hue::measured, {1.0, std::nan(""), 3.0, 3.0}, SeriesShape::line}},
                        edges_up_to(4, 10.0))));
  const std::vector<std::string> paths = paths_of_class(markup, "line");
  ASSERT_EQ(paths.size(), 1U);
  EXPECT_EQ(std::ranges::count(paths[0], 'M'), 2);
  const Points points = corners(paths[0]);
  EXPECT_EQ(points.front()[0], 0.0);
  EXPECT_EQ(points.at(1)[0], 250.0) << "up to where it is no longer known";
  EXPECT_EQ(points.back()[0], 1000.0);
}

TEST(ChartShapes, ABandRunsForthAboveAndBackBelow) {
  const Markup markup = test::read_markup(
      html_of(one_panel({{"b", Hue::time, {10.0, 20.0, 10.0}, SeriesShape::band, {5.0, 10.0, 5.0}}},
                        {0.0, 1.0, 2.0})));
  const std::vector<std::string> paths = paths_of_class(markup, "haze");
  ASSERT_EQ(paths.size(), 1U);
  const Points ring = corners(paths[0]);
  ASSERT_EQ(ring.size(), 6U);
  EXPECT_EQ(ring[0][0], ring[5][0]);
  EXPECT_LT(ring[1][1], ring[4][1]) << "the high end is further up";
  // A trapezium of 5 and 10 high, twice, 500 units wide each.
  const double shown = 1.06 * 20.0;
  EXPECT_NEAR(area_of(ring), 2.0 * 500.0 * 7.5 / shown * 224.0, 1500.0);
}

TEST(ChartShapes, SpansOfALaneLieWhereTheyLast) {
  Chart chart;
  chart.axis = ChartAxis::time;
  const ChartLane first{"bench", {{0.0, 30.0, "a", Hue::first}, {60.0, 100.0, "b", Hue::second}}};
  const ChartLane second{"shelf", {{99.99, 100.0, "", Hue::third, "#f0c814"}}};
  chart.panels = {{"machines", "", {}, {first, second}}};
  chart.edges = {0.0, 100.0};
  const Markup markup = test::read_markup(html_of(chart));
  const std::vector<const Element*> rects = markup.of_class("lane");
  ASSERT_EQ(rects.size(), 3U);
  EXPECT_EQ(rects[0]->get("x"), "0");
  EXPECT_EQ(rects[0]->get("width"), "300");
  EXPECT_EQ(rects[1]->get("x"), "600");
  EXPECT_EQ(rects[1]->get("width"), "400");
  EXPECT_EQ(rects[2]->get("width"), "1") << "however short, it shows";
  EXPECT_EQ(rects[2]->get("fill"), "#f0c814");
  EXPECT_EQ(rects[0]->get("y"), rects[1]->get("y"));
  EXPECT_LT(std::stod(rects[1]->get("y")), std::stod(rects[2]->get("y")));
}

TEST(ChartShapes, MarksStandAtTheirMoment) {
  Chart chart = one_panel({{"w", Hue::bed, {1.0, 2.0}}}, {100.0, 200.0, 300.0});
  chart.marks = {{150.0, "the first layer <begins>"}};
  const Markup markup = test::read_markup(html_of(chart));
  const std::vector<const Element*> lines = markup.of_class("mark");
  ASSERT_EQ(lines.size(), 1U);
  EXPECT_EQ(lines[0]->get("x1"), "25.00%");
  EXPECT_EQ(markup.of_class("mark-words").at(0)->text, "the first layer &lt;begins&gt;");
}

TEST(ChartKeys, StandForAllPanelsWithTheSameSeries) {
  Chart chart = one_panel({{"bed", Hue::bed, {1.0}}, {"fans", Hue::fans, {1.0}}}, {0.0, 1.0});
  chart.panels.push_back(chart.panels[0]);
  chart.panels.push_back({"time", "s", {{"print", Hue::print, {1.0}}, {"swap", Hue::swap, {1.0}}}});
  const Markup markup = test::read_markup(html_of(chart));
  EXPECT_EQ(markup.of_class("key").size(), 2U) << "the second panel has the key of the first";
  std::multiset<std::string> hues;
  for (const Element& element : markup.elements)
    if (element.name == "i")
      hues.insert(element.get("class"));
  EXPECT_EQ(hues, (std::multiset<std::string>{"h-bed", "h-fans", "h-print", "h-swap"}));
}

TEST(ChartScale, PanelsOnOneScaleShowTheMostThatAnyNeeds) {
  Chart chart = one_panel({{"a", Hue::bed, {10.0, 20.0}}}, {0.0, 1.0, 2.0});
  chart.panels.push_back({"b", "W", {{"b", Hue::bed, {100.0, 90.0}}}});
  chart.panels.push_back({"empty", "W"});
  put_on_one_scale({&chart.panels[0], &chart.panels[1], &chart.panels[2]}, chart.edges);
  for (const ChartPanel& panel : chart.panels)
    EXPECT_DOUBLE_EQ(panel.shown, 1.06 * 100.0);
  EXPECT_FALSE(scale_of(chart.panels[0], chart.edges).is_cut());
  EXPECT_DOUBLE_EQ(scale_of(chart.panels[2], chart.edges).shown, 106.0);
}

TEST(ChartScale, OnlyWhatIsEverOtherThanZeroIsASeries) {
  ChartPanel panel{"p", "g"};
  add_if_any(panel, {"none", Hue::part, {0.0, -0.0}});
  add_if_any(panel, {"below", Hue::part, {0.0, -1.0}});
  add_if_any(panel, {"nothing", Hue::part, {}});
  ASSERT_EQ(panel.series.size(), 1U);
  EXPECT_EQ(panel.series[0].name, "below");
}

TEST(Ticks, AreRoundAndAsManyAsAskedForAboutly) {
  test::Random random(5);
  for (int i = 0; i < 500; ++i) {
    const double most = std::pow(10.0, random.real(-6.0, 9.0));
    const int count = random.whole(3, 8);
    const std::vector<double> ticks = ticks_up_to(most, count);
    ASSERT_GE(ticks.size(), 2U);
    EXPECT_EQ(ticks[0], 0.0);
    EXPECT_LE(ticks.back(), most);
    const double step = ticks[1];
    for (std::size_t k = 1; k < ticks.size(); ++k)
      EXPECT_NEAR(ticks[k], static_cast<double>(k) * step, 1e-9 * most);
    // Steps grow by 2.5 at most, so no fewer than two fifths of them.
    EXPECT_LE(ticks.size() - 1, static_cast<std::size_t>(count));
    EXPECT_GE(static_cast<double>(ticks.size() - 1) + 1.0, 0.4 * count);
    const double digit = step / std::pow(10.0, std::floor(std::log10(step * (1.0 + 1e-9))));
    EXPECT_TRUE(std::abs(digit - 1.0) < 1e-6 || std::abs(digit - 2.0) < 1e-6 ||
                std::abs(digit - 5.0) < 1e-6)
        << step;
  }
  EXPECT_EQ(ticks_up_to(0.0, 4), std::vector<double>{0.0});
  EXPECT_EQ(ticks_up_to(-1.0, 4), std::vector<double>{0.0});
  EXPECT_EQ(ticks_up_to(std::nan(""), 4), std::vector<double>{0.0});
  EXPECT_EQ(ticks_up_to(INFINITY, 4), std::vector<double>{0.0});
}

TEST(Ticks, OfAnyAxisRiseToItsEndAndDoNotTouchIt) {
  test::Random random(6);
  for (int i = 0; i < 300; ++i) {
    Chart chart;
    chart.axis = static_cast<ChartAxis>(random.below(4));
    const std::size_t count = 2 + random.below(400);
    const double step = chart.axis == ChartAxis::layer ? 1.0 : random.real(0.1, 900.0);
    chart.edges = edges_up_to(count, step);
    if (chart.axis == ChartAxis::layer)
      for (std::size_t k = 0; k < count; ++k)
        chart.layer_index.push_back(static_cast<double>(k));
    const auto ticks = axis_ticks(chart, 8);
    ASSERT_FALSE(ticks.empty());
    for (std::size_t k = 1; k < ticks.size(); ++k)
      EXPECT_LT(ticks[k - 1].first, ticks[k].first);
    EXPECT_LE(ticks.back().first, chart.edges.back());
    EXPECT_LE(ticks.size(), 25U);
    if (ticks.size() > 2 && ticks.back().first == chart.edges.back()) {
      EXPECT_GE(chart.edges.back() - ticks[ticks.size() - 2].first,
                1.3 * chart.edges.back() / 8.0 - 1e-9);
    }
  }
  EXPECT_TRUE(axis_ticks(Chart(), 8).empty());
}

TEST(Ticks, MomentsAreWrittenAsFinelyAsTheAxisNeeds) {
  EXPECT_EQ(time_labels(0.0, 600.0), TimeLabels::hours_minutes);
  EXPECT_EQ(time_labels(0.0, 599.0), TimeLabels::minutes_seconds);
  EXPECT_EQ(time_labels(7200.0, 7300.0), TimeLabels::all);
  EXPECT_EQ(time_words(3661.0, TimeLabels::all), "1:01:01");
  EXPECT_EQ(time_words(3661.0, TimeLabels::hours_minutes), "1:01");
  EXPECT_EQ(time_words(3690.0, TimeLabels::hours_minutes), "1:02") << "rounded";
  EXPECT_EQ(time_words(61.4, TimeLabels::minutes_seconds), "1:01");
  EXPECT_EQ(time_words(360000.0, TimeLabels::hours_minutes), "100:00");
}

TEST(Edges, OfLanesAreAllBeginningsAndEndsOnce) {
  const ChartLane lane{"a", {{3.0, 5.0, "", Hue::first}, {0.0, 3.0, "", Hue::first}}};
  EXPECT_EQ(edges_of({lane, {"b", {{1.0, 5.0, "", Hue::first}}}}),
            (std::vector<double>{0.0, 1.0, 3.0, 5.0}));
  EXPECT_TRUE(edges_of({}).empty());
}

TEST(TableStrip, BarsAreAsHighAsTheirValuesAndFillTheStrip) {
  PageTable table;
  table.columns = {words_column("plate"), {"purge", "g", false, false, true}};
  table.rows = {{{{"one"}, {"", std::nullopt, {1.0, 0.0, 4.0, 2.0}}}},
                {{{"two"}, {"", std::nullopt, {0.0, 0.0}}}},
                {{{"three"}, {"", std::nullopt, {}}}}};
  const std::string html = html_of(table);
  const Markup markup = test::read_markup(html);
  ASSERT_TRUE(markup.faults.empty());
  std::vector<const Element*> bars;
  for (const Element* rect : markup.named("rect"))
    bars.push_back(rect);
  ASSERT_EQ(bars.size(), 3U) << "what is nothing has no bar";
  const double heights[] = {4.5, 18.0, 9.0};
  const double lefts[] = {0.0, 48.0, 72.0};
  for (std::size_t i = 0; i < 3; ++i) {
    EXPECT_NEAR(std::stod(bars[i]->get("height")), heights[i], 0.051);
    EXPECT_NEAR(std::stod(bars[i]->get("x")), lefts[i], 0.051);
    EXPECT_NEAR(std::stod(bars[i]->get("y")) + std::stod(bars[i]->get("height")), 18.0, 0.11);
  }
  std::size_t none = 0;
  for (const Element* soft : markup.of_class("soft"))
    none += soft->text == "none" ? 1 : 0;
  EXPECT_EQ(none, 2U);
}

TEST(TableParts, SumsStandInTheFootAndMarksBesideTheName) {
  PageTable table;
  table.columns = {words_column("plate"), {"purge", "g"}};
  table.rows = {{{{"one"}, {"1.00", 1.0}}, "over <limit>"},
                {{{"two"}, {"2.00", 2.0}}, "", true},
                {{{"all"}, {"3.00", 3.0}}, "", false, true}};
  table.filter = "plates";
  table.is_sortable = true;
  const Markup markup = test::read_markup(html_of(table));
  ASSERT_TRUE(markup.faults.empty());
  const Element& frame = *markup.named("table").at(0);
  EXPECT_TRUE(frame.has("data-sort"));
  EXPECT_EQ(frame.get("data-filter"), "plates");
  EXPECT_EQ(markup.of_class("mark").at(0)->text, "over &lt;limit&gt;");
  EXPECT_EQ(markup.of_class("over").size(), 1U);
  EXPECT_EQ(markup.of_class("chosen").size(), 1U);
  std::size_t in_foot = 0;
  for (const Element* row : markup.named("tr"))
    in_foot += markup.lies_in(*row, "tfoot") ? 1 : 0;
  EXPECT_EQ(in_foot, 1U);
}

TEST(TableParts, PlainRowsAreTheirTexts) {
  const PageTable table = plain_table({words_column("a"), {"b", "W"}}, {{"x", "1"}, {"y", "2"}});
  ASSERT_EQ(table.rows.size(), 2U);
  EXPECT_EQ(table.rows[1].cells[0].text, "y");
  EXPECT_FALSE(table.rows[1].cells[1].value.has_value());
}

}  // namespace
}  // namespace platetally::report
