// Which layers are visited one after the other, and by which tools.
#pragma once

#include <cstddef>
#include <cstdint>
#include <set>
#include <utility>
#include <vector>

#include "base/give_back.hpp"
#include "platetally/layer_visit.hpp"
#include "reading/interpreter/record.hpp"

namespace platetally::ledgers {

/// What is laid between two swaps in one layer: number of swaps before it, ordinal of the layer.
using LaidBetweenSwaps = std::pair<std::uint64_t, std::uint32_t>;

class LayerSequence {
 public:
  /// More runs than that are not kept: of such a plate no order is planned.
  static constexpr std::size_t kMostRuns = 400'000;

  /// A record that lays material of the part, or of a tower that is not known yet.
  void add(const interpreter::Record& record, std::uint64_t swaps) {
    if (overflows_ || record.tool < 0)
      return;
    if (!runs_.empty() && runs_.back().tool == record.tool && runs_.back().layer == record.layer &&
        runs_.back().swaps == swaps)
      return;
    if (runs_.size() == kMostRuns) {
      overflows_ = true;
      base::give_back(runs_);
      return;
    }
    runs_.push_back({swaps, record.layer, record.tool});
  }

  /// Leaves out what turned out to be purge alone.
  void leave_out(const std::set<LaidBetweenSwaps>& purge) {
    std::erase_if(runs_, [&](const Run& run) { return purge.count({run.swaps, run.layer}) > 0; });
  }

  /// LayerVisit::layer holds the layer's ordinal in the record stream.
  std::vector<LayerVisit> visits() const {
    std::vector<LayerVisit> visits;
    for (const Run& run : runs_) {
      if (visits.empty() || visits.back().layer != run.layer)
        visits.push_back({run.layer, {}});
      if (visits.back().order.empty() || visits.back().order.back() != run.tool)
        visits.back().order.push_back(run.tool);
    }
    return visits;
  }

 private:
  struct Run {
    std::uint64_t swaps;
    std::uint32_t layer;
    std::int16_t tool;
  };
  std::vector<Run> runs_;
  bool overflows_ = false;
};

}  // namespace platetally::ledgers
