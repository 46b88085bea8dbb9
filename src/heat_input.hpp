// What the heat model is given of a plate: for those who run it again and again.
#pragma once

#include <string>
#include <vector>

#include "platetally/analyze.hpp"
#include "timeline/heat_log.hpp"

namespace platetally {

struct HeatInput {
  timeline::HeatLog log;
  std::vector<Material> materials;  ///< by tool number
};

/// The first plate of a path. Throws UnreadablePlate.
HeatInput heat_input_of(const std::string& path, const Machine& machine,
                        const AnalyzeOptions& options);

/// Materials by tool number. Throws UnreadablePlate for one that is not known.
std::vector<Material> materials_of(const Machine& machine, const AnalyzeOptions& options);

}  // namespace platetally
