#include "account/whatif/fewer_tools.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <limits>
#include <map>

#include "base/counted.hpp"
#include "platetally/account.hpp"

namespace platetally::whatif {

namespace {

using Stand = std::map<int, int>;  // which tool lays what each one laid

int followed(const Stand& stand, int tool) {
  const auto found = stand.find(tool);
  return found == stand.end() ? tool : found->second;
}

std::uint64_t swaps_of(const Account& account, const Stand& stand) {
  std::uint64_t swaps = 0;
  if (account.visits.empty()) {
    for (const SwapPairAccount& pair : account.swap_pairs)
      if (followed(stand, pair.from) != followed(stand, pair.to))
        swaps += pair.count;
    return swaps;
  }
  int last = -1;
  std::vector<int> order;
  for (const LayerVisit& visit : account.visits) {
    order.clear();
    for (const int tool : visit.order)
      if (const int now = followed(stand, tool);
          std::find(order.begin(), order.end(), now) == order.end())
        order.push_back(now);
    for (const int tool : order) {
      swaps += last >= 0 && tool != last;
      last = tool;
    }
  }
  return swaps;
}

}  // namespace

FewerTools with_fewer_tools(const Account& account, std::size_t most) {
  FewerTools result;
  std::vector<std::pair<double, int>> used;  // by grams
  for (const ToolAccount& tool : account.tools)
    if (tool.part_g > 0.0 || tool.purge_g > 0.0)
      used.emplace_back(tool.part_g, tool.tool);
  std::sort(used.begin(), used.end());
  Stand stand;
  while (used.size() > most) {
    const auto [part_g, dropped] = used.front();
    used.erase(used.begin());
    Stand best;
    std::uint64_t least = std::numeric_limits<std::uint64_t>::max();
    for (const auto& [unused, other] : used) {
      Stand tried = stand;
      for (auto& [from, to] : tried)
        if (to == dropped)
          to = other;
      tried[dropped] = other;
      if (const std::uint64_t swaps = swaps_of(account, tried); swaps < least) {
        least = swaps;
        best = std::move(tried);
      }
    }
    stand = std::move(best);
    result.merged_g += part_g;
  }
  result.merged.assign(stand.begin(), stand.end());
  result.swaps = swaps_of(account, stand);
  std::vector<int> kept;
  kept.reserve(used.size());
  for (const auto& [part_g, tool] : used)
    kept.push_back(tool);
  std::sort(kept.begin(), kept.end());
  for (std::size_t i = 0; i < kept.size(); ++i)
    if (kept[i] >= static_cast<int>(most)) {
      // The lowest number that no kept tool has.
      for (int number = 0;; ++number)
        if (std::find(kept.begin(), kept.end(), number) == kept.end()) {
          result.numbered.emplace_back(kept[i], number);
          kept[i] = number;
          break;
        }
    }
  return result;
}

std::string say_fewer_tools(const Account& account, std::size_t most) {
  const FewerTools variant = with_fewer_tools(account, most);
  std::vector<std::string> parts;
  for (const auto& [from, to] : variant.merged)
    parts.push_back(fmt::format("what T{} lays is laid by T{}", from, to));
  for (const auto& [from, to] : variant.numbered)
    parts.push_back(fmt::format("T{} becomes T{}", from, to));
  if (parts.empty())
    return "";
  return fmt::format("{}{}; {} left", fmt::join(parts, ", "),
                     variant.merged.empty()
                         ? ""
                         : fmt::format(" ({:.2f} g change their colour)", variant.merged_g),
                     base::counted(variant.swaps, "swap is", "swaps are"));
}

}  // namespace platetally::whatif
