#include "material/ordering/plan.hpp"

#include <fmt/core.h>

namespace platetally::ordering {
namespace {

constexpr std::size_t kLongestCycle = 4;

/// One past the last layer that a cycle of `length` from `from` on covers.
std::size_t end_of_cycle(const Orders& orders, std::size_t from, std::size_t length) {
  std::size_t end = from + length;
  while (end < orders.size() && orders[end] == orders[end - length])
    ++end;
  return end;
}

}  // namespace

std::vector<LayerRun> compact_plan(const Orders& orders) {
  std::vector<LayerRun> plan;
  for (std::size_t from = 0; from < orders.size();) {
    std::size_t best_length = 1;
    std::size_t best_end = end_of_cycle(orders, from, 1);
    for (std::size_t length = 2; length <= kLongestCycle && from + 2 * length <= orders.size();
         ++length) {
      const std::size_t end = end_of_cycle(orders, from, length);
      if (end >= from + 2 * length && end > best_end) {
        best_length = length;
        best_end = end;
      }
    }
    const auto first = orders.begin() + static_cast<std::ptrdiff_t>(from);
    plan.push_back(
        {from, best_end - 1, Orders(first, first + static_cast<std::ptrdiff_t>(best_length))});
    from = best_end;
  }
  return plan;
}

std::string text_of(const LayerRun& run) {
  std::string text = run.from == run.to ? fmt::format("layer {}:", run.from + 1)
                                        : fmt::format("layers {}-{}:", run.from + 1, run.to + 1);
  for (std::size_t i = 0; i < run.cycle.size(); ++i) {
    if (i > 0)
      text += " |";
    if (run.cycle[i].empty())
      text += " -";
    for (const int tool : run.cycle[i])
      text += fmt::format(" {}", tool);
  }
  return text;
}

}  // namespace platetally::ordering
