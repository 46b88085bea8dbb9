// What the heat model is given of a plate: for those who run it again and again.
#pragma once

#include <string>
#include <vector>

#include "motion/timeline/heat_log.hpp"
#include "platetally/analyze.hpp"

namespace platetally {

struct HeatInput {
  timeline::HeatLog log;
  std::vector<Material> materials;  ///< by tool number
  MadeFrom made_from;
};

/// The only plate of a path. Throws UnreadablePlate, with the path in its message.
HeatInput heat_input_of(const std::string& path, const Machine& machine,
                        const AnalyzeOptions& options);

/// analyze_file, with what its heat was computed from. Throws as heat_input_of.
Account analyze_file_keeping(const std::string& path, const Machine& machine,
                             const AnalyzeOptions& options, HeatInput& input);

/// Materials by tool number. Throws UnreadablePlate for one that is not known.
std::vector<Material> materials_of(const Machine& machine, const AnalyzeOptions& options);

}  // namespace platetally
