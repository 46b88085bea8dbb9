// What is true of the plate, counted from the rounded numbers that the file states, as whole
// numbers of its smallest digits: no sum loses anything.
#pragma once

#include <algorithm>
#include <array>
#include <cstdint>
#include <map>
#include <string>
#include <utility>
#include <vector>

namespace plate_maker {

enum class Purpose { part, purge, start_up };

/// X, Y, Z in the file's smallest digits.
using Point3 = std::array<std::int64_t, 3>;

struct Box {
  Point3 low{INT64_MAX, INT64_MAX, INT64_MAX};
  Point3 high{INT64_MIN, INT64_MIN, INT64_MIN};
  void add(const Point3& point);
  void add(const Box& other);
  bool empty() const { return low[0] > high[0]; }
};

struct Volumes {
  std::int64_t part = 0;
  std::int64_t purge = 0;
  std::int64_t start_up = 0;
  std::int64_t& of(Purpose purpose);
};

struct ToolTruth {
  std::int64_t selects = 0;
  std::int64_t net = 0;  ///< all that E words feed
  Volumes laid;
};

struct LayerTruth {
  std::int64_t z = 0;
  std::vector<int> tools;
  std::int64_t swaps = 0;
  Volumes laid;
  Box box;
};

struct MoveCounts {
  std::int64_t travel = 0, height = 0, lay = 0, arc = 0, at_rest = 0, retract = 0, give_back = 0,
               wipe = 0;
};

class Truth {
 public:
  Truth(double mm_per_xyz, double mm_per_e, double filament_mm);
  Truth(const Truth&) = delete;  // layer_ points into it
  Truth& operator=(const Truth&) = delete;

  /// Opens the layer, or goes back to it.
  void enter_layer(std::size_t index, std::int64_t z);
  /// A T word for a tool; -1 parks.
  void select(int tool);
  void repeat_select(int tool);
  /// Material goes out of the nozzle. `box`: where along.
  void lay(Purpose purpose, std::int64_t e, const Box& box, std::uint64_t line);
  /// Filament is drawn back (negative) or given back.
  void feed(std::int64_t e) { tool_truth(tool_).net += e; }

  MoveCounts moves;

  std::string to_json(std::uint64_t bytes, std::uint64_t lines) const;

 private:
  ToolTruth& tool_truth(int tool) { return tools_[tool]; }
  std::string tools_json() const;
  std::string pairs_json() const;
  std::string layers_json() const;
  std::string lines_json() const;
  std::string volumes_json(const Volumes& laid) const;
  std::string box_json(const Box& box) const;
  double mm3(std::int64_t e) const { return static_cast<double>(e) * mm3_per_e_; }
  double mm(std::int64_t xyz) const { return static_cast<double>(xyz) * mm_per_xyz_; }

  struct Pair {
    std::int64_t count = 0;
    std::int64_t purge = 0;
  };

  double mm_per_xyz_;
  double mm_per_e_;
  double mm3_per_e_;
  int tool_ = -1;       ///< in hand
  int last_tool_ = -1;  ///< in hand, or before it was parked
  bool anything_laid_ = false;
  std::int64_t swaps_ = 0;
  std::int64_t selects_ = 0;
  std::int64_t parkings_ = 0;
  std::int64_t purge_before_swaps_ = 0;
  std::pair<int, int> pair_{-1, -1};
  std::map<int, ToolTruth> tools_;
  std::map<std::pair<int, int>, Pair> pairs_;
  std::vector<LayerTruth> layers_;
  LayerTruth before_layers_;
  LayerTruth* layer_ = &before_layers_;
  Volumes laid_;
  Box box_;
  Box part_box_;
  std::vector<std::pair<std::uint64_t, std::uint64_t>> purge_lines_;
};

}  // namespace plate_maker
