// Copies from the raster of what lies on the bed: islands with the same extents, give or take a
// cell.
#include <algorithm>
#include <cstdlib>

#include "account/findings/savings.hpp"

namespace platetally::findings {

namespace {

struct Island {
  std::ptrdiff_t left, right, front, back;
  std::ptrdiff_t cells = 0;

  bool looks_like(const Island& other) const {
    const auto near = [](std::ptrdiff_t a, std::ptrdiff_t b) { return std::abs(a - b) <= 1; };
    return near(right - left, other.right - other.left) &&
           near(back - front, other.back - other.front) &&
           4 * std::abs(cells - other.cells) <= std::max(cells, other.cells) + 4;
  }
};

std::vector<Island> islands_of(const ledgers::Footprint& footprint) {
  const auto columns = static_cast<std::ptrdiff_t>(footprint.columns());
  const auto rows = static_cast<std::ptrdiff_t>(footprint.rows());
  std::vector<bool> seen(footprint.columns() * footprint.rows());
  std::vector<Island> islands;
  std::vector<std::ptrdiff_t> open;
  for (std::ptrdiff_t start = 0; start < columns * rows; ++start) {
    const auto visit = [&](std::ptrdiff_t column, std::ptrdiff_t row) {
      if (column < 0 || row < 0 || column >= columns || row >= rows)
        return;
      const std::ptrdiff_t at = row * columns + column;
      if (seen[static_cast<std::size_t>(at)] ||
          !footprint.laid(static_cast<std::size_t>(column), static_cast<std::size_t>(row)))
        return;
      seen[static_cast<std::size_t>(at)] = true;
      open.push_back(at);
    };
    visit(start % columns, start / columns);
    if (open.empty())
      continue;
    Island island{columns, -1, rows, -1};
    while (!open.empty()) {
      const std::ptrdiff_t column = open.back() % columns;
      const std::ptrdiff_t row = open.back() / columns;
      open.pop_back();
      ++island.cells;
      island.left = std::min(island.left, column);
      island.right = std::max(island.right, column);
      island.front = std::min(island.front, row);
      island.back = std::max(island.back, row);
      for (std::ptrdiff_t dy = -1; dy <= 1; ++dy)
        for (std::ptrdiff_t dx = -1; dx <= 1; ++dx)
          visit(column + dx, row + dy);
    }
    islands.push_back(island);
  }
  return islands;
}

}  // namespace

std::size_t count_copies(const ledgers::Footprint& footprint) {
  const std::vector<Island> islands = islands_of(footprint);
  std::size_t most = 1;
  // Beyond a few hundred islands the raster shows texture, not copies.
  if (islands.size() > 500)
    return most;
  for (const Island& island : islands)
    most = std::max(most,
                    static_cast<std::size_t>(std::ranges::count_if(
                        islands, [&](const Island& other) { return island.looks_like(other); })));
  return most;
}

}  // namespace platetally::findings
