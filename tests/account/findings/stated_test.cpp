// What a file says of itself in comments, held against what was found: which statement counts, what
// differs, and what is said of it.
#include "account/findings/stated.hpp"

#include <gtest/gtest.h>

#include <numbers>

namespace platetally::findings {
namespace {

using gcode::Quantity;
using interpreter::StatedAt;

/// Two tools of 1.75 mm PLA that lay 1000 mm and 500 mm on 40 layers.
struct Plate {
  Machine machine;
  std::vector<Material> materials;
  Account account;

  Plate() {
    machine.tools.assign(3, Tool{});
    for (Tool& tool : machine.tools)
      tool.filament_diameter_mm = 1.75;
    Material pla;
    pla.density_g_cm3 = 1.25;
    materials.assign(3, pla);
    account.tools.resize(3);
    for (int i = 0; i < 3; ++i)
      account.tools[static_cast<std::size_t>(i)].tool = i;
    account.tools[0].filament_mm = 1000.0;
    account.tools[2].filament_mm = 500.0;
    account.totals.layers = 40;
    account.totals.time.expected = 3600.0;
  }

  std::vector<Diagnostic> hold(const std::vector<StatedAt>& stated) {
    return hold_stated(stated, machine, materials, account);
  }
  const StatedFigure* find(std::string_view what, int tool = -1) const {
    for (const StatedFigure& figure : account.stated)
      if (figure.what == what && figure.tool == tool)
        return &figure;
    return nullptr;
  }
};

StatedAt at(std::uint64_t line, Quantity quantity, std::vector<double> values, int tool = -1,
            bool is_total = false) {
  return {{quantity, std::move(values), tool, is_total}, line};
}

/// Of 1.75 mm: pi / 4 * 1.75^2.
constexpr double kArea_mm2 = std::numbers::pi * 1.75 * 1.75 / 4.0;

TEST(Stated, NothingIsHeldAgainstNothing) {
  Plate plate;
  EXPECT_TRUE(plate.hold({}).empty());
  EXPECT_TRUE(plate.account.stated.empty());
}

TEST(Stated, LengthVolumeMassLayersAndTimeAreFoundInTheirUnits) {
  Plate plate;
  plate.hold({at(3, Quantity::length_mm, {1500.0}), at(4, Quantity::volume_cm3, {3.6}),
              at(5, Quantity::mass_g, {4.5}), at(6, Quantity::layers, {40.0}),
              at(7, Quantity::time_s, {3000.0})});
  ASSERT_EQ(plate.account.stated.size(), 5U);
  EXPECT_DOUBLE_EQ(plate.find("filament_mm")->found, 1500.0);
  EXPECT_NEAR(plate.find("filament_cm3")->found, 1500.0 * kArea_mm2 / 1000.0, 1e-12);
  EXPECT_NEAR(plate.find("filament_g")->found, 1500.0 * kArea_mm2 / 1000.0 * 1.25, 1e-12);
  EXPECT_EQ(plate.find("layers")->found, 40.0);
  EXPECT_EQ(plate.find("time_s")->found, 3600.0);
  EXPECT_EQ(plate.find("layers")->line, 6U);
}

TEST(Stated, AListIsSummedUpAndSharedOutToTheToolsInUse) {
  Plate plate;
  plate.hold({at(9, Quantity::length_mm, {990.0, 505.0})});
  EXPECT_DOUBLE_EQ(plate.find("filament_mm")->stated, 1495.0);
  EXPECT_DOUBLE_EQ(plate.find("filament_mm", 0)->stated, 990.0);
  EXPECT_EQ(plate.find("filament_mm", 1), nullptr) << "two values are of the two that are used";
  EXPECT_DOUBLE_EQ(plate.find("filament_mm", 2)->stated, 505.0);
}

TEST(Stated, AListOfAllToolsGoesByNumber) {
  Plate plate;
  plate.hold({at(9, Quantity::length_mm, {990.0, 0.0, 505.0})});
  EXPECT_DOUBLE_EQ(plate.find("filament_mm", 0)->stated, 990.0);
  EXPECT_EQ(plate.find("filament_mm", 1), nullptr) << "neither stated nor found";
  EXPECT_DOUBLE_EQ(plate.find("filament_mm", 2)->stated, 505.0);
}

TEST(Stated, AListThatFitsNoToolsIsOfThePlateAlone) {
  Plate plate;
  plate.account.tools[1].filament_mm = 10.0;  // three are used
  plate.hold({at(9, Quantity::length_mm, {990.0, 505.0})});
  EXPECT_DOUBLE_EQ(plate.find("filament_mm")->stated, 1495.0);
  EXPECT_EQ(plate.account.stated.size(), 1U);
}

TEST(Stated, WhatIsSaidToBeTheTotalWins) {
  Plate plate;
  plate.hold({at(2, Quantity::mass_g, {1.0, 2.0}), at(5, Quantity::mass_g, {4.5}, -1, true),
              at(6, Quantity::mass_g, {9.0}, -1, true)});
  EXPECT_DOUBLE_EQ(plate.find("filament_g")->stated, 4.5) << "and of two, the first";
  EXPECT_EQ(plate.find("filament_g")->line, 5U);
}

TEST(Stated, ToolsThatAreNamedMakeATotalWhereAllThatAreUsedAre) {
  Plate plate;
  plate.hold({at(2, Quantity::mass_g, {3.0}, 0), at(3, Quantity::mass_g, {1.5}, 2)});
  EXPECT_DOUBLE_EQ(plate.find("filament_g")->stated, 4.5);
  EXPECT_EQ(plate.find("filament_g")->line, 2U);
  Plate half;
  half.hold({at(2, Quantity::mass_g, {3.0}, 0)});
  EXPECT_EQ(half.find("filament_g"), nullptr) << "one of two is no total";
  EXPECT_DOUBLE_EQ(half.find("filament_g", 0)->stated, 3.0);
}

TEST(Stated, AToolThatTheMachineLacksIsPassedOver) {
  Plate plate;
  plate.hold({at(2, Quantity::mass_g, {3.0}, 7)});
  EXPECT_TRUE(plate.account.stated.empty());
}

TEST(Stated, OfOneToolTheFirstStatementCounts) {
  Plate plate;
  plate.hold({at(2, Quantity::length_mm, {990.0}, 0), at(3, Quantity::length_mm, {1.0}, 0),
              at(4, Quantity::length_mm, {2.0, 3.0})});
  EXPECT_DOUBLE_EQ(plate.find("filament_mm", 0)->stated, 990.0);
  EXPECT_DOUBLE_EQ(plate.find("filament_mm", 2)->stated, 3.0);
}

struct LimitCase {
  const char* name;
  Quantity quantity;
  double stated;
  bool differs;
};

class Limits : public testing::TestWithParam<LimitCase> {};

// Filament: 5 % of the larger of both. Layers: two. Time is never held against anything.
TEST_P(Limits, AreWhatTheHeaderSays) {
  Plate plate;
  const std::vector<Diagnostic> warnings =
      plate.hold({at(3, GetParam().quantity, {GetParam().stated})});
  EXPECT_EQ(plate.account.stated.at(0).differs, GetParam().differs);
  EXPECT_EQ(warnings.empty(), !GetParam().differs);
}

INSTANTIATE_TEST_SUITE_P(
    Cases, Limits,
    testing::Values(
        LimitCase{"LengthAtFivePercentMore", Quantity::length_mm, 1500.0 / 0.95 - 1e-6, false},
        LimitCase{"LengthBeyondFivePercentMore", Quantity::length_mm, 1500.0 / 0.95 + 1e-6, true},
        LimitCase{"LengthAtFivePercentLess", Quantity::length_mm, 1425.0 + 1e-6, false},
        LimitCase{"LengthBeyondFivePercentLess", Quantity::length_mm, 1425.0 - 1e-6, true},
        LimitCase{"TwoLayersMore", Quantity::layers, 42.0, false},
        LimitCase{"ThreeLayersMore", Quantity::layers, 43.0, true},
        LimitCase{"TwoLayersFewer", Quantity::layers, 38.0, false},
        LimitCase{"ThreeLayersFewer", Quantity::layers, 37.0, true},
        LimitCase{"TenTimesTheTime", Quantity::time_s, 36000.0, false}),
    [](const auto& one) { return one.param.name; });

TEST(Stated, AWarningSaysWhatDiffersAndStandsAtItsLine) {
  Plate plate;
  const std::vector<Diagnostic> warnings =
      plate.hold({at(12, Quantity::length_mm, {1000.0, 900.0}), at(20, Quantity::layers, {50.0})});
  ASSERT_EQ(warnings.size(), 2U);
  EXPECT_EQ(warnings[0].code, "stated-filament-differs");
  EXPECT_EQ(warnings[0].severity, Severity::warning);
  EXPECT_EQ(warnings[0].line, 12U);
  EXPECT_EQ(warnings[0].message,
            "filament_mm is stated as 1900 and found to be 1500, filament_mm of tool 2 is stated "
            "as 900 and found to be 500; expected at most 5 % apart; the account is of what was "
            "found");
  EXPECT_EQ(warnings[1].code, "stated-layers-differ");
  EXPECT_EQ(warnings[1].line, 20U);
  EXPECT_EQ(warnings[1].message,
            "layers is stated as 50 and found to be 40; expected at most 2 layers apart; the "
            "account is of what was found");
}

// 2.85 mm and 1.75 mm are the two diameters of the trade (common practice, no source).
TEST(Stated, FilamentOfTheOtherDiameterIsSuspected) {
  constexpr double kThick = 2.85 * 2.85 / (1.75 * 1.75);
  const auto codes = [](Plate& plate, const std::vector<StatedAt>& stated) {
    std::vector<std::string> found;
    for (const Diagnostic& warning : plate.hold(stated))
      found.push_back(warning.code);
    return found;
  };
  const double volume_cm3 = 1500.0 * kArea_mm2 / 1000.0;
  Plate by_mass;
  EXPECT_EQ(codes(by_mass, {at(3, Quantity::mass_g, {1.25 * volume_cm3 * kThick})}),
            (std::vector<std::string>{"filament-diameter-suspected", "stated-filament-differs"}));
  Plate by_length_and_volume;
  EXPECT_EQ(codes(by_length_and_volume, {at(3, Quantity::length_mm, {1500.0}),
                                         at(4, Quantity::volume_cm3, {volume_cm3 * kThick})}),
            (std::vector<std::string>{"filament-diameter-suspected", "stated-filament-differs"}));
  Plate thin;
  for (Tool& tool : thin.machine.tools)
    tool.filament_diameter_mm = 2.85;
  EXPECT_EQ(codes(thin, {at(3, Quantity::mass_g, {1.25 * volume_cm3})}),
            (std::vector<std::string>{"filament-diameter-suspected", "stated-filament-differs"}));
  Plate twice;
  EXPECT_EQ(codes(twice, {at(3, Quantity::mass_g, {2.5 * volume_cm3})}),
            std::vector<std::string>{"stated-filament-differs"})
      << "twice the mass is no other diameter";
}

TEST(Stated, TheDiameterThatIsSuspectedIsNamedWithItsOwn) {
  Plate plate;
  constexpr double kThick = 2.85 * 2.85 / (1.75 * 1.75);
  const std::vector<Diagnostic> warnings =
      plate.hold({at(3, Quantity::volume_cm3, {1500.0 * kArea_mm2 / 1000.0 * kThick})});
  ASSERT_FALSE(warnings.empty());
  EXPECT_EQ(warnings[0].message,
            "the file's own figures fit filament of 2.85 mm; the machine file has 1.75 mm, with "
            "which all grams were counted");
}

}  // namespace
}  // namespace platetally::findings
