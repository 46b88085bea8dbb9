// Which layers are visited one after the other, and by which tools.
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "platetally/layer_visit.hpp"
#include "reading/interpreter/record.hpp"

namespace platetally::ledgers {

class LayerSequence {
 public:
  /// More visits than that are not kept: a plate whose height goes up and down all the time has no
  /// order of layers that could be planned.
  static constexpr std::size_t kMostVisits = 200'000;

  /// A record that lays material of the part.
  void add(const interpreter::Record& record) {
    if (overflows_ || record.tool < 0)
      return;
    if (record.tool == last_tool_ && !visits_.empty() && visits_.back().layer == record.layer)
      return;
    last_tool_ = record.tool;
    if (visits_.empty() || visits_.back().layer != record.layer) {
      if (visits_.size() == kMostVisits) {
        overflows_ = true;
        visits_ = {};
        return;
      }
      visits_.push_back({record.layer, {}});
    }
    std::vector<int>& order = visits_.back().order;
    if (std::find(order.begin(), order.end(), record.tool) == order.end())
      order.push_back(record.tool);
  }

  /// LayerVisit::layer holds the layer's ordinal in the record stream.
  const std::vector<LayerVisit>& visits() const { return visits_; }

 private:
  std::vector<LayerVisit> visits_;
  int last_tool_ = -1;  // in the order of the last visit
  bool overflows_ = false;
};

}  // namespace platetally::ledgers
