// Prices as one text, value by value, and its hash.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include "base/hash.hpp"
#include "platetally/made_from.hpp"
#include "platetally/prices.hpp"

namespace platetally {

namespace {

std::string text_of(const std::optional<double>& price) {
  return price ? fmt::format("{}", *price) : "none";
}

}  // namespace

std::string prices_hash(const Prices& prices) {
  std::vector<std::string> by_tool;
  for (const auto& price : prices.tool_per_kg)
    by_tool.push_back(text_of(price));
  const std::vector<std::string> values{
      prices.currency,
      text_of(prices.filament_per_kg),
      fmt::format("{}", fmt::join(by_tool, " ")),
      fmt::format("{}", prices.spool_remainder_share),
      text_of(prices.energy_per_kwh),
      fmt::format("{}", fmt::join(prices.energy_per_kwh_by_hour, " ")),
      fmt::format("{}", prices.start_hour),
      text_of(prices.machine_price),
      fmt::format("{}", prices.machine_salvage),
      fmt::format("{}", prices.machine_life_h),
      fmt::format("{}", prices.maintenance_per_h),
      fmt::format("{}", prices.labour_per_plate),
      fmt::format("{}", prices.labour_per_intervention),
      fmt::format("{}", prices.failure_per_swap),
      fmt::format("{}", prices.failure_per_h),
      text_of(prices.carbon_g_per_kwh),
      fmt::format("{}", prices.drying_per_kg),
      fmt::format("{}", prices.wear_per_kg),
      text_of(prices.spool_g),
      fmt::format("{}", prices.reserve_share),
      prices.attended ? fmt::format("{} {}", prices.attended->from_h, prices.attended->to_h)
                      : "none"};
  return base::hash_of_text(fmt::format("{}", fmt::join(values, "\n")));
}

}  // namespace platetally
