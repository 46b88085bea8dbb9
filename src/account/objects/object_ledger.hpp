// What is laid of every island in every layer by every tool, and the travel that leads to it: what
// a plate's costs are shared by.
//
// A path of strokes is booked once, when it ends. The ledger is bounded: when it is full,
// neighbouring layers are booked together from then on, so that shares are formed over two of them,
// four, ...
#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "account/objects/island_raster.hpp"
#include "account/objects/layer_raster.hpp"
#include "material/swaps/box.hpp"
#include "material/swaps/recounted.hpp"
#include "platetally/account.hpp"
#include "reading/interpreter/record.hpp"
#include "reading/interpreter/rows.hpp"

namespace platetally::objects {

/// What a tool lays of an island in a layer, or in several that are booked together.
struct Entry {
  std::uint32_t band = 0;  ///< layer ordinal, without its lowest bits
  std::uint16_t tool = 0;
  Label label = 0;  ///< in the end the index of an object
  double mm = 0.0;  ///< of filament, as part
  double print_s = 0.0;
  double travel_s = 0.0;
  float came_s = 0.0F;  ///< of travel_s: of the first way to it in its turn
  Label came_from = 0;  ///< where that way begins
  double own_s() const { return print_s + travel_s; }
};

/// Swaps that lead to a layer and a tool, the seconds that count as swap there, and the travel to
/// where they purge and back to the first object.
struct SwapsOfTurn {
  std::uint32_t count = 0;
  double seconds = 0.0;
  double travel_s = 0.0;
};

/// An object before anything is shared.
struct FoundObject {
  std::string name;
  swaps::Box box;
  double height_mm = 0.0;
  bool is_rest = false;
};

/// What the shares are made from.
struct Found {
  std::vector<FoundObject> objects;
  std::vector<Entry> entries;  ///< by band, tool, label; the label is an index of `objects`
  unsigned shift = 0;          ///< band = layer ordinal >> shift
  bool overflows = false;      ///< something was laid where no island could be kept
};

class ObjectLedger {
 public:
  /// `draws_plate`: plate_picture() is wanted. `picture_at_mm`: height of a layer to be drawn.
  ObjectLedger(const BuildArea& area, std::size_t tools, bool draws_plate,
               std::optional<double> picture_at_mm);

  /// A stroke of the part, which goes on from the last one unless travel() came between.
  void lay(const interpreter::Record& stroke, double mm);
  /// Strokes `first` to `last` - 1, which go on from the last one; add_strokes() is to follow.
  void draw(const interpreter::Rows& rows, std::size_t first, std::size_t last);
  void add_strokes(std::uint32_t layer, std::int16_t tool, double mm, double seconds,
                   const swaps::Box& box, double z_mm);
  /// A stroke of purge or start-up.
  void lay_waste(const interpreter::Record& stroke, AreaUse use);
  /// Any other move; what comes next begins anew, and the seconds are of the object that they lead
  /// to, or of the swap that they come from or lead to.
  void travel(double seconds);
  /// A tool was changed, or purges: so far and up to the next object, it is on the way of that.
  void on_way_of_swap();
  /// What is laid from here on is of the object that comments name; -1: of none.
  void name(int object);
  void swap(std::uint32_t layer, int tool);
  /// Seconds that count as swap.
  void add_swap_seconds(std::uint32_t layer, int tool, double seconds);

  /// Counts filament as no part after all; after the last record.
  void recount(const swaps::Recounted& filament);
  /// `names`: of the objects that name() was told; `towers`: places of prime towers.
  void settle(const std::vector<std::string>& names, const std::vector<swaps::Box>& towers);

  const Found& found() const { return found_; }
  SwapsOfTurn swaps_of(std::uint32_t layer, std::size_t tool) const {
    const std::size_t index = layer * tools_ + tool;
    return index < swaps_.size() ? swaps_[index] : SwapsOfTurn{};
  }

  /// The whole plate from above, and the layer that was asked for; after settle().
  PlatePicture plate_picture() const;
  /// Nothing: none was asked for, or nothing lies so high.
  std::optional<PlatePicture> layer_picture() const;

 private:
  static constexpr std::size_t kMostEntries = 131'072;
  static constexpr std::size_t kMostObjects = 1000;

  /// The path in hand: what it has laid since it was last booked.
  struct Path {
    std::uint32_t layer = 0;
    std::int16_t tool = 0;
    double mm = 0.0;
    double print_s = 0.0;
    double z_max_mm = 0.0;
    swaps::Box box;
  };

  void go_on(std::uint32_t layer, std::int16_t tool);
  void choose_walk(std::uint32_t layer, double z_mm);
  void trace(const interpreter::Move& move);
  void go(double x_mm, double y_mm);
  void book();
  Entry& entry_of(Label label);
  void bound_labels();
  void bound_entries();
  void merge_entries();
  void book_all_once();
  Entry* find_entry(std::uint32_t layer, int tool, double x_mm, double y_mm);
  SwapsOfTurn& turn(std::uint32_t layer, int tool);

  struct IslandSums;
  std::vector<IslandSums> sums_by_island() const;
  bool is_no_object(const IslandSums& sums) const;
  void give_travel_to_swaps(const std::vector<int>& index_of);
  void leave_out_skirts(std::vector<IslandSums>& sums) const;
  PlatePicture draw_cells(const CellTiles& cells) const;

  std::size_t tools_;
  IslandRaster islands_;
  bool draws_plate_;
  std::unique_ptr<LayerRaster> layer_;
  std::uint32_t walk_chosen_for_ = UINT32_MAX;
  double walked_z_mm_ = -1e9;  ///< of the last layer whose strokes were followed cell by cell
  std::vector<Entry> entries_;
  std::vector<SwapsOfTurn> swaps_;
  unsigned shift_ = 0;
  Path path_;
  bool laying_ = false;
  double pending_travel_s_ = 0.0;
  bool is_on_way_of_swap_ = false;
  Label last_label_ = kNoLabel;  ///< of the path before
  bool is_merged_ = false;
  std::vector<double> no_part_mm_;  ///< by label: taken away after all
  std::vector<swaps::Box> left_out_;
  std::vector<swaps::Box> towers_;
  std::vector<std::uint32_t> object_of_;  ///< by label of a root: number of the object; 0: none
  std::vector<AreaUse> waste_;            ///< by label of a root that is no object
  Found found_;
};

}  // namespace platetally::objects
