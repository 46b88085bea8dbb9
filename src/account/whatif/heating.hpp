// Heads that are heated in time for their first use, in a heat log.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "motion/timeline/heat_log.hpp"
#include "platetally/machine.hpp"

namespace platetally::whatif {

/// When a head is heated: with the first second of a layer, by ordinal.
struct HeatFrom {
  int tool = 0;
  std::uint32_t layer = 0;
};

/// So many events heat_in_time() adds for a tool at most: room that a log may keep for them.
constexpr std::size_t kMostWordsInTime = 3;

/// Takes out what is set for the tools' heads ahead of those layers and after their last stroke;
/// sets them to their printing temperature with the layer, waits for that when the tool is taken,
/// and switches them off after its last stroke. A tool that lays nothing stays cold.
void heat_in_time(const std::vector<HeatFrom>& tools, const Machine& machine,
                  timeline::HeatLog& log);

}  // namespace platetally::whatif
