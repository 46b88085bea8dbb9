// Material laid outside the build area, which may be purge or a part that reaches beyond it.
//
// It is purge beyond doubt only where the motion proves it: on the way back from a swap, before the
// tool has laid anything else, and away from everything that is ever printed. The rest counts as
// part, and widens the band of purge.
#pragma once

#include <cstdint>
#include <vector>

#include "material/swaps/box.hpp"
#include "motion/timeline/swap_watch.hpp"
#include "reading/interpreter/record.hpp"

namespace platetally::swaps {

/// Strokes outside, one behind the other.
struct OutsideVisit {
  Box box;
  double z_mm = 0.0;
  std::uint32_t layer = 0;
  int tool = 0;
  int from = -1, to = -1;  ///< of the last swap
  double fed_mm = 0.0;
  double print_s = 0.0;
  bool on_way_back = false;
};

class OutsideLog {
 public:
  void swap(const timeline::Swap& swap) {
    last_swap_ = swap;
    on_way_back_ = true;
    laying_ = false;
  }
  void lay_inside() { on_way_back_ = laying_ = false; }
  void travel() { laying_ = false; }
  void lay(const interpreter::Record& record, double fresh_mm, double motion_s);

  struct Verdict {
    std::vector<OutsideVisit> purge, doubtful;
  };
  /// `inside`: everything that is printed inside the area.
  Verdict settle(const Box& inside) const;

 private:
  /// Beyond, visits of a layer are joined, whatever lies between them.
  static constexpr std::size_t kMostVisits = 20'000;

  std::vector<OutsideVisit> visits_;
  timeline::Swap last_swap_;
  bool on_way_back_ = false;
  bool laying_ = false;
};

}  // namespace platetally::swaps
