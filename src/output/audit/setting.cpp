#include "output/audit/setting.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <functional>
#include <numeric>
#include <queue>

#include "base/hash.hpp"
#include "reading/source/content.hpp"

namespace platetally::audit_stage {

namespace {

constexpr std::size_t kShortHash = 8;
constexpr int kRecordFormat = 6;  // goes up whenever a record's body changes its meaning

std::string say(const std::optional<double>& price) {
  return price ? fmt::format("{}", *price) : "none";
}

std::string say(const Prices& prices) {
  std::string text = fmt::format("{} {} ", prices.currency, say(prices.filament_per_kg));
  for (const auto& price : prices.tool_per_kg)
    text += say(price) + ' ';
  return text +
         fmt::format("| {} {} {} {} | {} {} | {} {} {} {} {} {} {} {} {} {} {}",
                     prices.drying_per_kg, prices.wear_per_kg, say(prices.spool_g),
                     prices.reserve_share, prices.spool_remainder_share, say(prices.energy_per_kwh),
                     fmt::join(prices.energy_per_kwh_by_hour, " "), prices.start_hour,
                     say(prices.machine_price), prices.machine_salvage, prices.machine_life_h,
                     prices.maintenance_per_h, prices.labour_per_plate,
                     prices.labour_per_intervention, prices.failure_per_swap, prices.failure_per_h,
                     say(prices.carbon_g_per_kwh));
}

std::string say(const std::vector<Material>& materials) {
  std::string text;
  for (const Material& material : materials)
    text += fmt::format("{} {} {} {} {} {}\n", material.name, material.density_g_cm3,
                        material.enthalpy_j_g, material.nozzle_c, material.bed_c,
                        material.reference_room_c);
  return text;
}

/// Files may change under one name, so of what they hold there is a hash.
std::string hashed(const char* what, const std::string& text) {
  return fmt::format("{} {}", what, base::hash_of_text(text).substr(0, kShortHash));
}

/// The options that change figures, for people; empty: none.
std::string options_text(const AuditOptions& options) {
  std::vector<std::string> parts;
  if (!options.tool_colours.empty())
    parts.push_back(fmt::format("colours {}", fmt::join(options.tool_colours, ",")));
  if (!options.materials.empty())
    parts.push_back(hashed("materials", say(options.materials)));
  if (!options.variant.is_as_it_is())
    parts.push_back(describe(options.variant));
  if (options.partial)
    parts.emplace_back("partial");
  if (options.prices)
    parts.push_back(hashed("prices", say(*options.prices)));
  if (options.prices && options.copies != 1)
    parts.push_back(fmt::format("copies {}", options.copies));
  return fmt::format("{}", fmt::join(parts, "; "));
}

}  // namespace

history::Setting setting_of(const Machine& machine, const AuditOptions& options) {
  std::string text =
      fmt::format("{}\n{}\n{}\n", kRecordFormat, options.version, machine_to_toml(machine));
  text += say(options.materials);
  text += fmt::format("{}\n", fmt::join(options.tool_colours, ","));
  if (!options.variant.is_as_it_is())
    text += describe(options.variant) + '\n';
  if (options.partial)
    text += "partial\n";
  if (options.prices)
    text += fmt::format("{} {}\n", say(*options.prices), options.copies);
  return {base::hash_of_text(text), machine.name, machine_hash(machine), options.version,
          options_text(options)};
}

std::string hash_of_listing(const std::vector<std::string>& paths,
                            const std::vector<std::int64_t>& sizes_bytes) {
  std::string text;
  for (std::size_t i = 0; i < paths.size(); ++i)
    text += fmt::format("{} {}\n", sizes_bytes[i], paths[i]);
  return base::hash_of_text(text);
}

std::vector<int> shares_of(const std::vector<std::int64_t>& sizes_bytes, int shards) {
  std::vector<std::size_t> order(sizes_bytes.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::ranges::stable_sort(order, std::ranges::greater{},
                           [&](std::size_t i) { return sizes_bytes[i]; });
  using Load = std::pair<std::int64_t, int>;  // bytes so far, share
  std::priority_queue<Load, std::vector<Load>, std::greater<>> least;
  for (int share = 1; share <= shards; ++share)
    least.emplace(0, share);
  std::vector<int> shares(sizes_bytes.size());
  for (const std::size_t i : order) {
    const auto [bytes, share] = least.top();
    least.pop();
    shares[i] = share;
    least.emplace(bytes + sizes_bytes[i] + 1, share);  // empty files are shared out, too
  }
  return shares;
}

}  // namespace platetally::audit_stage
