#include "output/audit/setting.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <functional>
#include <numeric>
#include <queue>

#include "base/hash.hpp"
#include "platetally/made_from.hpp"
#include "reading/source/content.hpp"

namespace platetally::audit_stage {

namespace {

constexpr std::size_t kShortHash = 8;
constexpr int kRecordFormat = 6;  // goes up whenever a record's body changes its meaning

/// Files may change under one name, so what they hold is named by its hash.
std::string hashed(const char* what, const std::string& hash) {
  return fmt::format("{} {}", what, hash.substr(0, kShortHash));
}

/// The options that change figures, for people; empty: none.
std::string options_text(const AuditOptions& options) {
  std::vector<std::string> parts;
  if (!options.tool_colours.empty())
    parts.push_back(fmt::format("colours {}", fmt::join(options.tool_colours, ",")));
  if (!options.materials.empty())
    parts.push_back(hashed("materials", materials_hash(options.materials)));
  if (!options.variant.is_as_it_is())
    parts.push_back(describe(options.variant));
  if (options.partial)
    parts.emplace_back("partial");
  if (options.prices)
    parts.push_back(hashed("prices", prices_hash(*options.prices)));
  if (options.prices && options.copies != 1)
    parts.push_back(fmt::format("copies {}", options.copies));
  return fmt::format("{}", fmt::join(parts, "; "));
}

}  // namespace

history::Setting setting_of(const Machine& machine, const AuditOptions& options) {
  std::string text =
      fmt::format("{}\n{}\n{}\n", kRecordFormat, options.version, machine_to_toml(machine));
  text += materials_hash(options.materials) + '\n';
  text += fmt::format("{}\n", fmt::join(options.tool_colours, ","));
  if (!options.variant.is_as_it_is())
    text += describe(options.variant) + '\n';
  if (options.partial)
    text += "partial\n";
  if (options.prices)
    text += fmt::format("{} {}\n", prices_hash(*options.prices), options.copies);
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
