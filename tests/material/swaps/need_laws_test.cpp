// What a change of colour needs: how it scales, what wins over what, and that what is left over
// falls with what is purged.
#include <gtest/gtest.h>

#include <algorithm>

#include <cmath>
#include <random>

#include "material/swaps/left_over.hpp"
#include "material/swaps/need.hpp"
#include "material/swaps/pair_need.hpp"

namespace platetally::swaps {
namespace {

Rgb any_colour(std::mt19937& random) {
  const auto channel = [&random] { return static_cast<std::uint8_t>(random() % 256); };
  const std::uint8_t red = channel(), green = channel(), blue = channel();
  return {red, green, blue};
}

TEST(NeedLaws, VolumesScaleAndTheMarginIsOnAll) {
  std::mt19937 random(12);
  for (int round = 0; round < 30; ++round) {
    const Rgb from = any_colour(random), to = any_colour(random);
    NeedModel model;
    const double once_mm3 = need_mm3(from, to, model);
    EXPECT_GE(once_mm3, model.margin * model.dead_mm3);
    NeedModel larger = model;
    larger.washout_mm3 *= 3.0;
    larger.dead_mm3 *= 3.0;
    EXPECT_NEAR(need_mm3(from, to, larger), 3.0 * once_mm3, 1e-9 * once_mm3);
    NeedModel safer = model;
    safer.margin *= 2.0;
    EXPECT_NEAR(need_mm3(from, to, safer), 2.0 * once_mm3, 1e-9 * once_mm3);
    // Washout and dead volume add up.
    NeedModel washout = model, dead = model;
    washout.dead_mm3 = 0.0;
    dead.washout_mm3 = 1e-12;
    EXPECT_NEAR(need_mm3(from, to, washout) + need_mm3(from, to, dead), once_mm3, 1e-6);
  }
}

TEST(NeedLaws, AMixtureRunsFromTheNewColourToTheOld) {
  std::mt19937 random(13);
  for (int round = 0; round < 50; ++round) {
    const LinearRgb from = as_filament(any_colour(random), {});
    const LinearRgb to = as_filament(any_colour(random), {});
    for (std::size_t channel = 0; channel < 3; ++channel) {
      EXPECT_NEAR(mix(from, to, 0.0)[channel], to[channel], 1e-12);
      EXPECT_NEAR(mix(from, to, 1.0)[channel], from[channel], 1e-12);
      double before = to[channel];
      for (const double share : {0.01, 0.1, 0.3, 0.6, 0.9}) {
        const double now = mix(from, to, share)[channel];
        EXPECT_GE((now - before) * (from[channel] - to[channel]), -1e-15) << "always nearer to it";
        before = now;
      }
      EXPECT_NEAR(mix(from, to, 0.3)[channel], mix(to, from, 0.7)[channel], 1e-12);
    }
  }
}

TEST(NeedLaws, AsFilamentStaysWithinWhatFilamentReflects) {
  std::mt19937 random(14);
  const Reflectances reflectances{0.1, 0.6};
  for (int round = 0; round < 100; ++round)
    for (const double channel : as_filament(any_colour(random), reflectances)) {
      EXPECT_GE(channel, 0.1);
      EXPECT_LE(channel, 0.6);
    }
  EXPECT_EQ(as_filament({0, 0, 0}, reflectances), (LinearRgb{0.1, 0.1, 0.1}));
  EXPECT_NEAR(as_filament({255, 255, 255}, reflectances)[0], 0.6, 1e-12);
}

TEST(NeedLaws, TheToleratedShareIsTheFirstThatIsSeen) {
  std::mt19937 random(15);
  for (int round = 0; round < 40; ++round) {
    const Rgb from = any_colour(random), to = any_colour(random);
    const double share = tolerated_share(from, to, 2.0);
    const LinearRgb clean = as_filament(to, {});
    const auto seen = [&](double of_old) {
      return delta_e00(lab_of(mix(as_filament(from, {}), clean, of_old)), lab_of(clean));
    };
    if (share < 1.0) {
      EXPECT_NEAR(seen(share), 2.0, 1e-6);
    } else {
      EXPECT_LE(seen(1.0), 2.0);
    }
    for (double part = 0.05; part < 1.0; part += 0.05)
      EXPECT_LE(seen(part * share), 2.0 + 1e-6) << part;
  }
}

TEST(LeftOverLaws, MorePurgeLeavesLess) {
  std::mt19937 random(16);
  const NeedModel model;
  for (int round = 0; round < 20; ++round) {
    double before = 1.0;
    for (double purged_mm3 = 0.0; purged_mm3 < 1000.0; purged_mm3 += 40.0) {
      const double left = share_left(purged_mm3, model);
      EXPECT_LE(left, before);
      EXPECT_GT(left, 0.0);
      before = left;
    }
    // Two purges behind the dead volume are as one of their sum.
    const double a = 1.0 + static_cast<double>(random() % 300);
    const double b = 1.0 + static_cast<double>(random() % 300);
    EXPECT_NEAR(share_left(model.dead_mm3 + a + b, model),
                share_left(model.dead_mm3 + a, model) * share_left(model.dead_mm3 + b, model),
                1e-12);
  }
  EXPECT_EQ(share_left(INFINITY, model), 0.0);
  const Rgb any{10, 200, 30};
  EXPECT_NEAR(difference_left_de00(any, any, 0.0, model), 0.0, 1e-12);
}

Machine four_tools() {
  Machine machine;
  machine.heads.resize(2);
  machine.tools.assign(4, Tool{});
  machine.tools[3].head = 1;
  machine.tools[0].colour = "black";
  machine.tools[1].colour = "white";
  machine.tools[3].colour = "green";
  return machine;
}

TEST(PairNeeds, AreThoseOfTheColoursUnlessSomethingIsKnownBetter) {
  Machine machine = four_tools();
  const auto needs = pair_needs_mm3(machine, {});
  const auto at = [](const std::vector<std::optional<double>>& all, std::size_t from,
                     std::size_t to) { return all[from * 4 + to]; };
  const Rgb black = *parse_colour("black"), white = *parse_colour("white");
  ASSERT_EQ(needs.size(), 16U);
  for (std::size_t tool = 0; tool < 4; ++tool)
    EXPECT_EQ(at(needs, tool, tool), 0.0);
  EXPECT_EQ(at(needs, 0, 1), need_mm3(black, white, need_model_of(machine)));
  EXPECT_EQ(at(needs, 1, 0), need_mm3(white, black, need_model_of(machine)));
  EXPECT_EQ(at(needs, 0, 2), std::nullopt) << "the colour of the third is not known";
  EXPECT_EQ(at(needs, 0, 3), 0.0) << "another head";
  EXPECT_EQ(at(needs, 3, 2), 0.0) << "another head, whatever its colour";
  machine.swap_pairs = {{.from = 0, .to = 1, .seconds = {}, .needed_mm3 = 321.0},
                        {.from = 1, .to = 0, .seconds = {1, 2, 3}, .needed_mm3 = 0.0},
                        {.from = 0, .to = 3, .seconds = {}, .needed_mm3 = 9.0},
                        {.from = 2, .to = 0, .seconds = {}, .needed_mm3 = 77.0}};
  const auto measured = pair_needs_mm3(machine, {});
  EXPECT_EQ(at(measured, 0, 1), 321.0);
  EXPECT_EQ(at(measured, 1, 0), at(needs, 1, 0)) << "seconds say nothing of volumes";
  EXPECT_EQ(at(measured, 0, 3), 9.0) << "measured, although it is another head";
  EXPECT_EQ(at(measured, 2, 0), 77.0) << "measured, although no colour is known";
  EXPECT_EQ(at(measured, 0, 2), std::nullopt);
}

TEST(PairNeeds, TakeTheCallersColoursBeforeTheMachines) {
  const Machine machine = four_tools();
  const std::vector<std::string> colours{"", "navy", "ivory"};
  EXPECT_EQ(colour_of_tool(machine, colours, 0), "black") << "the caller does not say";
  EXPECT_EQ(colour_of_tool(machine, colours, 1), "navy");
  EXPECT_EQ(colour_of_tool(machine, colours, 3), "green") << "beyond the caller's list";
  const auto needs = pair_needs_mm3(machine, colours);
  EXPECT_EQ(needs[0 * 4 + 1],
            need_mm3(*parse_colour("black"), *parse_colour("navy"), need_model_of(machine)));
  EXPECT_TRUE(needs[1 * 4 + 2].has_value());
  EXPECT_EQ(pair_needs_mm3(machine, {"", "no colour at all"})[0 * 4 + 1], std::nullopt);
}

TEST(PairNeeds, OfAHotEndOfHighFlowAreLargerByWhatItHolds) {
  Machine machine = four_tools();
  const double usual_mm3 = *pair_needs_mm3(machine, {})[1];
  machine.need.high_flow = true;
  EXPECT_NEAR(*pair_needs_mm3(machine, {})[1], kHighFlow * usual_mm3, 1e-9);
  machine.need.margin *= 2.0;
  EXPECT_NEAR(*pair_needs_mm3(machine, {})[1], 2.0 * kHighFlow * usual_mm3, 1e-9);
  machine.need.tolerance_de00 = 50.0;
  machine.need.dead_mm3 = 0.0;
  EXPECT_LT(*pair_needs_mm3(machine, {})[1], usual_mm3) << "whoever accepts much needs little";
}

TEST(FitNeed, GivesBackTheModelThatTheVolumesAreOf) {
  std::mt19937 random(17);
  const Rgb dark{30, 30, 32}, light{240, 240, 236}, red{186, 26, 32}, yellow{245, 200, 20};
  for (int round = 0; round < 20; ++round) {
    NeedModel truth;
    truth.washout_mm3 = 20.0 + static_cast<double>(random() % 100);
    truth.dead_mm3 = static_cast<double>(random() % 300);
    std::vector<MeasuredNeed> pairs;
    for (const auto& [from, to] :
         {std::pair{dark, light}, {light, dark}, {red, yellow}, {yellow, red}, {dark, yellow}})
      pairs.push_back({from, to, need_mm3(from, to, truth)});
    const NeedFit fit = fit_need(pairs, NeedModel{});
    ASSERT_TRUE(fit.model) << fit.fault;
    EXPECT_NEAR(fit.model->washout_mm3, truth.washout_mm3, 1e-6);
    EXPECT_NEAR(fit.model->dead_mm3, truth.dead_mm3, 1e-6);
    EXPECT_EQ(fit.model->margin, NeedModel{}.margin);
    std::shuffle(pairs.begin(), pairs.end(), random);
    EXPECT_NEAR(fit_need(pairs, NeedModel{}).model->washout_mm3, truth.washout_mm3, 1e-6);
  }
}

}  // namespace
}  // namespace platetally::swaps
