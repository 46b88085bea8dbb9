// Islands of what is laid, followed upwards: which strokes belong together.
//
// Every path of strokes goes through cells of 1 mm. A cell that it enters anew is of the same
// island as each of its eight neighbours that was laid at about the same height, and as what lay on
// the cell itself, at about the same height too. So a layer's islands grow on those below them, and
// islands that a later layer joins have been one from the start (union of labels). What lies more
// than kNear below or above is something else: a roof may reach over a low part.
//
// Islands whose strokes are less than 1 mm apart are one, those 2 mm apart and more are two;
// between these it depends on where the cells lie.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "account/objects/cell_tiles.hpp"
#include "material/swaps/box.hpp"
#include "platetally/machine.hpp"
#include "reading/interpreter/record.hpp"
#include "reading/interpreter/rows.hpp"

namespace platetally::objects {

using Label = std::uint16_t;

/// Labels that are no islands.
inline constexpr Label kNoLabel = 0;
inline constexpr Label kPurge = 1;
inline constexpr Label kStartUp = 2;
inline constexpr Label kRest = 3;  ///< laid where no further island can be kept
inline constexpr Label kFirstIsland = 4;

/// What is known of a label besides its cells.
struct Island {
  Label parent = 0;         ///< itself: the one that stands for all that were joined with it
  std::int16_t named = -1;  ///< number of the object whose comments it stands for
  std::uint32_t first = 0;  ///< the order in which islands began
  std::uint32_t entry = 0;  ///< the ledger's last one, plus one
  float z_max_mm = 0.0F;
  swaps::Box box;
};

class IslandRaster {
 public:
  static constexpr double kCellMm = 1.0;
  static constexpr double kZPerMm = 16.0;
  static constexpr int kNear = 32;  ///< 2 mm
  static constexpr std::size_t kMostIslands = 60'000;
  static constexpr std::size_t kMostLabels = 65'535;

  explicit IslandRaster(const BuildArea& area);

  /// A path begins here: its island is not known yet. `tool`: that lays it.
  void begin(double x_mm, double y_mm, double z_mm, int tool);
  /// It goes on to there.
  void go(double x_mm, double y_mm);
  void go_to_height(double z_mm) { z_ = height_of(z_mm); }
  /// Strokes `first` to `last` - 1, which go on from the last one.
  void go(const interpreter::Rows& rows, std::size_t first, std::size_t last);
  /// False: of strokes longer than a cell, their ends are visited alone. At first true.
  void walk_all_cells(bool all) { walks_all_ = all; }
  /// The island of the path so far.
  Label current() const { return path_; }

  /// What is laid from here on is of a named object; -1: of none.
  void name(int object);
  /// A stroke of waste.
  void lay_waste(const interpreter::Move& move, int tool, Label waste);

  Label root(Label label) const {
    while (islands_[label].parent != label)
      label = islands_[label].parent;
    return label;
  }
  Island& island(Label label) { return islands_[label]; }
  const Island& island(Label label) const { return islands_[label]; }
  std::size_t labels() const { return islands_.size(); }
  /// Of the cell at a place; 0: nothing lies there.
  Label at(double x_mm, double y_mm) const;
  const CellTiles& cells() const { return cells_; }

  /// Islands are getting many: keeps only those that stand for others. Returns the new label of
  /// every old one; empty: there was no need.
  std::vector<Label> renumber();
  /// Something was laid where no island could be kept.
  bool overflows() const { return overflows_; }

 private:
  static std::uint16_t height_of(double z_mm) {
    constexpr double kMost = 65535.0;
    const double height = z_mm * kZPerMm + 0.5;
    return height > 0.0 ? static_cast<std::uint16_t>(height < kMost ? height : kMost) : 0;
  }
  bool is_near(const Cell& cell) const {
    const int apart = static_cast<int>(cell.z) - static_cast<int>(z_);
    return apart <= kNear && apart >= -kNear;
  }
  bool is_island_here(const Cell& cell) const {
    return cell.label >= kFirstIsland && is_near(cell);
  }
  void visit(int column, int row) {
    Cell* const cell = cells_.find(column, row);
    if (cell == nullptr || cell->label != path_ || !is_near(*cell)) [[unlikely]] {
      enter(column, row);
      return;
    }
    cell->z = z_;
    cell->tool = tool_;
  }
  void walk(int to_column, int to_row, double column, double row);
  void enter(int column, int row);
  void join(Label with);
  Label join(Label a, Label b);
  Label begin_island();

  CellTiles cells_;
  std::vector<Island> islands_;
  std::vector<Label> by_name_;  ///< of named objects; 0: none yet
  int name_ = -1;
  Label path_ = kNoLabel;
  std::uint16_t z_ = 0;
  std::uint8_t tool_ = 0;
  double column_ = 0.0;  ///< where the path is
  double row_ = 0.0;
  int at_column_ = -1;
  int at_row_ = -1;
  std::uint32_t begun_ = 0;
  bool overflows_ = false;
  bool is_full_ = false;
  bool walks_all_ = true;
};

}  // namespace platetally::objects
