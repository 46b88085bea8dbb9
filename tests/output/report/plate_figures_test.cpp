// The four figures of a plate, its levers and its charts: parts are as large as what the account
// says, the same thing has the same hue wherever it is shown.
#include "output/report/plate_figures.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <numeric>
#include <set>
#include <string>

#include "output/report/account.hpp"
#include "output/report/random_account.hpp"
#include "output/report/strings.hpp"
#include "output/report/tally_charts.hpp"

namespace platetally::report {
namespace {

double sum_of(const std::vector<FigurePart>& parts) {
  double sum = 0.0;
  for (const FigurePart& part : parts)
    sum += part.amount;
  return sum;
}

class OfAnyPlate : public testing::TestWithParam<unsigned> {
 protected:
  const Account account_ = test::random_account(GetParam());
};

TEST_P(OfAnyPlate, PartsAddUpAndTheLargestComesFirst) {
  const auto expect_parts = [](const std::vector<FigurePart>& parts, double whole) {
    EXPECT_NEAR(sum_of(parts), whole, 1e-9 * (1.0 + whole));
    EXPECT_TRUE(std::ranges::is_sorted(parts, std::ranges::greater{}, &FigurePart::amount));
    for (const FigurePart& part : parts)
      EXPECT_GT(part.amount, 0.0) << "what is nothing is left out";
  };
  expect_parts(parts_of_time(account_.totals.time_by), account_.totals.time_by.sum_s());
  expect_parts(parts_of_energy(account_.totals.energy_by), account_.totals.energy_by.sum_wh());
  if (account_.cost)
    expect_parts(parts_of_cost(*account_.cost), account_.cost->total());
  const std::vector<Figure> figures = plate_figures(account_);
  ASSERT_EQ(figures.size(), 4U);
  const Totals& totals = account_.totals;
  expect_parts(figures[1].parts, totals.part_g + totals.purge_g + totals.start_up_g);
  EXPECT_EQ(figures[3].name, account_.cost ? "Cost" : "Swaps");
}

TEST_P(OfAnyPlate, OneThingHasOneHueInFiguresAndCharts) {
  std::map<std::string, Hue> hues;
  for (const FigurePart& part : parts_of_energy(account_.totals.energy_by))
    hues[part.name] = part.hue;
  for (const FigurePart& part : parts_of_time(account_.totals.time_by))
    hues[part.name] = part.hue;
  std::size_t compared = 0;
  for (const Chart& chart : {layer_chart(account_), power_chart(account_)})
    for (const ChartPanel& panel : chart.panels)
      for (const ChartSeries& series : panel.series)
        if (const auto known = hues.find(series.name); known != hues.end()) {
          EXPECT_EQ(series.hue, known->second) << series.name;
          ++compared;
        }
  if (account_.layers.size() > 2) {
    EXPECT_GT(compared, 3U);
  }
}

TEST_P(OfAnyPlate, SeriesOverLayersAddUpToTheLayers) {
  const Chart chart = layer_chart(account_);
  TimeBy time;
  double purge_g = 0.0, energy_wh = 0.0;
  for (const LayerAccount& layer : account_.layers) {
    time += layer.time_by;
    purge_g += layer.purge_g + layer.start_up_g;
    energy_wh += layer.energy_by.sum_wh();
  }
  std::set<std::string> titles;
  for (const ChartPanel& panel : chart.panels) {
    titles.insert(panel.title);
    double sum = 0.0;
    for (const ChartSeries& series : panel.series) {
      EXPECT_EQ(series.values.size(), account_.layers.size());
      sum += std::accumulate(series.values.begin(), series.values.end(), 0.0);
    }
    if (panel.title == "time") {
      EXPECT_NEAR(sum, time.sum_s(), 1e-9 * (1.0 + time.sum_s()));
    }
    if (panel.title == "energy") {
      EXPECT_NEAR(sum, energy_wh, 1e-9 * (1.0 + energy_wh));
    }
    if (panel.title == "purge") {
      EXPECT_LE(sum, purge_g * (1.0 + 1e-9));
    }
  }
  if (account_.layers.size() > 2) {
    EXPECT_TRUE(titles.contains("time") && titles.contains("energy"));
  }
}

TEST_P(OfAnyPlate, EachToolHasALaneWithTheLayersItPrintsIn) {
  const Chart chart = layer_chart(account_);
  int panels = 0;
  for (const ChartPanel& panel : chart.panels) {
    if (panel.title != "tools")
      continue;
    ++panels;
    std::size_t layers = 0, wanted = 0;
    for (const ChartLane& lane : panel.lanes) {
      for (std::size_t i = 0; i < lane.spans.size(); ++i) {
        layers += static_cast<std::size_t>(lane.spans[i].to - lane.spans[i].from);
        if (i > 0) {
          EXPECT_LT(lane.spans[i - 1].to, lane.spans[i].from) << "neighbours are one span";
        }
      }
    }
    for (const ToolAccount& tool : account_.tools)
      for (const LayerAccount& layer : account_.layers)
        wanted += std::ranges::find(layer.order, tool.tool) != layer.order.end() ? 1 : 0;
    EXPECT_EQ(layers, wanted);
  }
  const auto prints = [this](const ToolAccount& tool) {
    return std::ranges::any_of(account_.layers, [&](const LayerAccount& layer) {
      return std::ranges::find(layer.order, tool.tool) != layer.order.end();
    });
  };
  EXPECT_EQ(panels, std::ranges::count_if(account_.tools, prints) > 1 ? 1 : 0);
}

TEST_P(OfAnyPlate, PowerOverTimeHoldsTheEnergy) {
  const Chart chart = power_chart(account_);
  double wanted_wh = 0.0;
  for (const PowerSample& sample : account_.power)
    wanted_wh += sample.energy.sum_wh();
  double wh = 0.0;
  for (const ChartPanel& panel : chart.panels)
    for (const ChartSeries& series : panel.series)
      for (std::size_t i = 0; i + 1 < chart.edges.size(); ++i)
        wh += series.values.at(i) * (chart.edges[i + 1] - chart.edges[i]) / 3600.0;
  EXPECT_NEAR(wh, wanted_wh, 1e-9 * (1.0 + wanted_wh));
}

INSTANTIATE_TEST_SUITE_P(Seeds, OfAnyPlate, testing::Range(0U, 20U));

TEST(Figures, SayTheirBandWhereItShows) {
  Account account = test::labels_account();
  account.totals.time = {3600.0, 4000.0, 4400.0};
  std::vector<Figure> figures = plate_figures(account);
  EXPECT_EQ(figures[0].value, "1 h 7 min");
  ASSERT_TRUE(figures[0].band.has_value());
  EXPECT_EQ(figures[0].band->text, "1 h 0 min to 1 h 13 min");
  account.totals.time = {4000.0, 4000.0, 4001.0};
  figures = plate_figures(account);
  EXPECT_FALSE(figures[0].band.has_value()) << "both ends would be shown alike";
}

TEST(Figures, MaterialSaysWhatTheColoursNeed) {
  Account account;
  account.totals.part_g = 75.0;
  account.totals.purge_g = 25.0;
  SwapPairAccount pair;
  pair.to = 1;
  account.swap_pairs = {pair};
  const auto material = [&] { return plate_figures(account)[1]; };
  EXPECT_EQ(material().value, "100 g");
  EXPECT_EQ(material().aside, "25 % of it purge");
  EXPECT_EQ(material().remark, "what the colours need is not known: name them");
  account.swap_pairs[0].needed_g = 12.5;
  EXPECT_EQ(material().remark, "the colours need 12.5 g of purge");
  account.swap_pairs[0].needed_g = 0.0;
  EXPECT_EQ(material().remark, "separate heads: no colour to flush");
  account.totals.purge_g = 0.0;
  EXPECT_EQ(material().remark, "");
  EXPECT_EQ(material().aside, "");
}

TEST(Figures, ThreePairsThatSwapMostAreShown) {
  Account account;
  account.totals.swaps = 10;
  account.totals.time_by.swap_s = 50.0;
  for (int i = 0; i < 4; ++i) {
    SwapPairAccount pair;
    pair.from = i;
    pair.to = i + 1;
    pair.count = static_cast<std::uint64_t>(i == 2 ? 9 : i);
    account.swap_pairs.push_back(pair);
  }
  const Figure swaps = plate_figures(account)[3];
  EXPECT_EQ(swaps.value, "10");
  EXPECT_EQ(swaps.aside, "5.00 s each");
  ASSERT_EQ(swaps.beside.size(), 3U);
  EXPECT_EQ(swaps.beside[0].name, "2 to 3");
  EXPECT_EQ(swaps.beside[1].name, "3 to 4");
  account.totals.swaps = 0;
  EXPECT_EQ(plate_figures(account)[3].remark, "one tool from the first layer to the last");
}

TEST(Figures, CostSaysWhatIsWastedAndNotCounted) {
  Account account;
  account.cost.emplace();
  account.cost->currency = "EUR";
  account.cost->part_filament = 4.0;
  account.cost->purge_filament = 1.0;
  account.cost->failures = 0.5;
  account.cost->per_good_part = 5.5;
  Figure cost = plate_figures(account)[3];
  EXPECT_EQ(cost.value, "5.50 EUR");
  EXPECT_EQ(cost.aside, "1.50 wasted");
  EXPECT_EQ(cost.remark, "") << "one part is the plate";
  account.cost->per_good_part = 1.375;
  account.cost->not_counted = {"energy", "the machine's price"};
  cost = plate_figures(account)[3];
  EXPECT_EQ(cost.remark, "1.38 EUR a good part; not counted: energy, the machine's price");
}

TEST(Levers, TellGainsAndLossesApart) {
  Account account = test::labels_account();
  account.totals.time.expected = 3600.0;
  Finding finding;
  finding.code = "cheaper-order";
  finding.advice = "print in another order";
  finding.tried = true;
  finding.saves_time_s = 600.0;
  finding.saves_purge_g = -2.5;
  account.findings = {finding};
  const std::vector<Lever> levers = levers_of(account);
  ASSERT_EQ(levers.size(), 1U);
  EXPECT_EQ(levers[0].gains, std::vector<std::string>{"\xE2\x88\x92"
                                                      "10 min 0 s"});
  EXPECT_EQ(levers[0].losses, std::vector<std::string>{"+2.50 g"});
  EXPECT_FALSE(levers[0].is_minor);
}

TEST(Paint, OnlyPlainWordsAndHexadecimalReachTheDrawing) {
  EXPECT_EQ(paint_of("black"), "black");
  EXPECT_EQ(paint_of("#f0C814"), "#f0C814");
  for (const char* text : {"", "moss", "Black", "#f0c81", "#f0c8144", "#f0c81g", "black\"",
                           "url(#purge)", "red;fill:blue"})
    EXPECT_EQ(paint_of(text), "") << text;
}

TEST(ToolName, HasTheColourBehindTheNumberWhereItIsKnown) {
  const Account account = test::labels_account();
  EXPECT_EQ(tool_name(account, 0), "0 moss green");
  EXPECT_EQ(tool_name(account, 4), "4");
  EXPECT_EQ(tool_name(account, 9), "9");
}

}  // namespace
}  // namespace platetally::report
