// Strokes are sampled every cell; a cell that was laid in another, near layer is compared with who
// lays it now. Islands: cells within one cell of each other, found by flooding.
#include "material/swaps/deposit_map.hpp"

#include <algorithm>
#include <cmath>

namespace platetally::swaps {

namespace {

constexpr double kFarthestMm = 1500.0;
constexpr std::size_t kMostTiles = 8192;
constexpr std::uint16_t kNearLayers = 8;  // farther apart, a part's colours may have moved
constexpr std::uint8_t kMostCount = 255;

}  // namespace

DepositMap::DepositMap(double cell_mm)
    : cell_mm_(std::max(cell_mm, 2.0 * kFarthestMm / (kTile * kTilesAcross))),
      cells_per_mm_(1.0 / cell_mm_) {}

void DepositMap::forget() {
  tile_of_ = {};
  tiles_ = {};
}

void DepositMap::touch(std::int32_t column, std::int32_t row, const Layer& layer, Relaid& relaid) {
  if (tile_of_.empty())
    tile_of_.assign(static_cast<std::size_t>(kTilesAcross) * kTilesAcross, -1);
  std::int32_t& tile = tile_of_[static_cast<std::size_t>(row / kTile) * kTilesAcross +
                                static_cast<std::size_t>(column / kTile)];
  if (tile < 0) {
    if (tiles_.size() >= kMostTiles)
      return;
    tile = static_cast<std::int32_t>(tiles_.size());
    tiles_.emplace_back();
  }
  Cell& cell = tiles_[static_cast<std::size_t>(tile)]
                     [static_cast<std::size_t>((row % kTile) * kTile + column % kTile)];
  const auto ordinal = static_cast<std::uint16_t>(layer.ordinal % 65535 + 1);
  const auto tool = static_cast<std::uint8_t>(layer.tool);
  if (cell.layer != 0 && cell.layer != ordinal &&
      static_cast<std::uint16_t>(ordinal - cell.layer) <= kNearLayers) {
    const bool on_carried = cell.rank == kNoRank && layer.rank != kNoRank;
    if (cell.tool == tool) {
      ++relaid.same;
      relaid.same_on_carried += on_carried;
      cell.same = static_cast<std::uint8_t>(std::min<int>(cell.same + 1, kMostCount));
    } else {
      ++relaid.changed;
      relaid.changed_on_carried += on_carried;
      relaid.changed_in_order += cell.rank == layer.rank && layer.rank != kNoRank;
      cell.changed = static_cast<std::uint8_t>(std::min<int>(cell.changed + 1, kMostCount));
    }
  }
  cell.layer = ordinal;
  cell.tool = tool;
  cell.rank = layer.rank;
  cell.above_foot = cell.above_foot || layer.ordinal > 1;
}

void DepositMap::draw(double from_x_mm, double from_y_mm, double to_x_mm, double to_y_mm,
                      const Layer& layer, Relaid& relaid) {
  const auto is_near = [](double mm) { return std::abs(mm) < kFarthestMm - 1.0; };
  if (!is_near(from_x_mm) || !is_near(from_y_mm) || !is_near(to_x_mm) || !is_near(to_y_mm))
    return;
  const double column = (from_x_mm + kFarthestMm) * cells_per_mm_;
  const double row = (from_y_mm + kFarthestMm) * cells_per_mm_;
  const double across = (to_x_mm - from_x_mm) * cells_per_mm_;
  const double along = (to_y_mm - from_y_mm) * cells_per_mm_;
  const int steps = static_cast<int>(std::max(std::abs(across), std::abs(along))) + 1;
  for (int step = 0; step <= steps; ++step) {
    const double share = static_cast<double>(step) / steps;
    const auto at_column = static_cast<std::int32_t>(column + share * across);
    const auto at_row = static_cast<std::int32_t>(row + share * along);
    if (at_column == last_column_ && at_row == last_row_)
      continue;
    last_column_ = at_column;
    last_row_ = at_row;
    touch(at_column, at_row, layer, relaid);
  }
}

namespace {

using Place = std::array<std::int32_t, 2>;  // column, row

}  // namespace

/// Floods cells that touch: first what was laid above the first layer, then what lies in it alone.
/// A brim goes to what stands on it, so two brims that touch join nothing.
class Flood {
 public:
  Flood(const DepositMap& map, Islands& found) : map_(map), found_(found) {}

  void all(bool with_foot) {
    above_only_ = !with_foot;
    each_cell([this](Place place) { start_at(place); });
    if (with_foot)
      return;
    above_only_ = false;
    each_cell([this](Place place) {
      if (const std::int32_t* label = label_at(place); label != nullptr && *label >= 0)
        open_.push_back({place, *label});
    });
    // In rings around all islands at once, so that each brim goes to the nearest.
    flood_breadth_first();
    each_cell([this](Place place) { start_at(place); });
  }

 private:
  struct Open {
    Place place;
    std::int32_t label;
  };

  template <typename Function>
  void each_cell(Function function) {
    constexpr std::int32_t kTile = DepositMap::kTile;
    for (std::int32_t tile = 0; tile < static_cast<std::int32_t>(map_.tile_of_.size()); ++tile) {
      if (map_.tile_of_[static_cast<std::size_t>(tile)] < 0)
        continue;
      for (std::int32_t i = 0; i < kTile * kTile; ++i)
        function(Place{tile % DepositMap::kTilesAcross * kTile + i % kTile,
                       tile / DepositMap::kTilesAcross * kTile + i / kTile});
    }
  }

  /// Its label, if something was laid there that counts now.
  std::int32_t* label_at(Place place) {
    constexpr std::int32_t kAcross = DepositMap::kTile * DepositMap::kTilesAcross;
    const auto [column, row] = place;
    if (column < 0 || row < 0 || column >= kAcross || row >= kAcross)
      return nullptr;
    const std::int32_t tile = map_.tile_at(column, row);
    if (tile < 0)
      return nullptr;
    const std::size_t index = DepositMap::index_in_tile(column, row);
    const DepositMap::Cell& cell = map_.tiles_[static_cast<std::size_t>(tile)][index];
    if (cell.layer == 0 || (above_only_ && !cell.above_foot))
      return nullptr;
    return &found_.labels_[static_cast<std::size_t>(tile)][index];
  }

  void start_at(Place place) {
    const std::int32_t* label = label_at(place);
    if (label == nullptr || *label != Islands::kNone)
      return;
    found_.islands_.emplace_back();
    take(place, static_cast<std::int32_t>(found_.islands_.size()) - 1);
    while (!open_.empty()) {
      const Open next = open_.back();
      open_.pop_back();
      take_around(next);
    }
  }

  void flood_breadth_first() {
    std::vector<Open> ring;
    while (!open_.empty()) {
      ring.clear();
      ring.swap(open_);
      for (const Open& next : ring)
        take_around(next);
    }
  }

  void take_around(const Open& next) {
    for (const std::int32_t down : {-1, 0, 1})
      for (const std::int32_t across : {-1, 0, 1})
        take({next.place[0] + across, next.place[1] + down}, next.label);
  }

  void take(Place place, std::int32_t island) {
    std::int32_t* label = label_at(place);
    if (label == nullptr || *label != Islands::kNone)
      return;
    *label = island;
    const auto [column, row] = place;
    const DepositMap::Cell& cell = map_.tiles_[static_cast<std::size_t>(map_.tile_at(column, row))]
                                              [DepositMap::index_in_tile(column, row)];
    Island& to = found_.islands_[static_cast<std::size_t>(island)];
    to.box.include((column + 0.5) * map_.cell_mm_ - kFarthestMm,
                   (row + 0.5) * map_.cell_mm_ - kFarthestMm);
    ++to.cells;
    to.relaid.same += cell.same;
    to.relaid.changed += cell.changed;
    open_.push_back({place, island});
  }

  const DepositMap& map_;
  Islands& found_;
  bool above_only_ = false;
  std::vector<Open> open_;
};

Islands DepositMap::islands(bool with_foot) const {
  Islands found;
  found.cell_mm_ = cell_mm_;
  found.tile_of_ = tile_of_;
  found.labels_.resize(tiles_.size());
  for (auto& labels : found.labels_)
    labels.fill(Islands::kNone);
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
            labels_[static_cast<std::size_t>(tile)]
                   [static_cast<std::size_t>((row % kTile) * kTile + column % kTile)];
        if (label != kNone)
          return label;
      }
  return kNone;
}

}  // namespace platetally::swaps
