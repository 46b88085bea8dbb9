// Layers from motion alone, on small plates whose layers are known by construction.
#include <gtest/gtest.h>

#include <numbers>

#include "reading/interpreter/layer_finder.hpp"
#include "reading/interpreter/row_buffer.hpp"
#include "support.hpp"

namespace platetally::interpreter::test {
namespace {

std::string square(double z_mm, double x_mm = 50.0) {
  return fmt::format("G0 X{0} Y50 Z{1} F6000\nG1 X{2} E1 F1200\nG1 Y60 E1\nG1 X{0} E1\nG1 Y50 E1\n",
                     x_mm, z_mm, x_mm + 10.0);
}

std::string squares(int layers, double step_mm, double x_mm = 50.0) {
  std::string text;
  for (int layer = 1; layer <= layers; ++layer)
    text += square(step_mm * layer, x_mm);
  return text;
}

/// A round wall that climbs `pitch_mm` a turn, without a level stroke.
std::string spiral(int turns, double pitch_mm, double from_z_mm) {
  constexpr int kSides = 60;
  std::string text;
  for (int side = 1; side <= turns * kSides; ++side) {
    const double angle = 2.0 * std::numbers::pi * side / kSides;
    text += fmt::format("G1 X{:.3f} Y{:.3f} Z{:.3f} E.1\n", 100.0 + 20.0 * std::cos(angle),
                        100.0 + 20.0 * std::sin(angle), from_z_mm + pitch_mm * side / kSides);
  }
  return text;
}

/// A wall around an outline of so many strokes, Z written with so many decimals; a wave makes it
/// concave.
std::string spiral_wall(double turns, double pitch_mm, double from_z_mm, int strokes, int decimals,
                        double wave_mm) {
  std::string text;
  for (int at = 0; at <= static_cast<int>(turns * strokes); ++at) {
    const double angle = 2.0 * std::numbers::pi * at / strokes;
    const double radius_mm = 30.0 + wave_mm * std::cos(5.0 * angle);
    text += fmt::format("G1 X{:.3f} Y{:.3f} Z{:.{}f}{}\n", 100.0 + radius_mm * std::cos(angle),
                        100.0 + radius_mm * std::sin(angle), from_z_mm + pitch_mm * at / strokes,
                        decimals, at == 0 ? "" : " E.1");
  }
  return text;
}

/// A pad of wavy strokes: each stroke begins after a hop; the wave is five layers high.
std::string wavy(int layers, double step_mm) {
  std::string text;
  for (int layer = 1; layer <= layers; ++layer) {
    for (int stroke = 0; stroke < 5; ++stroke) {
      for (int at = 0; at <= 40; ++at) {
        const double z = step_mm * layer + 0.5 * (1.0 - std::cos(0.3 * at + stroke));
        text += fmt::format("G1 X{:.3f} Y{} Z{:.3f}{}\n", 50.0 + at, 50 + stroke, z,
                            at == 0 ? "" : " E.05");
      }
      text += "G0 Z20\n";
    }
  }
  return text;
}

/// Each layer's wall begins with a ramp from the layer below and goes on level.
std::string ramped(const std::vector<double>& heights_mm) {
  std::string text;
  double below_mm = 0.0;
  for (const double z_mm : heights_mm) {
    text += fmt::format("G0 X50 Y50 Z{}\n", below_mm + 0.1 * (z_mm - below_mm));
    for (int step = 2; step <= 10; ++step)
      text += fmt::format("G1 X{} Z{:.4f} E.02\n", 50 + step,
                          below_mm + 0.1 * step * (z_mm - below_mm));
    for (int side = 0; side < 20; ++side)
      text += fmt::format("G1 X{} Y{} E.5\n", 60 + side, 50 + side % 2);
    below_mm = z_mm;
  }
  return text;
}

struct Row {
  const char* name;
  std::string text;
  std::size_t least, most;  // layers, without layer 0
};

std::vector<Row> rows() {
  std::string hops, relative_hops, every_line, ahead, wandering;
  for (int layer = 1; layer <= 5; ++layer) {
    const double z_mm = 0.2 * layer;
    hops += square(z_mm) + fmt::format("G0 Z{0}\nG0 X80\nG0 Z{1}\n", z_mm + 0.6, z_mm);
    relative_hops += square(z_mm) + "G91\nG0 Z0.45\nG0 X20 Y3\nG0 Z-0.45\nG90\n";
    for (int i = 0; i < 10; ++i)
      every_line += fmt::format("G1 X{} Y10 Z{:.3f} E1\n", 10 + i, z_mm);
    // The tower is a layer ahead of the part.
    ahead += square(z_mm + 0.2, 150.0) + square(z_mm);
    // Rounding of relative Z: each layer's height wanders by a few micrometres.
    wandering += square(z_mm) + square(z_mm + 0.003) + square(z_mm - 0.003);
  }
  return {
      {"none", "G28\nG0 Z5\nG0 X10\n", 0, 0},
      {"material at rest only", "G28\nG1 E5 F300\n", 0, 0},
      {"one", square(0.2), 1, 1},
      {"level", squares(5, 0.2), 5, 5},
      {"hops", hops, 5, 5},
      {"hops in relative mode", relative_hops, 5, 5},
      {"Z on every line", every_line, 5, 5},
      {"rounded Z", wandering, 5, 5},
      {"two objects, one after the other", squares(5, 0.2) + squares(5, 0.2, 150.0), 5, 5},
      {"two objects of other steps", squares(6, 0.2) + squares(4, 0.3, 150.0), 8, 8},
      {"other heights each time", square(0.3) + square(0.5) + square(0.58) + square(0.9), 4, 4},
      {"a tower that runs ahead", ahead, 6, 6},
      // One a turn, within one.
      {"spiral on level layers", squares(2, 0.2) + "G1 X120 Y100 Z0.4\n" + spiral(20, 0.2, 0.4), 21,
       23},
      {"spiral from nothing", "G1 X120 Y100 Z0.2\n" + spiral(20, 0.2, 0.2), 20, 22},
      {"two spirals, one after the other",
       squares(1, 0.2) + "G1 X120 Y100 Z0.2\n" + spiral(10, 0.2, 0.2) + "G0 Z9\n" +
           square(0.2, 150.0) + "G1 X120 Y100 Z0.2\n" + spiral(10, 0.2, 0.2),
       10, 12},
      // 20 steps of 0.2 mm and a wave of 1 mm: 25 steps high, however many strokes.
      {"waves", squares(1, 0.2) + wavy(20, 0.2), 20, 26},
      {"ramps at the seam", ramped({0.2, 0.4, 0.6, 0.8, 1.0}), 5, 6},
      {"ramps, other heights each time", ramped({0.2, 0.35, 0.6, 0.8, 0.9}), 5, 6},
  };
}

TEST(Layers, AreAsManyAsThePlateWasBuiltWith) {
  for (const Row& row : rows()) {
    SCOPED_TRACE(row.name);
    const test::Run run = test::run("M83\n" + row.text, machine());
    const std::size_t layers = run.heights_mm.size() - 1;
    EXPECT_GE(layers, row.least);
    EXPECT_LE(layers, row.most);
    EXPECT_EQ(run.heights_mm.front(), 0.0);
    for (const Record& record : run.records)
      ASSERT_LE(record.layer, layers);
  }
}

TEST(Layers, ASpiralHasALayerATurn) {
  struct Wall {
    int level_layers;
    double first_mm, pitch_mm, turns;
  };
  for (const Wall& wall : {Wall{0, 0.0, 0.2, 100}, Wall{1, 0.32, 0.32, 68.06},
                           Wall{2, 0.2, 0.1, 60}, Wall{1, 0.2, 0.4, 60}, Wall{1, 0.4, 0.1, 60}})
    for (const int strokes : {30, 100, 300})
      for (const int decimals : {2, 3, 5})
        for (const double wave_mm : {0.0, 10.0}) {
          SCOPED_TRACE(fmt::format("{} level, first {}, pitch {}, {} strokes, {} decimals, wave {}",
                                   wall.level_layers, wall.first_mm, wall.pitch_mm, strokes,
                                   decimals, wave_mm));
          std::string text;
          double z_mm = wall.first_mm;
          for (int layer = 0; layer < wall.level_layers; ++layer)
            text += square(z_mm = wall.first_mm + layer * wall.pitch_mm);
          text += fmt::format("G0 X{0} Y100 Z{1}\n", 130.0 + wave_mm, z_mm);
          text += spiral_wall(wall.turns, wall.pitch_mm, z_mm, strokes, decimals, wave_mm);
          const double expected = wall.level_layers + std::floor(wall.turns);
          const test::Run run = test::run("M83\n" + text, machine());
          // Within one: the first turn may begin with a stroke at the height below it.
          EXPECT_NEAR(static_cast<double>(run.heights_mm.size() - 1), expected, 1.0);
        }
}

TEST(Layers, ARampComesToTheLayerThatItLeadsTo) {
  const test::Run run = test::run("M83\n" + ramped({0.2, 0.35, 0.6, 0.8, 0.9}), machine());
  ASSERT_EQ(run.heights_mm.size() - 1, 5U);
  for (const double z_mm : {0.2, 0.35, 0.6, 0.8, 0.9})
    EXPECT_EQ(std::count_if(run.heights_mm.begin(), run.heights_mm.end(),
                            [z_mm](double height_mm) { return std::abs(height_mm - z_mm) < 1e-9; }),
              1)
        << z_mm;
}

TEST(Layers, SequentialObjectsShareTheirHeights) {
  const test::Run run = test::run("M83\n" + squares(3, 0.2) + squares(3, 0.2, 150.0), machine());
  EXPECT_EQ(run.heights_mm, (std::vector<double>{0.0, 0.2, 0.4, 0.6000000000000001}));
  std::string order;
  for (const Record& record : run.moves())
    if (lays_material(record) && (order.empty() || order.back() != char('0' + record.layer)))
      order += char('0' + record.layer);
  EXPECT_EQ(order, "123123");
}

TEST(Layers, SlopesDoNotChangeTheLayerOfEveryMove) {
  const test::Run run = test::run("M83\n" + squares(1, 0.2) + wavy(20, 0.2), machine());
  std::size_t changes = 0, strokes = 20 * 5;
  std::uint32_t before = 0;
  for (const Record& record : run.moves()) {
    changes += record.layer != before ? 1 : 0;
    before = record.layer;
  }
  // A stroke goes down to its first layer once and climbs at most five.
  EXPECT_LE(changes, 6 * strokes);
}

TEST(Layers, WhatLeadsToALayerBelongsToIt) {
  EXPECT_EQ(dump(test::run("M83\nG28\nT0\nG0 Z0.2\nG1 X10 E1 F600\nG1 E-1\nT1\nG0 Z0.4\nG1 E1\n"
                           "G1 X0 E1\nG0 Z5\nM107\n",
                           machine())),
            "home\n"
            "select 0\n"
            "L0 T0 0,0,0 -> 0,0,0.2 f25 rapid\n"
            "L1 T0 0,0,0.2 -> 10,0,0.2 e1 f10\n"
            "L2 T0 10,0,0.2 -> 10,0,0.2 e-1 f10\n"
            "select 1\n"
            "L2 T1 10,0,0.2 -> 10,0,0.4 f10 rapid\n"
            "L2 T1 10,0,0.4 -> 10,0,0.4 e1 f10\n"
            "L2 T1 10,0,0.4 -> 0,0,0.4 e1 f10\n"
            "L2 T1 0,0,0.4 -> 0,0,5 f10 rapid\n"
            "fan0 0\n");
}

TEST(Layers, EventsOnTheWayToALayerBelongToItToo) {
  const test::Run run =
      test::run("M83\nG1 Z0.2\nG1 X10 E1\nM106\nT1\nG1 Z0.4\nG1 X0 E1\n", machine());
  for (const Record& record : run.records) {
    if (record.kind != RecordKind::move) {
      EXPECT_EQ(record.layer, 2U) << show(record);
    }
  }
}

TEST(Layers, ALongWayToALayerIsHeldBackWithinBounds) {
  // 5000 travels behind layer 1: the last ones lead to layer 2, the first are out already.
  std::string text = "M83\nG1 Z0.2\nG1 X10 E1\n";
  for (int i = 0; i < 5000; ++i)
    text += i % 2 == 0 ? "G1 X20\n" : "G1 X10\n";
  const test::Run run = test::run(text + "G1 Z0.4\nG1 X0 E1\n", machine());
  EXPECT_LE(run.largest_run, kMostRows);
  std::size_t to_the_next = 0;
  for (const Record& record : run.moves())
    to_the_next += record.layer == 2 ? 1 : 0;
  EXPECT_GE(to_the_next, RowBuffer::kMostHeld - kMostRows);
  EXPECT_LE(to_the_next, 2 * RowBuffer::kMostHeld + 2);
  EXPECT_EQ(run.moves().size(), 5004U);
}

Machine with_waste_area() {
  Machine machine = test::machine();
  machine.waste_areas.push_back({"bin", 200, 250, 200, 250});
  return machine;
}

TEST(Layers, PurgeBeforeTheFirstLayerStaysBeforeIt) {
  const struct {
    const char* name;
    const char* text;
  } rows[] = {
      {"outside the area", "G0 X-5 Y5 Z0.3\nG1 Y100 E9\n"},
      {"in a waste area", "G0 X210 Y210 Z1\nG1 Y220 E9\n"},
      {"marked", "; purge line\nG0 X5 Y5 Z0.3\nG1 X100 E9\n; labels\n"},
  };
  for (const auto& row : rows) {
    SCOPED_TRACE(row.name);
    const test::Run run =
        test::run(std::string("M83\n") + row.text + square(0.2), with_waste_area());
    EXPECT_EQ(run.heights_mm, (std::vector<double>{0.0, 0.2}));
    EXPECT_EQ(run.moves()[1].layer, 0U);
    EXPECT_EQ(run.moves()[2].layer, 0U) << "the way to the first layer is start, too";
    EXPECT_EQ(run.moves().back().layer, 1U);
  }
}

TEST(Layers, PurgeBetweenLayersOpensNone) {
  // The bin is filled at a height of its own; the way there and back leads to layer 2.
  const std::string text = "M83\n" + square(0.2) + "G0 X210 Y210 Z3\nG1 Y220 E9\n" + square(0.4);
  const test::Run run = test::run(text, with_waste_area());
  EXPECT_EQ(run.heights_mm, (std::vector<double>{0.0, 0.2, 0.4}));
  for (const Record& record : run.moves()) {
    if (record.move.e_mm == 9.0) {
      EXPECT_EQ(record.layer, 2U);
    }
  }
}

TEST(Layers, MarkedPurgeAtAKnownHeightLiesInThatLayer) {
  const std::string text =
      "M83\n" + square(0.2) + square(0.4) + "; purge\nG0 X150 Z0.2\nG1 Y90 E9\n";
  const test::Run run = test::run(text, machine());
  EXPECT_EQ(run.moves().back().layer, 1U);
}

TEST(Layers, APlateOutsideTheAreaHasLayersToo) {
  // Around the origin, as plates are that were made for a bed whose middle is 0, 0.
  const test::Run run = test::run("M83\n" + squares(10, 0.2, -60.0), machine());
  EXPECT_EQ(run.heights_mm.size() - 1, 8U);  // all but the two that were taken for purge lines
  ASSERT_NE(run.find("plate-outside-area"), nullptr);
  EXPECT_EQ(run.find("plate-outside-area")->severity, Severity::warning);
  EXPECT_NE(run.moves().back().flags & kOutsideIsPart, 0)
      << "from there on, not on that line alone";
}

TEST(Layers, BeyondTheBoundAreSaid) {
  std::string text = "M83\n";
  for (std::size_t i = 1; i <= kMostLayers + 1; ++i)
    text += fmt::format("G1 Z{:.2f}\nG1 X{} E1\n", 0.02 * static_cast<double>(i), i % 2);
  const test::Run run = test::run(text, machine());
  EXPECT_EQ(run.heights_mm.size(), kMostLayers + 1);
  EXPECT_NE(run.find("layers-capped"), nullptr);
}

TEST(Layers, AreBoundedInNumber) {
  LayerFinder finder;
  for (std::size_t i = 1; i <= kMostLayers + 10; ++i)
    finder.lay({0.0, 0.0, 0.02 * static_cast<double>(i)}, {1.0, 0.0, 0.02 * static_cast<double>(i)},
               false, true);
  EXPECT_EQ(finder.heights_mm().size(), kMostLayers + 1);
  EXPECT_TRUE(finder.is_capped());
  EXPECT_EQ(finder.current(), kMostLayers) << "the nearest known height";
  EXPECT_EQ(finder.lay({0.0, 0.0, 0.02}, {1.0, 0.0, 0.02}, false, true).layer, 1U);
}

}  // namespace
}  // namespace platetally::interpreter::test
