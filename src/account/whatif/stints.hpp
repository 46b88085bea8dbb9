// A plate's turns as what can be moved: stints of a tool in a layer, and what its swaps purge.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "account/ledgers/turn_ledger.hpp"
#include "platetally/machine.hpp"

namespace platetally::whatif {

/// Turns of one tool that belong together: its swap, the way to its part, and the part in one
/// layer.
struct Stint {
  std::size_t first = 0;  ///< of the turns
  std::size_t last = 0;   ///< behind the last one
  int tool = 0;
  std::uint32_t layer = 0;  ///< ordinal, of its part
  bool lays_part = false;
};

/// Stints that lay part in one layer, one after the other, without another layer between.
struct LayerGroup {
  std::uint32_t layer = 0;    ///< ordinal
  std::vector<Stint> stints;  ///< those without part stand before the one that they lead to
};

/// The turns behind the preamble, grouped.
struct Sequence {
  std::size_t preamble = 0;        ///< turns before the first layer
  int first_tool = -1;             ///< in hand behind the preamble
  std::vector<LayerGroup> groups;  ///< in the order of printing
};

Sequence sequence_of(const std::vector<ledgers::Turn>& turns);

/// Of a swap's purge: what fills a tower's layer for each swap that it lacks (assumed).
inline constexpr double kSparseShare = 0.25;

/// What the plate purges for a swap.
struct PairHabit {
  double count = 0.0;
  double mm3 = 0.0;  ///< of all
};

/// How the plate purges: what a swap that it does not have would purge, and how long that takes.
class PurgeHabit {
 public:
  PurgeHabit(const std::vector<ledgers::Turn>& turns, const Sequence& sequence,
             const Machine& machine);

  /// For a swap between two tools: as the plate purges for that pair, else for that tool, else on
  /// average.
  double mm3(int from, int to) const {
    return each_mm3_[static_cast<std::size_t>(from) * tools_ + static_cast<std::size_t>(to)];
  }
  /// Seconds of pushing that out, at the plate's pace.
  double seconds(double mm3) const { return mm3 * s_per_mm3_; }
  /// What keeps the tower standing in a layer with fewer swaps than the most, for each that it
  /// lacks.
  double filler_mm3() const { return filler_mm3_; }
  double filler_seconds(double mm3) const { return mm3 * filler_s_per_mm3_; }
  /// Purge is laid on a tower, which stands from the first layer to the last swap.
  bool stands() const { return stands_; }

 private:
  void find_each(const std::vector<PairHabit>& pairs);
  void find_filler(const std::vector<ledgers::Turn>& turns, const Sequence& sequence);

  std::size_t tools_;
  std::vector<double> each_mm3_;  ///< row-major from, to
  double mean_mm3_ = 0.0;
  std::vector<double> area_mm2_;
  double s_per_mm3_ = 0.0;
  double filler_s_per_mm3_ = 0.0;
  double filler_mm3_ = 0.0;
  bool stands_ = false;
};

}  // namespace platetally::whatif
