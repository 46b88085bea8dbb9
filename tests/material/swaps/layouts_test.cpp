// Layouts whose truth is known because they are built here: a tower or none, wherever it stands and
// from whichever side it is looked at.
#include "material/swaps/layouts.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <random>
#include <vector>

#include "support/test_names.hpp"

namespace platetally::swaps {
namespace {

using namespace test_layouts;

constexpr std::uint32_t kLayers = 24;

/// Two labels in both colours; in each layer the tool that is in hand goes on, then the other one
/// comes. Every sixth layer is of one colour.
Layout with_tower(double x_mm, double y_mm, double wide_mm = 12, double deep_mm = 12) {
  Layout layout;
  layout.swap(0);
  int tool = 0;
  for (std::uint32_t layer = 1; layer <= kLayers; ++layer) {
    const auto parts = [&](int of_tool) {
      for (const double part_x_mm : {20.0, 70.0})
        layout.outline(layer, part_x_mm + 2 * of_tool, 20 + 2 * of_tool, 36 - 4 * of_tool,
                       30 - 4 * of_tool, 14.0 - 3.0 * of_tool);
    };
    parts(tool);
    if (layer % 6 == 0)
      continue;
    layout.swap(tool = 1 - tool);
    layout.hatch(layer, x_mm, y_mm, wide_mm, deep_mm, 11.0, true);
    parts(tool);
  }
  return layout;
}

/// A line beside the parts, that every swap goes over first.
Layout with_lines() {
  Layout layout;
  layout.swap(0);
  int tool = 0;
  for (std::uint32_t layer = 1; layer <= kLayers; ++layer) {
    layout.outline(layer, 20, 20, 60, 40, 25.0);
    layout.swap(tool = 1 - tool);
    layout.hatch(layer, 150, 150, 1, 30, 7.0, true);
    layout.outline(layer, 25, 25, 50, 30, 20.0);
  }
  return layout;
}

/// Two tools without a tower: in each layer the one in hand lays its own, then the other one comes.
template <typename Lay>
Layout taking_turns(const Lay& lay_own) {
  Layout layout;
  layout.swap(0);
  int tool = 0;
  for (std::uint32_t layer = 1; layer <= kLayers; ++layer) {
    lay_own(layout, layer, tool);
    layout.swap(tool = 1 - tool);
    lay_own(layout, layer, tool);
  }
  return layout;
}

/// Lanterns of one colour each: a swap leads straight to the tool's own.
Layout a_part_for_each_tool(int parts_each) {
  return taking_turns([&](Layout& layout, std::uint32_t layer, int tool) {
    for (int part = 0; part < parts_each; ++part)
      layout.outline(layer, 20 + 30 * part, 20 + 60 * tool, 20, 20, 9.0 + tool);
  });
}

/// Small tags, all in two colours: what is laid first after a swap is the first tag.
Layout small_parts() {
  return taking_turns([](Layout& layout, std::uint32_t layer, int tool) {
    for (int tag = 0; tag < 8; ++tag)
      layout.outline(layer, 20 + 18 * tag + 3 * tool, 40 + 3 * tool, 12 - 6 * tool, 12 - 6 * tool,
                     5.0 - 2.0 * tool);
  });
}

/// One lantern whose inner wall is of another colour: both tools lay it in every layer.
Layout one_part_of_two_colours() {
  return taking_turns([](Layout& layout, std::uint32_t layer, int tool) {
    layout.outline(layer, 60 + 4 * tool, 60 + 4 * tool, 60 - 8 * tool, 60 - 8 * tool,
                   20.0 + 5.0 * tool);
  });
}

/// Tools come in a fixed order in every layer, three of them, and a tower takes them all.
Layout three_colours() {
  Layout layout;
  layout.swap(0);
  for (std::uint32_t layer = 1; layer <= kLayers; ++layer)
    for (int nth = 0; nth < 3; ++nth) {
      const int tool = layer % 2 == 0 ? 2 - nth : nth;
      if (nth > 0) {
        layout.swap(tool);
        layout.hatch(layer, 160, 20 + 5 * nth, 14, 4, 8.0, true);
      }
      layout.outline(layer, 20 + 3 * tool, 20 + 3 * tool, 60 - 6 * tool, 50 - 6 * tool, 16.0);
      if (layer % 8 == 0)
        break;  // and the next layer is begun with another tool than its order says
    }
  return layout;
}

struct Case {
  const char* name;
  Layout (*layout)();
  bool is_tower;
};

Layout tower_amid() {
  return with_tower(150, 150);
}
Layout tower_at_the_edge() {
  return with_tower(187.5, 187.5);
}
Layout tower_beside_the_part() {
  return with_tower(109, 20, 10, 20);
}
Layout tower_of_stripes() {
  return with_tower(150, 20, 3, 60);
}
Layout lanterns() {
  return a_part_for_each_tool(1);
}
Layout rows_of_lanterns() {
  return a_part_for_each_tool(5);
}

class KnownLayout : public testing::TestWithParam<Case> {};

TEST_P(KnownLayout, IsSeenAsWhatItIs) {
  const Seen seen = look(GetParam().layout());
  if (!GetParam().is_tower) {
    EXPECT_NE(seen.finding.verdict, TowerVerdict::tower) << explain(seen.finding);
    return;
  }
  EXPECT_EQ(seen.finding.verdict, TowerVerdict::tower) << explain(seen.finding);
  EXPECT_NEAR(seen.found_mm, seen.tower_mm, 1e-9);
  EXPECT_EQ(seen.wrong_mm, 0.0);
  EXPECT_EQ(seen.finding.places.size(), 1U);
}

void expect_same(const Seen& seen, const Seen& other) {
  EXPECT_EQ(other.finding.verdict, seen.finding.verdict) << explain(other.finding);
  EXPECT_EQ(other.finding.visits, seen.finding.visits);
  EXPECT_EQ(other.finding.evidence.landings, seen.finding.evidence.landings);
  EXPECT_EQ(other.finding.evidence.landed, seen.finding.evidence.landed);
  EXPECT_EQ(other.finding.evidence.left, seen.finding.evidence.left);
  EXPECT_EQ(other.finding.evidence.places, seen.finding.evidence.places);
  EXPECT_EQ(other.finding.evidence.quiet, seen.finding.evidence.quiet);
  EXPECT_EQ(other.finding.evidence.returns.absent, seen.finding.evidence.returns.absent);
  EXPECT_EQ(other.finding.evidence.returns.alike, seen.finding.evidence.returns.alike);
  EXPECT_EQ(other.finding.evidence.above, seen.finding.evidence.above);
  EXPECT_NEAR(other.found_mm, seen.found_mm, 1e-9);
}

TEST_P(KnownLayout, IsTheSameFromEverySide) {
  const Layout layout = GetParam().layout();
  const Seen seen = look(layout);
  const View views[] = {
      {"mirrored left to right",
       [](Corner c) {
         return Corner{200 - c.x_mm, c.y_mm};
       }},
      {"mirrored front to back",
       [](Corner c) {
         return Corner{c.x_mm, 200 - c.y_mm};
       }},
      {"turned a quarter",
       [](Corner c) {
         return Corner{200 - c.y_mm, c.x_mm};
       }},
      {"turned by half",
       [](Corner c) {
         return Corner{200 - c.x_mm, 200 - c.y_mm};
       }},
      {"on the diagonal",
       [](Corner c) {
         return Corner{c.y_mm, c.x_mm};
       }},
      {"moved",
       [](Corner c) {
         return Corner{c.x_mm - 137.25, c.y_mm + 411.1};
       }},
  };
  for (const View& view : views) {
    SCOPED_TRACE(view.name);
    expect_same(seen, look(layout, view));
  }
}

TEST_P(KnownLayout, IsTheSameWhateverItsToolsAreNumbered) {
  const Layout layout = GetParam().layout();
  const Seen seen = look(layout);
  for (const std::array<int, 3>& tools :
       {std::array{1, 0, 2}, std::array{2, 1, 0}, std::array{2, 0, 1}, std::array{1, 2, 0}}) {
    View view;
    view.tools = tools;
    expect_same(seen, look(layout, view));
  }
}

TEST_P(KnownLayout, IsTheSameSlowerAndOnAPlinth) {
  const Layout layout = GetParam().layout();
  const Seen seen = look(layout);
  View slow;
  slow.seconds = 7.5;
  expect_same(seen, look(layout, slow));
  View raised;
  raised.layers_below = 300;
  expect_same(seen, look(layout, raised));
}

INSTANTIATE_TEST_SUITE_P(
    Plate, KnownLayout,
    testing::Values(Case{"tower amid", tower_amid, true},
                    Case{"tower at the edge", tower_at_the_edge, true},
                    Case{"tower beside the part", tower_beside_the_part, true},
                    Case{"tower of stripes", tower_of_stripes, true},
                    Case{"three colours on a tower", three_colours, true},
                    Case{"a line at every swap", with_lines, true},
                    Case{"a lantern for each tool", lanterns, false},
                    Case{"rows of lanterns", rows_of_lanterns, false},
                    Case{"small tags of two colours", small_parts, false},
                    Case{"one part of two colours", one_part_of_two_colours, false}),
    [](const auto& plate) { return platetally::test::readable(plate.param.name); });

struct Part {
  double x_mm, y_mm, wide_mm, deep_mm;
  std::vector<int> tools;  ///< one wall inside the other
};

std::vector<Part> any_parts(std::mt19937& random) {
  std::vector<Part> parts;
  const auto count = static_cast<unsigned>(1 + random() % 5);
  for (unsigned i = 0; i < count; ++i) {
    Part part{15.0 + 45.0 * (i % 3),
              15.0 + 60.0 * (i / 3),
              15.0 + static_cast<double>(random() % 20),
              15.0 + static_cast<double>(random() % 25),
              {}};
    for (int tool = 0; tool < 3; ++tool)
      if (random() % 2 == 0)
        part.tools.push_back(tool);
    if (part.tools.empty())
      part.tools.push_back(static_cast<int>(random() % 3));
    parts.push_back(part);
  }
  return parts;
}

struct Style {
  bool has_tower = false;
  bool has_wall = false;    ///< laid before the tower's first fill of a layer
  bool has_shell = false;   ///< and in layers without a swap, by who is in hand
  bool has_pauses = false;  ///< layers of the tool in hand alone
};

/// Parts of one to three colours; tools come by their numbers, or the one in hand goes on.
Layout any_plate(std::mt19937& random, const Style& style) {
  const std::vector<Part> parts = any_parts(random);
  const auto is_used = [&parts](int tool) {
    return std::ranges::any_of(
        parts, [tool](const Part& part) { return std::ranges::count(part.tools, tool) > 0; });
  };
  std::vector<int> used;
  for (int tool = 0; tool < 3; ++tool)
    if (is_used(tool))
      used.push_back(tool);
  Layout layout;
  int in_hand = used.front();
  layout.swap(in_hand);
  const auto layers = static_cast<std::uint32_t>(12 + random() % 30);
  const bool goes_on = random() % 2 == 0;
  const auto pause_every = static_cast<std::uint32_t>(2 + random() % 5);
  const auto lay_wall = [&layout](std::uint32_t layer) {
    layout.outline(layer, 159, 149, 16, 14, 3.0, true);
  };
  for (std::uint32_t layer = 1; layer <= layers; ++layer) {
    std::vector<int> order = used;
    if (const auto held = std::ranges::find(order, in_hand); goes_on)
      std::rotate(order.begin(), held, held + 1);
    if (style.has_pauses && layer % pause_every == 0)
      order = {in_hand};
    bool has_wall = !style.has_wall;
    for (const int tool : order) {
      if (tool != in_hand) {
        layout.swap(in_hand = tool);
        if (!has_wall)
          lay_wall(layer);
        has_wall = true;
        if (style.has_tower)
          layout.hatch(layer, 160, 150, 14, 12, 9.0, true);
      }
      for (const Part& part : parts)
        for (std::size_t nth = 0; nth < part.tools.size(); ++nth)
          if (part.tools[nth] == tool) {
            const double in_mm = 1.5 * static_cast<double>(nth);
            layout.outline(layer, part.x_mm + in_mm, part.y_mm + in_mm, part.wide_mm - 2 * in_mm,
                           part.deep_mm - 2 * in_mm, 5.0 + 0.1 * (part.wide_mm - 2 * in_mm));
          }
    }
    if (style.has_shell && !has_wall)
      lay_wall(layer);
  }
  return layout;
}

TEST(RandomPlates, HaveATowerWhereOneWasBuilt) {
  std::mt19937 random(5);
  for (const Style& style : {Style{true, false, false, false}, Style{true, false, false, true},
                             Style{true, true, false, true}, Style{true, true, true, true}}) {
    int with_swaps = 0;
    for (int round = 0; round < 100; ++round) {
      SCOPED_TRACE(round);
      const Seen seen = look(any_plate(random, style));
      if (seen.finding.verdict == TowerVerdict::no_swaps)
        continue;
      ++with_swaps;
      EXPECT_EQ(seen.finding.verdict, TowerVerdict::tower) << explain(seen.finding);
      EXPECT_NEAR(seen.found_mm, seen.tower_mm, 1e-9);
      EXPECT_EQ(seen.wrong_mm, 0.0);
    }
    EXPECT_GT(with_swaps, 60);
  }
}

TEST(RandomPlates, HaveNoneWhereNoneWasBuilt) {
  std::mt19937 random(6);
  int none = 0, with_swaps = 0;
  for (int round = 0; round < 300; ++round) {
    SCOPED_TRACE(round);
    // In every other plate a colour is missing in some layers, which leaves doubt.
    const bool has_pauses = round % 2 == 0;
    const Seen seen = look(any_plate(random, {false, false, false, has_pauses}));
    if (seen.finding.verdict == TowerVerdict::no_swaps)
      continue;
    ++with_swaps;
    none += seen.finding.verdict == TowerVerdict::none;
    EXPECT_NE(seen.finding.verdict, TowerVerdict::tower) << explain(seen.finding);
    if (!has_pauses) {
      EXPECT_EQ(seen.finding.verdict, TowerVerdict::none) << explain(seen.finding);
    }
  }
  EXPECT_GT(none, 0.85 * with_swaps);
}

/// Two lanterns of two colours whose outer wall is always the first tool's: in the first layer it
/// is laid without a swap, and looks like a thin wall around what the other tool lays.
TEST(Lanterns, WhoseOuterWallIsThinAreNoTower) {
  Layout layout;
  layout.swap(0);
  for (std::uint32_t layer = 1; layer <= 20; ++layer)
    for (const int tool : {0, 1}) {
      if (layer > 1 || tool == 1)
        layout.swap(tool);
      layout.outline(layer, 20 + 2 * tool, 20 + 2 * tool, 40 - 4 * tool, 40 - 4 * tool, 9.0);
      layout.outline(layer, 90 + 2 * tool, 20 + 2 * tool, 55 - 4 * tool, 30 - 4 * tool, 9.5);
    }
  const TowerFinding finding = look(layout).finding;
  EXPECT_EQ(finding.verdict, TowerVerdict::none) << explain(finding);
  EXPECT_EQ(finding.evidence.returns.alike, 1U) << "what it lays when it lands";
  EXPECT_EQ(finding.evidence.returns.around, 0U);
}

/// Each tool lands on a line of its own; the lines stand so far apart.
Layout two_lines(double gap_mm, double shift_mm) {
  Layout layout;
  layout.swap(0);
  int tool = 0;
  for (std::uint32_t layer = 1; layer <= 16; ++layer) {
    layout.outline(layer, 20, 20, 60, 40, 25.0);
    layout.swap(tool = 1 - tool);
    layout.hatch(layer, 150 + shift_mm + tool * (4.0 + gap_mm), 150, 4.0, 30, 9.0, true);
    layout.outline(layer, 25, 25, 50, 30, 20.0);
  }
  return layout;
}

// 3 mm is the bound, and a place is known to within a bead, less than half a millimetre.
TEST(Lines, AreOnePlaceUpToThreeMillimetresApart) {
  for (const double shift_mm : {0.0, 0.11, 0.23, 0.37}) {
    EXPECT_EQ(look(two_lines(1.5, shift_mm)).finding.evidence.places, 1U) << shift_mm;
    EXPECT_EQ(look(two_lines(2.4, shift_mm)).finding.evidence.places, 1U) << shift_mm;
    EXPECT_EQ(look(two_lines(3.5, shift_mm)).finding.evidence.places, 2U) << shift_mm;
    EXPECT_EQ(look(two_lines(8.0, shift_mm)).finding.evidence.places, 2U) << shift_mm;
  }
}

TEST(Explanation, NamesTheShareThePlacesAndEveryReason) {
  const TowerFinding finding = look(tower_amid()).finding;
  const std::string text = explain(finding);
  EXPECT_TRUE(text.starts_with("100 % of the swaps lead to one place first; ")) << text;
  double sum = 0.0;
  for (const TowerReason& reason : finding.reasons) {
    EXPECT_NE(text.find(reason.text), std::string::npos) << reason.text;
    EXPECT_NE(reason.weight, 0.0);
    sum += reason.weight;
  }
  EXPECT_GE(sum, 3.0) << "which a tower takes";
  EXPECT_EQ(text.find("settles it"), std::string::npos) << "nothing is to be settled";
  const TowerFinding apart = look(two_lines(20.0, 0.0)).finding;
  EXPECT_NE(explain(apart).find("lead to 2 places first"), std::string::npos) << explain(apart);
}

TEST(Verdict, HasANameEach) {
  EXPECT_EQ(name_of(TowerVerdict::no_swaps), "no-swaps");
  EXPECT_EQ(name_of(TowerVerdict::none), "none");
  EXPECT_EQ(name_of(TowerVerdict::tower), "tower");
  EXPECT_EQ(name_of(TowerVerdict::undecided), "undecided");
  EXPECT_EQ(explain(TowerFinding{}), "no tool lays anything after a swap");
}

}  // namespace
}  // namespace platetally::swaps
