#include "motion/planning/path.hpp"

#include <numbers>

#include "motion/planning/support.hpp"

namespace platetally::motion {
namespace {

using std::numbers::pi;

interpreter::Move arc(const test::Point& from, const test::Point& to, double centre_first,
                      double centre_second, double sweep_rad,
                      interpreter::Plane plane = interpreter::Plane::xy) {
  interpreter::Move move{};
  move.from_mm = from;
  move.to_mm = to;
  move.centre_mm = {centre_first, centre_second};
  move.sweep_rad = sweep_rad;
  move.plane = plane;
  return move;
}

TEST(Path, ArcsHaveTheLengthsOfTheStandardsExamples) {
  const auto table = test::read_check("motion_arcs.json");
  ASSERT_EQ(table["arcs"].size(), 8U);
  for (const auto& row : table["arcs"]) {
    SCOPED_TRACE(row["id"].get<std::string>());
    const double sweep = row["turn"].get<double>() * row["sweep_deg"].get<double>() * pi / 180.0;
    Bend bend;
    const Path path =
        arc_path(arc(row["start"], row["end"], row["centre"][0], row["centre"][1], sweep), bend);
    EXPECT_EQ(path.kind, PathKind::arc);
    EXPECT_NEAR(path.length_mm, row["length_mm"].get<double>(),
                1e-9 * row["length_mm"].get<double>());
  }
}

TEST(Path, TangentsAreTheLimitOfShortChords) {
  // The point on an arc after the angle s; chord directions between near angles tend to the tangent
  // with an error of half the angle, 5e-7 here.
  const double kStep = 1e-6;
  for (const auto plane :
       {interpreter::Plane::xy, interpreter::Plane::zx, interpreter::Plane::yz}) {
    for (const double sweep : {0.7, -0.7, 2.5, -5.0, 6.28, 9.0}) {
      const std::size_t first = plane == interpreter::Plane::xy   ? 0U
                                : plane == interpreter::Plane::zx ? 2U
                                                                  : 1U;
      const std::size_t second = (first + 1) % 3;
      const std::size_t across = (first + 2) % 3;
      const auto at = [&](double share) {
        test::Point point{};
        const double angle = 0.4 + share * sweep;
        point[first] = 3.0 + 5.0 * std::cos(angle);
        point[second] = -2.0 + 5.0 * std::sin(angle);
        point[across] = 1.5 * share;
        return point;
      };
      Bend bend;
      const Path path = arc_path(arc(at(0.0), at(1.0), 3.0, -2.0, sweep, plane), bend);
      const auto expect_along = [&](const Direction& direction, const test::Point& from,
                                    const test::Point& to) {
        double chord = 0.0;
        for (std::size_t k = 0; k < 3; ++k)
          chord += (to[k] - from[k]) * (to[k] - from[k]);
        for (std::size_t k = 0; k < 3; ++k)
          EXPECT_NEAR(direction[k], (to[k] - from[k]) / std::sqrt(chord), 1e-5);
      };
      expect_along(path.entry, at(0.0), at(kStep));
      expect_along(path.exit, at(1.0 - kStep), at(1.0));
      // The largest shares on the way, by walking it; 1000 steps miss a peak by (9/1000)^2 / 8.
      Direction most{};
      for (int i = 0; i < 1000; ++i) {
        const test::Point from = at(i / 1000.0);
        const test::Point to = at((i + 1) / 1000.0);
        double chord = 0.0;
        for (std::size_t k = 0; k < 3; ++k)
          chord += (to[k] - from[k]) * (to[k] - from[k]);
        for (std::size_t k = 0; k < 3; ++k)
          most[k] = std::max(most[k], std::abs(to[k] - from[k]) / std::sqrt(chord));
      }
      for (std::size_t k = 0; k < 3; ++k)
        EXPECT_NEAR(bend.most_along[k], most[k], 6e-3);
      const double around = 5.0 * std::abs(sweep);
      EXPECT_NEAR(bend.radius_mm, 5.0 * (around * around + 2.25) / (around * around), 1e-9);
    }
  }
}

TEST(Path, AnArcBetweenTwoRadiiTakesTheirMeanForItsLengthAndTheSmallerForItsBend) {
  Bend bend;
  const Path path = arc_path(arc({10.0, 0, 0}, {0, 10.002, 0}, 0.0, 0.0, pi / 2.0), bend);
  EXPECT_NEAR(path.length_mm, 10.001 * pi / 2.0, 1e-12);
  EXPECT_NEAR(bend.radius_mm, 10.0, 1e-12);
}

TEST(Path, StraightLinesSharesAndFilamentAlone) {
  const Path line = straight_path(test::line({1, 2, 3}, {4, 6, 3}, -0.5, 10.0).move);
  EXPECT_EQ(line.kind, PathKind::line);
  EXPECT_DOUBLE_EQ(line.length_mm, 5.0);
  EXPECT_DOUBLE_EQ(line.entry[0], 0.6);
  EXPECT_DOUBLE_EQ(line.entry[1], 0.8);
  EXPECT_DOUBLE_EQ(line.entry[3], -0.1);
  const Path back = straight_path(test::feed(-0.8, 30.0).move);
  EXPECT_EQ(back.kind, PathKind::feed);
  EXPECT_EQ(back.entry[3], -1.0);
  EXPECT_DOUBLE_EQ(back.length_mm, 0.8);
  EXPECT_EQ(straight_path(test::feed(0.0, 30.0).move).kind, PathKind::none);
}

TEST(Path, BrokenNumbersAndDegenerateArcs) {
  EXPECT_EQ(straight_path(test::line({}, {1e200, 0, 0}, 0.0, 10.0).move).kind, PathKind::broken);
  EXPECT_EQ(straight_path(test::line({}, {std::nan(""), 0, 0}, 0.0, 10.0).move).kind,
            PathKind::broken);
  EXPECT_EQ(straight_path(test::feed(1e300, 10.0).move).kind, PathKind::broken);
  Bend bend;
  EXPECT_EQ(arc_path(arc({}, {3, 4, 0}, 0.0, 0.0, 1.0), bend).kind, PathKind::line);
  EXPECT_EQ(arc_path(arc({1, 0, 0}, {1, 0, 0}, 0.0, 0.0, 1e300), bend).kind, PathKind::broken);
}

}  // namespace
}  // namespace platetally::motion
