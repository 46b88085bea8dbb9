// Rings around cells, held against the cells themselves.
#include "account/objects/outline.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>

namespace platetally::objects {
namespace {

/// Above 0 where the ring runs counter-clockwise.
double area_of(const Ring& ring) {
  double twice = 0.0;
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const Point& a = ring[i];
    const Point& b = ring[(i + 1) % ring.size()];
    twice += a[0] * b[1] - a[1] * b[0];
  }
  return 0.5 * twice;
}

double area_of_all(const std::vector<Ring>& rings) {
  double area = 0.0;
  for (const Ring& ring : rings)
    area += area_of(ring);
  return area;
}

TEST(Outline, ASquareHasFourCorners) {
  const std::vector<Ring> rings = rings_around({{2, 3}, {3, 3}, {2, 4}, {3, 4}});
  ASSERT_EQ(rings.size(), 1U);
  Ring corners = rings[0];
  std::ranges::sort(corners);
  EXPECT_EQ(corners, (Ring{{2, 3}, {2, 5}, {4, 3}, {4, 5}}));
  EXPECT_EQ(area_of(rings[0]), 4.0);
}

TEST(Outline, AHoleRunsClockwise) {
  CellSet frame;
  for (int row = 0; row < 3; ++row)
    for (int column = 0; column < 3; ++column)
      if (row != 1 || column != 1)
        frame.push_back({column, row});
  const std::vector<Ring> rings = rings_around(frame);
  ASSERT_EQ(rings.size(), 2U);
  EXPECT_EQ(std::max(area_of(rings[0]), area_of(rings[1])), 9.0);
  EXPECT_EQ(std::min(area_of(rings[0]), area_of(rings[1])), -1.0);
}

TEST(Outline, CellsThatTouchAtACornerAreOfTwoRings) {
  const std::vector<Ring> rings = rings_around({{0, 0}, {1, 1}});
  ASSERT_EQ(rings.size(), 2U);
  EXPECT_EQ(rings[0].size(), 4U);
  EXPECT_EQ(rings[1].size(), 4U);
}

/// Own random numbers: the same on every machine.
TEST(Outline, RingsOfAnyCellsAreClosedAndHoldTheirArea) {
  std::uint32_t state = 12345;
  const auto chance = [&state] {
    state = state * 1664525U + 1013904223U;
    return state >> 24U;
  };
  for (int trial = 0; trial < 50; ++trial) {
    CellSet cells;
    for (int row = 0; row < 17; ++row)
      for (int column = 0; column < 13; ++column)
        if (chance() < 60U + 3U * static_cast<std::uint32_t>(trial))
          cells.push_back({column, row});
    const std::vector<Ring> rings = rings_around(cells);
    EXPECT_EQ(area_of_all(rings), static_cast<double>(cells.size()));
    for (const Ring& ring : rings) {
      ASSERT_GE(ring.size(), 4U);
      for (std::size_t i = 0; i < ring.size(); ++i) {
        const Point& a = ring[i];
        const Point& b = ring[(i + 1) % ring.size()];
        const Point& c = ring[(i + 2) % ring.size()];
        EXPECT_NE(a[0] == b[0], a[1] == b[1]);  // along an edge, also from the last to the first
        EXPECT_NE(a[0] == b[0], b[0] == c[0]);  // a corner, not a point on an edge
      }
    }
  }
}

TEST(Outline, StepsOfASlantBecomeStraight) {
  CellSet cells;
  for (int row = 0; row < 40; ++row)
    for (int column = 0; column <= row; ++column)
      cells.push_back({column, row});
  const std::vector<Ring> rings = rings_around(cells);
  ASSERT_EQ(rings.size(), 1U);
  EXPECT_GT(rings[0].size(), 80U);
  const Ring simple = simplified(rings[0], 0.75);
  EXPECT_LE(simple.size(), 6U);
  EXPECT_NEAR(area_of(simple), area_of(rings[0]), 0.75 * 60.0);
}

TEST(Outline, NoPointLeftOutIsFurtherThanAllowed) {
  Ring ring;
  for (int i = 0; i < 200; ++i)
    ring.push_back({30.0 * std::cos(i * 0.0314159265), 20.0 * std::sin(i * 0.0314159265)});
  const Ring simple = simplified(ring, 0.5);
  EXPECT_LT(simple.size(), 40U);
  for (const Point& point : ring) {
    double nearest = 1e9;
    for (std::size_t i = 0; i < simple.size(); ++i) {
      const Point& a = simple[i];
      const Point& b = simple[(i + 1) % simple.size()];
      const double dx = b[0] - a[0], dy = b[1] - a[1];
      const double along = std::clamp(
          ((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / (dx * dx + dy * dy), 0.0, 1.0);
      nearest =
          std::min(nearest, std::hypot(point[0] - a[0] - along * dx, point[1] - a[1] - along * dy));
    }
    EXPECT_LE(nearest, 0.5 + 1e-9);
  }
}

}  // namespace
}  // namespace platetally::objects
