// Circular moves against the figures of NISTIR 6556, sections 3.5.3.1 and 3.5.3.2, in
// testdata/checks/rs274_motion.json. Tolerance: 1e-9 of the figure, which leaves a factor of 1e6
// for the rounding of a dozen operations on doubles.
#include "reading/interpreter/arcs.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>
#include <numbers>

#include "support.hpp"

namespace platetally::interpreter::test {
namespace {

using nlohmann::json;
constexpr double kDegree = std::numbers::pi / 180.0;

const json& checks() {
  static const json all = [] {
    std::ifstream in(std::string(PLATETALLY_TESTDATA) + "/checks/rs274_motion.json");
    return json::parse(in);
  }();
  return all;
}

double within(double figure) {
  return 1e-9 * std::max(1.0, std::abs(figure));
}

TEST(Arcs, AgreeWithThePrintedCases) {
  std::size_t checked = 0;
  for (const json& check : checks()["arcs"]) {
    SCOPED_TRACE(check["id"]);
    const auto start = check["start"].get<std::vector<double>>();
    std::string text = "G17\nG92";
    for (std::size_t axis = 0; axis < start.size(); ++axis)
      text += fmt::format(" {}{}", "XYZ"[axis], start[axis]);
    const test::Run run = test::run(text + "\n" + check["line"].get<std::string>(), machine());
    ASSERT_EQ(run.moves().size(), 1U);
    const Move move = run.moves()[0].move;
    // G92 moved the origin: the machine stands at 0 while the words say `start`.
    const json& figures = check["computed"];
    const bool clockwise = move.sweep_rad < 0.0;
    for (std::size_t axis = 0; axis < 2; ++axis) {
      const double figure = figures["center"][axis];
      EXPECT_NEAR(move.centre_mm[axis] + start[axis], figure, within(figure));
    }
    const double sweep_deg = figures["sweep_deg"];
    EXPECT_NEAR(std::abs(move.sweep_rad) / kDegree, sweep_deg, within(sweep_deg));
    const double radius = std::hypot(move.centre_mm[0], move.centre_mm[1]);
    EXPECT_NEAR(radius, figures["r_start"].get<double>(), within(radius));
    const double arc_mm = figures["arc_mm"];
    EXPECT_NEAR(radius * std::abs(move.sweep_rad), arc_mm, within(arc_mm));
    const double helix_mm = figures["helix_mm"];
    EXPECT_NEAR(std::hypot(radius * move.sweep_rad, move.to_mm[2]), helix_mm, within(helix_mm));
    EXPECT_EQ(clockwise, check["line"].get<std::string>().find("G2") != std::string::npos);
    EXPECT_TRUE(run.diagnostics.empty()) << dump(run);
    ++checked;
  }
  EXPECT_EQ(checked, 8U);
}

TEST(Arcs, RadiusToleranceIsThePrintedOne) {
  for (const json& row : checks()["radius_tolerance"]["cases_mm"]) {
    const std::string text =
        fmt::format("G2 X{} Y{} I{} J{}", row["end"][0].get<double>(), row["end"][1].get<double>(),
                    row["i"].get<double>(), row["j"].get<double>());
    const test::Run run = test::run(text, machine());
    EXPECT_EQ(run.find("arc-radius-mismatch") != nullptr, row["error"].get<bool>()) << text;
    EXPECT_TRUE(run.moves()[0].move.is_arc()) << "real files are rounded: an arc all the same";
  }
  // 0.0002 inch, in inches.
  EXPECT_EQ(test::run("G20 G2 X2.00019 I1", machine()).find("arc-radius-mismatch"), nullptr);
  EXPECT_NE(test::run("G20 G2 X2.00021 I1", machine()).find("arc-radius-mismatch"), nullptr);
}

// Section 3.5.3.2 calls both an error. Printers draw a full circle from I and J alone, and without
// any centre the material must not be lost.
TEST(Arcs, WhatTheStandardRefusesIsReadAsPrintersDo) {
  const test::Run circle = test::run("G17 G2 i1 j1", machine());
  ASSERT_EQ(circle.moves().size(), 1U);
  EXPECT_NEAR(circle.moves()[0].move.sweep_rad, -2.0 * std::numbers::pi, 1e-12);
  EXPECT_TRUE(circle.diagnostics.empty());
  const test::Run line = test::run("G17 G2 x1 y1 E1", machine());
  ASSERT_EQ(line.moves().size(), 1U);
  EXPECT_FALSE(line.moves()[0].move.is_arc());
  EXPECT_EQ(line.moves()[0].move.e_mm, 1.0);
  EXPECT_NE(line.find("arc-without-centre"), nullptr);
}

TEST(Arcs, EndWhereRotationTakesThem) {
  // Any start, end and direction: turning the start about the centre by the sweep gives the end.
  const Point2 points[] = {{0, 0}, {3, 1}, {-2, 5}, {0.001, -0.002}, {1e4, -1e4}};
  for (const Point2 from : points) {
    for (const Point2 to : points) {
      for (const double radius : {7500.0, -7500.0, 2e4, -2e4}) {
        for (const bool clockwise : {false, true}) {
          const auto arc = arc_by_radius(from, to, radius, clockwise);
          ASSERT_EQ(arc.has_value(), from != to);
          if (!arc)
            continue;
          const double c = std::cos(arc->sweep_rad), s = std::sin(arc->sweep_rad);
          const double ux = from[0] - arc->centre_mm[0], uy = from[1] - arc->centre_mm[1];
          // Rounding of the centre (R 2e4) and of the sweep, each some 1e-16 relative.
          EXPECT_NEAR(arc->centre_mm[0] + c * ux - s * uy, to[0], 1e-9);
          EXPECT_NEAR(arc->centre_mm[1] + s * ux + c * uy, to[1], 1e-9);
          EXPECT_EQ(arc->sweep_rad < 0.0, clockwise);
          EXPECT_EQ(std::abs(arc->sweep_rad) > std::numbers::pi + 1e-9,
                    radius < 0.0 && arc->radius_shortfall_mm == 0.0);
        }
      }
    }
  }
}

TEST(Arcs, CentreFormAndRadiusFormAgree) {
  const auto by_radius = arc_by_radius({1, 2}, {4, -3}, 5.0, false);
  ASSERT_TRUE(by_radius);
  const auto by_centre = arc_by_centre(
      {1, 2}, {4, -3}, {by_radius->centre_mm[0] - 1, by_radius->centre_mm[1] - 2}, false, 0.0);
  ASSERT_TRUE(by_centre);
  EXPECT_NEAR(by_centre->sweep_rad, by_radius->sweep_rad, 1e-12);
  EXPECT_NEAR(by_centre->start_radius_mm, 5.0, 1e-12);
  EXPECT_NEAR(by_centre->end_radius_mm, 5.0, 1e-12);
}

TEST(Arcs, RoundingOfTheEndIsNoFullTurnLost) {
  // The end is the start but for the last bits of a sum: a full turn, not none.
  const double wander = 0.1 + 0.2 - 0.3;
  for (const bool clockwise : {false, true}) {
    const auto arc = arc_by_centre({10, 0}, {10, wander}, {-10, 0}, clockwise, 0.0);
    ASSERT_TRUE(arc);
    EXPECT_NEAR(std::abs(arc->sweep_rad), 2.0 * std::numbers::pi, 1e-12);
  }
}

// The rules of the same report for positions and feeds, as far as printers keep them.
TEST(ModalRules, AgreeWithTheStandard) {
  const auto dumped = [](const char* text) { return dump(test::run(text, machine())); };
  // 3.5.18: X = 4 with offset 0; G92 x7 makes X = 7; then G92 x9 makes X = 9.
  EXPECT_EQ(dumped("G1 X4 F60\nG92 x7\nG1 X8\nG92 x9\nG1 X10"),
            "L0 T0 0,0,0 -> 4,0,0 f1\nL0 T0 4,0,0 -> 5,0,0 f1\nL0 T0 5,0,0 -> 6,0,0 f1\n");
  // G91 has no effect on G92.
  EXPECT_EQ(dumped("G91\nG1 X4 F60\nG92 X7\nG90\nG1 X8"),
            "L0 T0 0,0,0 -> 4,0,0 f1\nL0 T0 4,0,0 -> 5,0,0 f1\n");
  // 3.5.19: G93 F2.0 takes half a minute: 60 mm in 30 s.
  EXPECT_EQ(dumped("G93 G1 X60 F2.0"), "L0 T0 0,0,0 -> 60,0,0 f2 per-move\n");
  // 3.5.17: I and J are increments in G90 and in G91.
  EXPECT_EQ(dumped("G1 X5 F60\nG91\nG3 X-5 Y5 I-5"),
            "L0 T0 0,0,0 -> 5,0,0 f1\nL0 T0 5,0,0 -> 0,5,0 f1 about 0,0 by 1.5708\n");
  // 3.5.7: an inch is 25.4 mm.
  EXPECT_EQ(dumped("G20 G1 X1 F60"), "L0 T0 0,0,0 -> 25.4,0,0 f25.4\n");
  // 3.5.4: P is in seconds where the machine file says so.
  Machine seconds = machine();
  seconds.dialect.dwell_p_is_milliseconds = false;
  EXPECT_EQ(dump(test::run("G4 P2.5", seconds)), "dwell 2.5\n");
  // 3.5.1: G0 goes at the traverse rate, not at F, where the machine file says so.
  Machine traverse = machine();
  traverse.dialect.rapid_moves_use_feed = false;
  EXPECT_EQ(dump(test::run("G0 X5 F600\nG1 X6\nG0 X7", traverse)),
            "L0 T0 0,0,0 -> 5,0,0 f0 rapid\nL0 T0 5,0,0 -> 6,0,0 f10\n"
            "L0 T0 6,0,0 -> 7,0,0 f0 rapid\n");
}

}  // namespace
}  // namespace platetally::interpreter::test
