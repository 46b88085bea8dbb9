#include "account/join/made_from.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "base/hash.hpp"

namespace platetally {

namespace {

/// As --colours takes them.
std::string text_of(const std::vector<std::string>& colours) {
  std::vector<std::string> out;
  for (std::size_t tool = 0; tool < colours.size(); ++tool)
    if (!colours[tool].empty())
      out.push_back(fmt::format("{}={}", tool, colours[tool]));
  return fmt::format("{}", fmt::join(out, ","));
}

}  // namespace

std::string exact_text(const Variant& variant) {
  std::vector<std::string> out;
  const auto put = [&out](bool is_otherwise, std::string_view name, const auto& value) {
    if (is_otherwise)
      out.push_back(fmt::format("{} {}", name, value));
  };
  const Variant as_it_is;
  put(variant.repeat != as_it_is.repeat, "repeat", variant.repeat);
  for (const auto& [tool, other] : variant.merge)
    put(true, "merge", fmt::format("{}={}", tool, other));
  put(!variant.without.empty(), "without", fmt::format("{}", fmt::join(variant.without, " ")));
  put(variant.drop_tower, "drop_tower", "yes");
  put(variant.purge_as_needed, "purge_as_needed", "yes");
  put(variant.purge_enough, "purge_enough", "yes");
  put(variant.layers_share != as_it_is.layers_share, "layers_share", variant.layers_share);
  put(variant.shift_x_mm != 0.0 || variant.shift_y_mm != 0.0, "shift_mm",
      fmt::format("{} {}", variant.shift_x_mm, variant.shift_y_mm));
  put(variant.standby_c.has_value(), "standby_c", variant.standby_c.value_or(0.0));
  put(variant.room_c.has_value(), "room_c", variant.room_c.value_or(0.0));
  for (const HeatInTime& heat : variant.heat)
    put(true, "heat", fmt::format("tool {} layer {}", heat.tool, heat.layer));
  std::vector<std::string> orders;
  for (const std::vector<int>& order : variant.orders)
    orders.push_back(fmt::format("{}", fmt::join(order, " ")));
  put(!orders.empty(), "orders", base::hash_of_text(fmt::format("{}", fmt::join(orders, "\n"))));
  return fmt::format("{}", fmt::join(out, ", "));
}

MadeFrom made_from(const Machine& machine, const AnalyzeOptions& options) {
  MadeFrom made;
  made.add(used(machine));
  if (const std::string colours = text_of(options.tool_colours); !colours.empty())
    made.set("colours", colours);
  if (!options.materials.empty())
    made.set("materials", materials_hash(options.materials));
  if (options.start_bed_c)
    made.set("start_bed_c", fmt::format("{}", *options.start_bed_c));
  if (options.partial)
    made.set("partial", "yes");
  if (!options.variant.is_as_it_is())
    made.set("variant", exact_text(options.variant));
  return made;
}

}  // namespace platetally
