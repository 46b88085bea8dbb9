#include "output/report/hue.hpp"

#include <array>

namespace platetally::report {

std::string_view css_of(Hue hue) {
  constexpr std::array<std::string_view, 28> kNames{
      "h-print",       "h-travel",   "h-swap",      "h-wait",    "h-other",
      "h-part",        "h-purge",    "h-start",     "h-time",    "h-energy",
      "h-bed",         "h-hot-ends", "h-enclosure", "h-motors",  "h-fans",
      "h-electronics", "h-loss",     "h-power",     "h-machine", "h-labour",
      "h-failures",    "h-measured", "h-predicted", "h-1",       "h-2",
      "h-3",           "h-4",        "h-5"};
  static_assert(kNames.size() == static_cast<std::size_t>(Hue::fifth) + 1);
  return kNames[static_cast<std::size_t>(hue)];
}

Hue hue_of_index(std::size_t index) {
  return static_cast<Hue>(static_cast<std::size_t>(Hue::first) + index % kHuesOfSeveral);
}

}  // namespace platetally::report
