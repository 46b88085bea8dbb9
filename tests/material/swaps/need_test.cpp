#include "material/swaps/need.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

namespace platetally::swaps {
namespace {

using nlohmann::json;

json given() {
  std::ifstream file(std::string(PLATETALLY_TESTDATA) + "/checks/need_pairs.json");
  return json::parse(file);
}

std::map<std::string, Rgb> colours_of(const json& data) {
  std::map<std::string, Rgb> colours;
  for (const auto& [name, rgb] : data["colors_srgb"].items())
    colours[name] = {rgb[0].get<std::uint8_t>(), rgb[1].get<std::uint8_t>(),
                     rgb[2].get<std::uint8_t>()};
  return colours;
}

// The figures were made with a white that differs by up to 2e-5 in its shares. Target and mixture
// move alike, which leaves about 3e-4 of their difference of 2, and c is nearly proportional to
// that.
constexpr double kShareError = 5e-4;
// The figures take a colour's light as it is.
constexpr Reflectances kAsSeen{0.0, 1.0};

TEST(Need, ToleratedShareOfFiftySixPairs) {
  const json data = given();
  const auto colours = colours_of(data);
  ASSERT_EQ(data["cstar_KM1_T2"].size(), 56u);
  for (const auto& [pair, share] : data["cstar_KM1_T2"].items()) {
    SCOPED_TRACE(pair);
    const std::size_t split = pair.find('>');
    const double found = tolerated_share(colours.at(pair.substr(0, split)),
                                         colours.at(pair.substr(split + 1)), 2.0, kAsSeen);
    EXPECT_NEAR(found / share.get<double>(), 1.0, kShareError);
  }
}

TEST(Need, MatricesBaseAndCalibrated) {
  const json data = given();
  const struct {
    const char* name;
    NeedModel model;
  } rows[] = {
      {"matrix_mm3_base", {75.0, 0.0, 1.0, 2.0, kAsSeen}},
      {"matrix_mm3_calibrated", {75.0, data["calib"]["Vp"], data["calib"]["m"], 2.0, kAsSeen}},
  };
  std::vector<std::string> names;
  std::vector<Rgb> colours;
  for (const auto& [name, colour] : colours_of(data)) {
    names.push_back(name);
    colours.push_back(colour);
  }
  for (const auto& row : rows) {
    ASSERT_EQ(names.size(), 8u);
    for (std::size_t i = 0; i < names.size(); ++i)
      for (std::size_t j = 0; j < names.size(); ++j) {
        SCOPED_TRACE(std::string(row.name) + " " + names[i] + " to " + names[j]);
        // V changes by m V0 times the relative change of the share.
        EXPECT_NEAR(i == j ? 0.0 : need_mm3(colours[i], colours[j], row.model),
                    data[row.name][names[i]][names[j]].get<double>(),
                    row.model.margin * 75.0 * kShareError);
      }
  }
}

/// What practice purges, common practice without a source: 430 to 700 mm3 for four usual colours in
/// the mean, 70 to 700 for a pair.
TEST(Need, DefaultsLieInsideWhatPracticeDoes) {
  const json data = given();
  const auto colours = colours_of(data);
  std::vector<Rgb> four;
  for (const json& name : data["calib"]["set"])
    four.push_back(colours.at(name));
  double sum = 0.0;
  for (std::size_t from = 0; from < four.size(); ++from)
    for (std::size_t to = 0; to < four.size(); ++to)
      sum += from == to ? 0.0 : need_mm3(four[from], four[to], NeedModel{});
  EXPECT_GT(sum / 12.0, 430.0);
  EXPECT_LT(sum / 12.0, 700.0);
  // Every pair of six levels a channel. The few above 700 mm3 go from a screen's purest colours to
  // its white, which no filament is.
  std::vector<Rgb> all;
  for (int i = 0; i < 216; ++i)
    all.push_back({static_cast<std::uint8_t>(51 * (i / 36)),
                   static_cast<std::uint8_t>(51 * (i / 6 % 6)),
                   static_cast<std::uint8_t>(51 * (i % 6))});
  std::size_t above = 0;
  for (const Rgb from : all)
    for (const Rgb to : all) {
      if (from == to)
        continue;
      const double need = need_mm3(from, to, NeedModel{});
      EXPECT_GE(need, 70.0);
      EXPECT_LE(need, 710.0);
      above += need > 700.0;
    }
  EXPECT_LE(above, 10U);  // of 46,440
}

TEST(Need, ASmallChangeOfAColourIsASmallChangeOfNeed) {
  const Rgb black = *parse_colour("black");
  const double usual = need_mm3(black, {230, 230, 230}, {});
  for (const int step : {-10, 10}) {
    const auto level = static_cast<std::uint8_t>(230 + step);
    EXPECT_NEAR(need_mm3(black, {level, level, level}, {}) / usual, 1.0, 1.0 / 6.0);
  }
}

TEST(Need, DarkToLightNeedsMost) {
  const Rgb black = *parse_colour("black");
  const Rgb white = *parse_colour("white");
  EXPECT_GT(need_mm3(black, white, {}), 1.5 * need_mm3(white, black, {}));
}

TEST(Need, AlikeColoursNeedTheDeadVolume) {
  const Rgb grey{135, 138, 140};
  const NeedModel model;
  EXPECT_DOUBLE_EQ(need_mm3(grey, grey, model), model.margin * model.dead_mm3);
  EXPECT_DOUBLE_EQ(need_mm3(grey, {136, 139, 141}, model), model.margin * model.dead_mm3);
  EXPECT_GT(need_mm3(grey, {150, 153, 155}, model), model.margin * model.dead_mm3);
}

TEST(Need, FallsWithTheTolerance) {
  const Rgb red = *parse_colour("red");
  const Rgb white = *parse_colour("white");
  double before = 1e9;
  for (const double tolerance : {0.5, 1.0, 2.0, 4.0, 8.0}) {
    const double need = need_mm3(red, white, {75.0, 60.0, 1.42, tolerance, {}});
    EXPECT_LT(need, before);
    before = need;
  }
}

TEST(Need, BrightestAndDarkestColoursStayInReach) {
  // The share from #000000 to #ffffff is more than e^-16, where the search begins.
  const double share = tolerated_share({0, 0, 0}, {255, 255, 255}, 2.0, kAsSeen);
  EXPECT_GT(share, 1e-6);
  EXPECT_LT(share, 1e-3);
  const double primary = need_mm3({255, 0, 0}, {0, 255, 0}, {});
  EXPECT_TRUE(std::isfinite(primary));
}

TEST(Need, MixesAsAbsorptionAndScatteringAdd) {
  const LinearRgb dark{0.01, 0.2, 0.5};
  const LinearRgb light{0.9, 0.2, 0.6};
  const auto ks = [](double r) { return (1.0 - r) * (1.0 - r) / (2.0 * r); };
  for (const double share : {0.0, 0.001, 0.3, 1.0}) {
    const LinearRgb found = mix(dark, light, share);
    for (std::size_t i = 0; i < 3; ++i)
      EXPECT_NEAR(ks(found[i]) / (share * ks(dark[i]) + (1.0 - share) * ks(light[i])), 1.0, 1e-12);
  }
}

TEST(Need, TwoMeasuredPairsGiveTheModelBack) {
  const NeedModel truth{93.0, 41.0, 1.2, 2.0, {}};
  const Rgb black = *parse_colour("black");
  const Rgb white = *parse_colour("white");
  const NeedFit fit = fit_need({{black, white, need_mm3(black, white, truth)},
                                {white, black, need_mm3(white, black, truth)}},
                               {75.0, 60.0, 1.2, 2.0, {}});
  ASSERT_TRUE(fit.model) << fit.fault;
  EXPECT_NEAR(fit.model->washout_mm3, 93.0, 1e-9);
  EXPECT_NEAR(fit.model->dead_mm3, 41.0, 1e-9);
  EXPECT_EQ(fit.model->margin, 1.2);
}

TEST(Need, SaysWhyTwoPairsGiveNoModel) {
  const Rgb black = *parse_colour("black");
  const Rgb white = *parse_colour("white");
  const struct {
    MeasuredNeed one, other;
    const char* fault;
  } rows[] = {
      {{black, white, 700.0}, {black, white, 700.0}, "same dilution"},
      {{black, white, 200.0}, {white, black, 700.0}, "less purge"},
      {{black, white, 700.0}, {white, black, 10.0}, "more than dilution"},
  };
  for (const auto& row : rows) {
    const NeedFit fit = fit_need({row.one, row.other}, {});
    EXPECT_FALSE(fit.model);
    EXPECT_NE(fit.fault.find(row.fault), std::string::npos) << fit.fault;
  }
}

}  // namespace
}  // namespace platetally::swaps
