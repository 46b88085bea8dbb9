// Plates of known truth, told visit by visit, and the ways to look at one from another side.
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "material/swaps/support.hpp"
#include "material/swaps/tower_finder.hpp"

namespace platetally::swaps::test_layouts {

struct Corner {
  double x_mm = 0.0, y_mm = 0.0;
};

/// A swap, or strokes from corner to corner.
struct Step {
  int swap_to = -1;
  std::uint32_t layer = 0;
  std::vector<Corner> corners;
  double e_mm = 0.0;
  bool is_tower = false;  ///< the truth
};

struct Layout {
  std::vector<Step> steps;

  Layout& swap(int to) {
    steps.push_back({to, 0, {}, 0.0, false});
    return *this;
  }
  Layout& outline(std::uint32_t layer, double x_mm, double y_mm, double wide_mm, double deep_mm,
                  double e_mm, bool is_tower = false) {
    steps.push_back({-1,
                     layer,
                     {{x_mm, y_mm},
                      {x_mm + wide_mm, y_mm},
                      {x_mm + wide_mm, y_mm + deep_mm},
                      {x_mm, y_mm + deep_mm},
                      {x_mm, y_mm}},
                     e_mm,
                     is_tower});
    return *this;
  }
  /// Up and down, a millimetre apart: no loop.
  Layout& hatch(std::uint32_t layer, double x_mm, double y_mm, double wide_mm, double deep_mm,
                double e_mm, bool is_tower = false) {
    Step step{-1, layer, {}, e_mm, is_tower};
    bool up = false;
    for (double across_mm = 0.0; across_mm <= wide_mm; across_mm += 1.0, up = !up)
      for (const bool far : {up, !up})
        step.corners.push_back({x_mm + across_mm, y_mm + (far ? deep_mm : 0.0)});
    steps.push_back(step);
    return *this;
  }
};

/// Another side of the same plate: what decides must not change.
struct View {
  std::string name;
  std::function<Corner(Corner)> place = [](Corner corner) { return corner; };
  std::array<int, 3> tools{0, 1, 2};  ///< the number of each
  std::uint32_t layers_below = 0;
  double seconds = 0.1;  ///< of a stroke
};

struct Seen {
  TowerFinding finding;
  std::vector<bool> truth;  ///< by visit: it is the tower's
  double tower_mm = 0.0;
  double found_mm = 0.0;
  double wrong_mm = 0.0;  ///< found, and the part's
};

inline Machine three_tools() {
  Machine machine = two_tools();
  machine.heads.resize(3);
  machine.tools.resize(3);
  for (int tool = 0; tool < 3; ++tool)
    machine.tools[static_cast<std::size_t>(tool)].head = tool;
  return machine;
}

inline Seen look(const Layout& layout, const View& view = {}) {
  const Machine machine = three_tools();
  DepositLog log(machine);
  Seen seen;
  int tool = -1;
  test::Point at{};
  std::vector<bool> truth;
  for (const Step& step : layout.steps) {
    if (step.swap_to >= 0) {
      const int to = view.tools[static_cast<std::size_t>(step.swap_to)];
      log.take(test::select(to, tool),
               {tool < 0 ? timeline::Selection::first : timeline::Selection::swap, tool, to}, {});
      tool = to;
      continue;
    }
    const std::uint32_t layer = step.layer + view.layers_below;
    const auto point = [&](const Corner& corner) {
      const Corner placed = view.place(corner);
      return test::Point{placed.x_mm, placed.y_mm, 0.2 * layer};
    };
    log.take(test::move(at, point(step.corners.front()), 0.0, view.seconds, tool, layer), {}, {});
    const double each_mm = step.e_mm / static_cast<double>(step.corners.size() - 1);
    for (std::size_t i = 1; i < step.corners.size(); ++i)
      log.take(test::move(point(step.corners[i - 1]), point(step.corners[i]), each_mm, view.seconds,
                          tool, layer),
               {}, {Use::part, Mark::none, each_mm, 0.0});
    at = point(step.corners.back());
    truth.push_back(step.is_tower);
    seen.tower_mm += step.is_tower ? step.e_mm : 0.0;
  }
  seen.truth = truth;
  seen.finding = find_tower(log);
  for (const std::size_t visit : seen.finding.visits) {
    seen.found_mm += log.visits()[visit].part_mm;
    seen.wrong_mm += truth[visit] ? 0.0 : log.visits()[visit].part_mm;
  }
  return seen;
}

}  // namespace platetally::swaps::test_layouts
