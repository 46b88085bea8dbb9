// Strokes are sampled every cell; a cell that was laid in another, near layer is compared with who
// lays it now. Islands: cells that touch are united (R. E. Tarjan's disjoint sets, from memory).
#include "material/swaps/deposit_map.hpp"

#include <algorithm>
#include <cmath>

#include "base/give_back.hpp"

namespace platetally::swaps {

namespace {

constexpr double kFarthestMm = 1500.0;
constexpr std::size_t kMostTiles = 4096;
constexpr std::size_t kNoCell = static_cast<std::size_t>(-1);
constexpr std::uint16_t kNearLayers = 8;  // farther apart, a part's colours may have moved

}  // namespace

DepositMap::DepositMap(double cell_mm)
    : cell_mm_(std::max(cell_mm, 2.0 * kFarthestMm / (kTile * kTilesAcross))),
      cells_per_mm_(1.0 / cell_mm_) {}

void DepositMap::forget() {
  base::give_back(tile_of_);
  base::give_back(cells_);
}

DepositMap::Cell DepositMap::cell_of(const Layer& layer) {
  return (layer.ordinal % 65535U + 1U) | (static_cast<Cell>(layer.tool) & 0x7FU) << 16U |
         (layer.ordinal > 1 ? kAboveFoot : 0U) | static_cast<Cell>(layer.rank) << 24U;
}

std::size_t DepositMap::find_cell(std::uint32_t column, std::uint32_t row) {
  std::int32_t& tile =
      tile_of_[static_cast<std::size_t>(row / kTile) * kTilesAcross + column / kTile];
  if (tile < 0) [[unlikely]] {
    const std::size_t tiles = cells_.size() / kCells;
    if (tiles >= kMostTiles)
      return kNoCell;
    tile = static_cast<std::int32_t>(tiles);
    cells_.resize(cells_.size() + kCells, 0);
  }
  return static_cast<std::size_t>(tile) * kCells + (row % kTile) * kTile + column % kTile;
}

void DepositMap::relay(Cell& cell, Cell now, Relaid& relaid) {
  const auto layers = static_cast<std::uint16_t>(now - cell);  // of the ordinals, in 16 bits
  if (cell != 0 && layers != 0 && layers <= kNearLayers) {
    const auto count = [](std::uint16_t& counter, bool by) {
      counter = static_cast<std::uint16_t>(counter + (by && counter < 65535));
    };
    const std::uint32_t rank = now >> 24U;
    const bool changed = ((cell ^ now) & 0x7F0000U) != 0;
    const bool on_carried = cell >> 24U == kNoRank && rank != kNoRank;
    count(relaid.same, !changed);
    count(relaid.changed, changed);
    count(relaid.changed_in_order, changed && rank != kNoRank && cell >> 24U == rank);
    count(relaid.same_on_carried, !changed && on_carried);
    count(relaid.changed_on_carried, changed && on_carried);
  }
  cell = now | (cell & kAboveFoot);
}

void DepositMap::draw(double from_x_mm, double from_y_mm, double to_x_mm, double to_y_mm,
                      const Layer& layer, Relaid& relaid) {
  const auto is_near = [](double mm) { return std::abs(mm) < kFarthestMm - 1.0; };
  if (!is_near(from_x_mm) || !is_near(from_y_mm) || !is_near(to_x_mm) || !is_near(to_y_mm))
    return;
  if (tile_of_.empty())
    tile_of_.assign(static_cast<std::size_t>(kTilesAcross) * kTilesAcross, -1);
  // Places in 1/2^16 of a cell.
  constexpr double kParts = 65536.0;
  const auto column = static_cast<std::int64_t>((from_x_mm + kFarthestMm) * cells_per_mm_ * kParts);
  const auto row = static_cast<std::int64_t>((from_y_mm + kFarthestMm) * cells_per_mm_ * kParts);
  const double across = (to_x_mm - from_x_mm) * cells_per_mm_;
  const double along = (to_y_mm - from_y_mm) * cells_per_mm_;
  const auto steps = static_cast<std::int64_t>(std::max(std::abs(across), std::abs(along))) + 1;
  const auto step_across = static_cast<std::int64_t>(across * kParts) / steps;
  const auto step_along = static_cast<std::int64_t>(along * kParts) / steps;
  const Cell now = cell_of(layer);
  for (std::int64_t step = 0; step <= steps; ++step) {
    const std::size_t cell =
        find_cell(static_cast<std::uint32_t>((column + step * step_across) >> 16),
                  static_cast<std::uint32_t>((row + step * step_along) >> 16));
    if (cell != kNoCell && cells_[cell] != now)
      relay(cells_[cell], now, relaid);
  }
}

/// Finds islands: cells that touch are united, in pairs, first those laid above the first layer. A
/// cell laid in the first layer alone goes to the island that it is nearest to, so two brims that
/// touch unite nothing.
class Flood {
 public:
  Flood(const DepositMap& map, Islands& found) : map_(map), found_(found) {}

  void all(bool with_foot) {
    parent_.assign(map_.cells_.size(), kNoParent);
    const DepositMap::Cell wanted = with_foot ? ~DepositMap::Cell{0} : DepositMap::kAboveFoot;
    for (std::size_t i = 0; i < parent_.size(); ++i)
      if ((map_.cells_[i] & wanted) != 0)
        parent_[i] = static_cast<std::int32_t>(i);
    each_pair([this](std::size_t a, std::size_t b) { unite(a, b); });
    if (!with_foot) {
      add_feet();
      for (std::size_t i = 0; i < parent_.size(); ++i)
        if (parent_[i] == kNoParent && map_.cells_[i] != 0)
          parent_[i] = static_cast<std::int32_t>(i);
      each_pair([this](std::size_t a, std::size_t b) {
        if (is_foot_alone(a) && is_foot_alone(b))
          unite(a, b);
      });
    }
    number();
  }

 private:
  static constexpr std::int32_t kNoParent = -1;
  static constexpr std::int32_t kTile = DepositMap::kTile;

  std::int32_t root_of(std::int32_t cell) {
    while (parent_[static_cast<std::size_t>(cell)] != cell) {
      std::int32_t& parent = parent_[static_cast<std::size_t>(cell)];
      parent = parent_[static_cast<std::size_t>(parent)];
      cell = parent;
    }
    return cell;
  }

  void unite(std::size_t a, std::size_t b) {
    if (parent_[a] == kNoParent || parent_[b] == kNoParent)
      return;
    const std::int32_t one = root_of(static_cast<std::int32_t>(a));
    const std::int32_t other = root_of(static_cast<std::int32_t>(b));
    parent_[static_cast<std::size_t>(std::max(one, other))] = std::min(one, other);
  }

  bool is_foot_alone(std::size_t cell) {
    return (map_.cells_[static_cast<std::size_t>(root_of(static_cast<std::int32_t>(cell)))] &
            DepositMap::kAboveFoot) == 0;
  }

  /// Every two cells that touch and were laid on, once.
  template <typename Function>
  void each_pair(Function function) {
    for_each_cell([&](std::size_t cell, std::int32_t column, std::int32_t row) {
      if (map_.cells_[cell] == 0)
        return;
      constexpr std::int32_t kAround[4][2] = {{1, 0}, {-1, 1}, {0, 1}, {1, 1}};
      for (const auto& [across, down] : kAround) {
        const std::size_t other = cell_at(cell, column, row, across, down);
        if (other != kNoCell && map_.cells_[other] != 0)
          function(cell, other);
      }
    });
  }

  template <typename Function>
  void for_each_cell(Function function) {
    for (std::size_t place = 0; place < map_.tile_of_.size(); ++place) {
      const std::int32_t tile = map_.tile_of_[place];
      if (tile < 0)
        continue;
      const auto left = static_cast<std::int32_t>(place % DepositMap::kTilesAcross) * kTile;
      const auto top = static_cast<std::int32_t>(place / DepositMap::kTilesAcross) * kTile;
      for (std::size_t i = 0; i < DepositMap::kCells; ++i)
        function(static_cast<std::size_t>(tile) * DepositMap::kCells + i,
                 left + static_cast<std::int32_t>(i) % kTile,
                 top + static_cast<std::int32_t>(i) / kTile);
    }
  }

  /// The cell beside one, kNoCell where nothing was laid near it.
  std::size_t cell_at(std::size_t cell, std::int32_t column, std::int32_t row, std::int32_t across,
                      std::int32_t down) const {
    const std::int32_t x = column % kTile + across;
    const std::int32_t y = row % kTile + down;
    if (x >= 0 && x < kTile && y >= 0 && y < kTile)
      return static_cast<std::size_t>(static_cast<std::int64_t>(cell) + down * kTile + across);
    constexpr std::int32_t kAcross = DepositMap::kTile * DepositMap::kTilesAcross;
    column += across;
    row += down;
    if (column < 0 || row < 0 || column >= kAcross || row >= kAcross)
      return kNoCell;
    const std::int32_t tile = map_.tile_at(column, row);
    return tile < 0 ? kNoCell
                    : static_cast<std::size_t>(tile) * DepositMap::kCells +
                          DepositMap::index_in_tile(column, row);
  }

  /// In rings around all islands at once, so that each cell goes to the nearest.
  void add_feet() {
    struct Foot {
      std::size_t cell;
      std::int32_t column, row, island;
    };
    std::vector<Foot> ring;
    const auto add_around = [&](std::size_t cell, std::int32_t column, std::int32_t row,
                                std::vector<Foot>& to) {
      for (const std::int32_t down : {-1, 0, 1})
        for (const std::int32_t across : {-1, 0, 1}) {
          const std::size_t other = cell_at(cell, column, row, across, down);
          if (other != kNoCell && map_.cells_[other] != 0 && parent_[other] == kNoParent)
            to.push_back({other, column + across, row + down, parent_[cell]});
        }
    };
    for_each_cell([&](std::size_t cell, std::int32_t column, std::int32_t row) {
      if (parent_[cell] != kNoParent)
        add_around(cell, column, row, ring);
    });
    while (!ring.empty()) {
      std::vector<Foot> next;
      for (const Foot& foot : ring)
        if (parent_[foot.cell] == kNoParent) {
          parent_[foot.cell] = root_of(foot.island);
          add_around(foot.cell, foot.column, foot.row, next);
        }
      ring.swap(next);
    }
  }

  void number() {
    found_.labels_.assign(parent_.size(), Islands::kNone);
    for_each_cell([this](std::size_t cell, std::int32_t column, std::int32_t row) {
      if (parent_[cell] == kNoParent)
        return;
      const auto root = static_cast<std::size_t>(root_of(static_cast<std::int32_t>(cell)));
      if (found_.labels_[root] == Islands::kNone) {
        found_.labels_[root] = static_cast<std::int32_t>(found_.islands_.size());
        found_.islands_.emplace_back();
      }
      found_.labels_[cell] = found_.labels_[root];
      Island& island = found_.islands_[static_cast<std::size_t>(found_.labels_[root])];
      island.box.include((column + 0.5) * map_.cell_mm_ - kFarthestMm,
                         (row + 0.5) * map_.cell_mm_ - kFarthestMm);
      ++island.cells;
    });
  }

  const DepositMap& map_;
  Islands& found_;
  std::vector<std::int32_t> parent_;  ///< of each cell, in a forest whose trees are islands
};

Islands DepositMap::islands(bool with_foot) const {
  Islands found;
  found.cell_mm_ = cell_mm_;
  found.tile_of_ = tile_of_;
  Flood(*this, found).all(with_foot);
  return found;
}

std::int32_t Islands::at(float x_mm, float y_mm) const {
  constexpr std::int32_t kReach = 3;  // cells: what begins beside an island belongs to it
  constexpr std::int32_t kAcross = kTile * 256;
  if (tile_of_.empty())
    return kNone;
  const auto centre_column =
      static_cast<std::int32_t>((static_cast<double>(x_mm) + kFarthestMm) / cell_mm_);
  const auto centre_row =
      static_cast<std::int32_t>((static_cast<double>(y_mm) + kFarthestMm) / cell_mm_);
  for (std::int32_t reach = 0; reach <= kReach; ++reach)
    for (std::int32_t row = centre_row - reach; row <= centre_row + reach; ++row)
      for (std::int32_t column = centre_column - reach; column <= centre_column + reach; ++column) {
        if (std::max(std::abs(row - centre_row), std::abs(column - centre_column)) != reach ||
            column < 0 || row < 0 || column >= kAcross || row >= kAcross)
          continue;
        const std::int32_t tile = tile_of_[static_cast<std::size_t>(row / kTile) * 256 +
                                           static_cast<std::size_t>(column / kTile)];
        if (tile < 0)
          continue;
        const std::int32_t label =
            labels_[static_cast<std::size_t>(tile) * kTile * kTile +
                    static_cast<std::size_t>((row % kTile) * kTile + column % kTile)];
        if (label != kNone)
          return label;
      }
  return kNone;
}

}  // namespace platetally::swaps
