// The bounds of finding layers, stroke by stroke.
#include "reading/interpreter/layer_finder.hpp"

#include <gtest/gtest.h>

namespace platetally::interpreter {
namespace {

/// A stroke along X that begins and ends at these heights.
LayerFinder::Place stroke(LayerFinder& finder, double from_z_mm, double to_z_mm, bool joined,
                          bool may_open) {
  return finder.lay({0.0, 0.0, from_z_mm}, {10.0, 0.0, to_z_mm}, joined, may_open);
}

/// A level stroke.
LayerFinder::Place level(LayerFinder& finder, double z_mm) {
  return stroke(finder, z_mm, z_mm, false, true);
}

TEST(LayerFinder, HeightsWithinAHundredthAreOneLayer) {
  LayerFinder finder;
  EXPECT_EQ(level(finder, 0.2).layer, 1U);
  EXPECT_EQ(level(finder, 0.2095).layer, 1U);
  EXPECT_EQ(level(finder, 0.1905).layer, 1U);
  EXPECT_EQ(level(finder, 0.2105).layer, 2U);
}

// Layers of 0.2 mm: a spiral is in the next one from 0.399 mm on, a rounding of Z early.
TEST(LayerFinder, ASpiralReachesTheNextLayerAThousandthEarly) {
  LayerFinder finder;
  level(finder, 0.2);
  EXPECT_EQ(stroke(finder, 0.2, 0.3985, true, true).layer, 1U);
  EXPECT_EQ(stroke(finder, 0.3985, 0.3995, true, true).layer, 2U);
  EXPECT_EQ(finder.heights_mm().size(), 3U);
}

TEST(LayerFinder, ASpiralEntersAKnownLayerAThousandthEarlyToo) {
  LayerFinder finder;
  level(finder, 0.2);
  level(finder, 0.4);
  EXPECT_EQ(stroke(finder, 0.2, 0.21, false, true).layer, 1U);
  EXPECT_EQ(stroke(finder, 0.21, 0.3985, true, true).layer, 1U);
  EXPECT_EQ(stroke(finder, 0.3985, 0.3995, true, true).layer, 2U);
}

// A layer with a sloped stroke slopes until four level strokes for each sloped one say that it does
// not: the next height is then a layer of its own.
TEST(LayerFinder, FourLevelStrokesOutweighASlopedOne) {
  for (const auto& [level_strokes, layer] : {std::pair(3, 1U), std::pair(4, 2U)}) {
    LayerFinder finder;
    level(finder, 0.2);
    stroke(finder, 0.2, 0.25, true, true);
    for (int i = 1; i < level_strokes; ++i)
      level(finder, 0.25);
    EXPECT_EQ(level(finder, 0.3).layer, layer) << level_strokes;
  }
}

TEST(LayerFinder, WithoutLeaveOnlyKnownLayersAreEntered) {
  LayerFinder finder;
  level(finder, 0.2);
  const LayerFinder::Place place = stroke(finder, 0.4, 0.4, false, false);
  EXPECT_FALSE(place.is_known);
  EXPECT_EQ(place.layer, 1U);
  EXPECT_TRUE(stroke(finder, 0.2, 0.2, false, false).is_known);
  EXPECT_EQ(finder.heights_mm().size(), 2U);
}

}  // namespace
}  // namespace platetally::interpreter
