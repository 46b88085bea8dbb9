// A variant in words, for reports.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <vector>

#include "platetally/variant.hpp"

namespace platetally {

std::string describe(const Variant& variant) {
  std::vector<std::string> out;
  if (variant.repeat > 1)
    out.push_back(fmt::format("its parts {} times", variant.repeat));
  for (const auto& [tool, other] : variant.merge)
    out.push_back(fmt::format("what tool {} prints is printed by tool {}", tool, other));
  if (!variant.without.empty())
    out.push_back(fmt::format("without tool {}", fmt::join(variant.without, ", ")));
  if (variant.drop_tower)
    out.emplace_back("without its prime tower");
  if (variant.purge_as_needed)
    out.emplace_back("no swap purges more than its colours need");
  if (variant.purge_enough)
    out.emplace_back("no swap purges less than its colours need");
  if (!variant.orders.empty())
    out.emplace_back("its colours in another order");
  if (variant.layers_share < 1.0)
    out.push_back(fmt::format("{:.3g} of its layers, each thicker", variant.layers_share));
  if (variant.shift_x_mm != 0.0 || variant.shift_y_mm != 0.0)
    out.push_back(fmt::format("moved by {:.1f} mm in x and {:.1f} mm in y", variant.shift_x_mm,
                              variant.shift_y_mm));
  if (variant.standby_c)
    out.push_back(fmt::format("waiting heads at {:.3g} degC", *variant.standby_c));
  if (variant.room_c)
    out.push_back(fmt::format("a room of {:.3g} degC", *variant.room_c));
  for (const HeatInTime& heat : variant.heat)
    out.push_back(fmt::format("tool {} heated from layer {} on", heat.tool, heat.layer));
  return fmt::format("{}", fmt::join(out, ", "));
}

}  // namespace platetally
