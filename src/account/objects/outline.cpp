#include "account/objects/outline.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

namespace platetally::objects {

namespace {

/// An edge of a cell that has no neighbour of its kind there, from corner to corner, the cell to
/// the left. Direction 0 .. 3: right, up, left, down.
struct Edge {
  std::array<int, 2> from{};
  std::uint8_t direction = 0;
  bool taken = false;
};

constexpr std::array<std::array<int, 2>, 4> kSteps{{{1, 0}, {0, 1}, {-1, 0}, {0, -1}}};

auto place_of(const Edge& edge) {
  return std::tuple(edge.from[1], edge.from[0], edge.direction);
}

std::vector<Edge> edges_of(const CellSet& cells) {
  const auto by_row = [](const std::array<int, 2>& cell) { return std::tuple(cell[1], cell[0]); };
  const auto holds = [&](int column, int row) {
    return std::ranges::binary_search(cells, std::tuple(row, column), {}, by_row);
  };
  std::vector<Edge> edges;
  for (const auto& [column, row] : cells) {
    if (!holds(column, row - 1))
      edges.push_back({{column, row}, 0});
    if (!holds(column + 1, row))
      edges.push_back({{column + 1, row}, 1});
    if (!holds(column, row + 1))
      edges.push_back({{column + 1, row + 1}, 2});
    if (!holds(column - 1, row))
      edges.push_back({{column, row + 1}, 3});
  }
  std::ranges::sort(edges, {}, place_of);
  return edges;
}

/// The edge that goes on from the end of one: of two at a corner where cells touch, the one to the
/// left, so that the ring keeps to its cell.
Edge* next_of(const Edge& edge, std::vector<Edge>& edges) {
  const std::array<int, 2> at{edge.from[0] + kSteps[edge.direction][0],
                              edge.from[1] + kSteps[edge.direction][1]};
  for (const int turn : {1, 0, 3}) {
    const auto direction = static_cast<std::uint8_t>((edge.direction + turn) % 4);
    const auto found =
        std::ranges::lower_bound(edges, std::tuple(at[1], at[0], direction), {}, place_of);
    if (found != edges.end() && place_of(*found) == std::tuple(at[1], at[0], direction) &&
        !found->taken)
      return &*found;
  }
  return nullptr;
}

Ring ring_from(Edge& first, std::vector<Edge>& edges) {
  Ring ring;
  Edge* edge = &first;
  std::uint8_t direction = 0xFF;
  while (edge != nullptr) {
    edge->taken = true;
    if (edge->direction != direction)
      ring.push_back({static_cast<double>(edge->from[0]), static_cast<double>(edge->from[1])});
    direction = edge->direction;
    edge = next_of(*edge, edges);
  }
  if (ring.size() > 1 && direction == first.direction)
    ring.erase(ring.begin());  // it began in the middle of an edge
  return ring;
}

double distance(const Point& point, const Point& from, const Point& to) {
  const double dx = to[0] - from[0];
  const double dy = to[1] - from[1];
  const double length = std::hypot(dx, dy);
  if (length <= 0.0)
    return std::hypot(point[0] - from[0], point[1] - from[1]);
  return std::abs(dx * (from[1] - point[1]) - dy * (from[0] - point[0])) / length;
}

/// Keeps of the points between two the furthest one, if it is further than `most` from the line
/// (Ramer 1972, Douglas and Peucker 1973), with a stack of its own.
void keep_far(const Ring& ring, std::size_t from, std::size_t to, double most,
              std::vector<bool>& keeps) {
  std::vector<std::pair<std::size_t, std::size_t>> spans{{from, to}};
  while (!spans.empty()) {
    const auto [first, last] = spans.back();
    spans.pop_back();
    std::size_t furthest = first;
    double far = most;
    for (std::size_t i = first + 1; i < last; ++i)
      if (const double away =
              distance(ring[i % ring.size()], ring[first % ring.size()], ring[last % ring.size()]);
          away > far) {
        far = away;
        furthest = i;
      }
    if (furthest == first)
      continue;
    keeps[furthest % ring.size()] = true;
    spans.emplace_back(first, furthest);
    spans.emplace_back(furthest, last);
  }
}

}  // namespace

std::vector<Ring> rings_around(const CellSet& cells) {
  std::vector<Edge> edges = edges_of(cells);
  std::vector<Ring> rings;
  for (Edge& edge : edges)
    if (!edge.taken)
      rings.push_back(ring_from(edge, edges));
  return rings;
}

Ring simplified(const Ring& ring, double most) {
  if (ring.size() < 5)
    return ring;
  // Between two points that stay: the first, and the one furthest from it.
  std::size_t far = 0;
  for (std::size_t i = 1; i < ring.size(); ++i)
    if (std::hypot(ring[i][0] - ring[0][0], ring[i][1] - ring[0][1]) >
        std::hypot(ring[far][0] - ring[0][0], ring[far][1] - ring[0][1]))
      far = i;
  std::vector<bool> keeps(ring.size(), false);
  keeps[0] = keeps[far] = true;
  keep_far(ring, 0, far, most, keeps);
  keep_far(ring, far, ring.size(), most, keeps);
  Ring simple;
  for (std::size_t i = 0; i < ring.size(); ++i)
    if (keeps[i])
      simple.push_back(ring[i]);
  return simple.size() < 3 ? ring : simple;
}

namespace {

constexpr double kStep = 0.75;  // of a cell: a little more than a step of a slanting edge is off

std::vector<Ring> drawn(CellSet& set, const CellTiles& cells) {
  std::ranges::sort(set, {},
                    [](const std::array<int, 2>& cell) { return std::tuple(cell[1], cell[0]); });
  std::vector<Ring> rings = rings_around(set);
  for (Ring& ring : rings) {
    ring = simplified(ring, kStep);
    for (Point& point : ring)
      point = {cells.x_mm(0) + point[0] * cells.cell_mm(),
               cells.y_mm(0) + point[1] * cells.cell_mm()};
  }
  return rings;
}

}  // namespace

PlatePicture draw_areas(const CellTiles& cells,
                        const std::function<AreaKey(int column, int row, const Cell&)>& key_of) {
  constexpr int kAnyTool = -1;
  std::map<std::tuple<std::uint32_t, AreaUse, int>, CellSet> areas;
  std::map<std::uint32_t, CellSet> outlines;
  cells.each([&](int column, int row, const Cell& cell) {
    const AreaKey key = key_of(column, row, cell);
    if (!key.is_laid)
      return;
    areas[{key.object, key.use, key.tool}].push_back({column, row});
    if (key.object > 0)
      outlines[key.object].push_back({column, row});
  });
  PlatePicture picture;
  picture.cell_mm = cells.cell_mm();
  for (auto& [key, set] : areas)
    picture.areas.push_back(
        {std::get<1>(key), std::get<2>(key), std::get<0>(key), drawn(set, cells)});
  for (auto& [object, set] : outlines)
    picture.outlines.push_back({AreaUse::part, kAnyTool, object, drawn(set, cells)});
  return picture;
}

}  // namespace platetally::objects
