// Exact: M. Held, R. M. Karp, J. SIAM 10 (1962) 196-210 (from memory): best[U][e], the cheapest way
// from a first tool through the set U to e, grows from smaller sets to larger ones; k first tools
// of 2^k k^2 steps. The path is traced back by finding, bit for bit, the sum that gave each value.
// Greedy: from every first tool always the cheapest change that precedence lets.
// Bound: a path closed through a dummy is a matching of every tool to its follower, so the cheapest
// matching costs no more; its prices say what insisting on a first and a last tool adds.
// Range: exact up to 16 tools (33 million steps, 8 MB while it runs).
#include "material/ordering/layer_paths.hpp"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>
#include <numeric>

#include "material/ordering/matching.hpp"

namespace platetally::ordering {
namespace {

constexpr double kNever = std::numeric_limits<double>::infinity();

}  // namespace

LayerPaths::LayerPaths(const Problem& problem, Tools tools, bool exact)
    : tools_(std::move(tools)), exact_(exact) {
  const std::size_t k = tools_.size();
  for (const int from : tools_)
    for (const int to : tools_)
      arcs_.push_back(problem.change(from, to));
  before_.assign(k, std::vector<bool>(k, false));
  for (const Precedence& rule : problem.precedence) {
    const auto place = [&](int tool) {
      return static_cast<std::size_t>(std::ranges::find(tools_, tool) - tools_.begin());
    };
    if (place(rule.before) < k && place(rule.after) < k)
      before_[place(rule.after)][place(rule.before)] = true;
  }
  if (exact_) {
    find_all();
  } else {
    find_greedy();
    find_bound();
  }
  // Plates may have thousands of sets, and only paths and bounds are asked for from here on.
  arcs_ = std::vector<double>();
  before_ = std::vector<std::vector<bool>>();
}

double LayerPaths::exact_work(std::size_t size) {
  const auto k = static_cast<double>(size);
  return std::exp2(k) * k * k * k / 8.0;
}

Tools LayerPaths::order(std::size_t path) const {
  Tools order;
  for (std::size_t i = 0; i < tools_.size(); ++i)
    order.push_back(tools_[places_[path * tools_.size() + i]]);
  return order;
}

void LayerPaths::offer(const Problem& problem, const Tools& order) {
  std::vector<std::uint16_t> places;
  double cost = 0.0;
  for (const int tool : order) {
    const auto place = std::ranges::lower_bound(tools_, tool) - tools_.begin();
    if (!places.empty())
      cost += problem.change(tools_[places.back()], tool);
    places.push_back(static_cast<std::uint16_t>(place));
  }
  add(places, cost);
}

void LayerPaths::add(const std::vector<std::uint16_t>& places, double cost) {
  paths_.push_back({places.front(), places.back(), cost});
  places_.insert(places_.end(), places.begin(), places.end());
}

void LayerPaths::add(const std::vector<std::uint16_t>& places) {
  double cost = 0.0;
  for (std::size_t i = 1; i < places.size(); ++i)
    cost += arc(places[i - 1], places[i]);
  add(places, cost);
}

void LayerPaths::find_all() {
  std::vector<double> best;
  for (std::size_t first = 0; first < tools_.size(); ++first) {
    if (std::ranges::find(before_[first], true) != before_[first].end())
      continue;
    search_from(first, best);
    for (std::size_t last = 0; last < tools_.size(); ++last)
      trace(first, last, best);
  }
}

/// Fills best[set * k + end].
void LayerPaths::search_from(std::size_t first, std::vector<double>& best) const {
  const std::size_t k = tools_.size();
  const std::uint32_t all = (1u << k) - 1u;
  std::vector<std::uint32_t> needed(k, 0);
  for (std::size_t a = 0; a < k; ++a)
    for (std::size_t b = 0; b < k; ++b)
      if (before_[a][b])
        needed[a] |= 1u << b;
  best.assign((std::size_t{all} + 1) * k, kNever);
  best[(std::size_t{1} << first) * k + first] = 0.0;
  for (std::uint32_t used = 1u << first; used < all; ++used) {
    if (!(used >> first & 1u))
      continue;
    const double* row = &best[std::size_t{used} * k];
    for (std::uint32_t rest = all & ~used; rest != 0; rest &= rest - 1) {
      const auto next = static_cast<std::size_t>(std::countr_zero(rest));
      if ((needed[next] & ~used) != 0)
        continue;
      double least = kNever;
      for (std::uint32_t ends = used; ends != 0; ends &= ends - 1) {
        const auto end = static_cast<std::size_t>(std::countr_zero(ends));
        least = std::min(least, row[end] + arc(end, next));
      }
      best[std::size_t{used | 1u << next} * k + next] = least;
    }
  }
}

void LayerPaths::trace(std::size_t first, std::size_t last, const std::vector<double>& best) {
  const std::size_t k = tools_.size();
  std::uint32_t used = (1u << k) - 1u;
  const auto value = [&](std::uint32_t set, std::size_t end) {
    return best[std::size_t{set} * k + end];
  };
  if (value(used, last) == kNever)
    return;
  std::vector<std::uint16_t> places(k);
  std::size_t end = last;
  for (std::size_t i = k - 1; i > 0; --i) {
    places[i] = static_cast<std::uint16_t>(end);
    const std::uint32_t earlier = used & ~(1u << end);
    std::size_t from = 0;
    while (!(earlier >> from & 1u) || value(earlier, from) + arc(from, end) != value(used, end))
      ++from;
    used = earlier;
    end = from;
  }
  places[0] = static_cast<std::uint16_t>(first);
  add(places);
}

void LayerPaths::find_greedy() {
  const std::size_t k = tools_.size();
  for (std::size_t first = 0; first < k; ++first) {
    std::vector<std::size_t> waiting_for(k);
    for (std::size_t a = 0; a < k; ++a)
      waiting_for[a] = static_cast<std::size_t>(std::ranges::count(before_[a], true));
    if (waiting_for[first] > 0)
      continue;
    std::vector<bool> used(k, false);
    std::vector<std::uint16_t> places;
    for (std::size_t at = first; at < k;) {
      places.push_back(static_cast<std::uint16_t>(at));
      used[at] = true;
      std::size_t next = k;
      for (std::size_t a = 0; a < k; ++a) {
        if (before_[a][at])
          --waiting_for[a];
        if (!used[a] && waiting_for[a] == 0 && (next == k || arc(at, a) < arc(at, next)))
          next = a;
      }
      at = next;
    }
    add(places);
  }
}

void LayerPaths::find_bound() {
  const std::size_t k = tools_.size();
  const std::size_t dummy = k;
  const std::size_t n = k + 1;
  const double forbidden = 1.0 + std::accumulate(arcs_.begin(), arcs_.end(), 0.0);
  std::vector<double> cost(n * n, 0.0);
  for (std::size_t a = 0; a < k; ++a)
    for (std::size_t b = 0; b < k; ++b)
      cost[a * n + b] = a == b || before_[a][b] ? forbidden : arc(a, b);
  for (std::size_t a = 0; a < k; ++a)
    for (std::size_t b = 0; b < k; ++b)
      if (before_[a][b]) {
        cost[dummy * n + a] = forbidden;
        cost[b * n + dummy] = forbidden;
      }
  cost[dummy * n + dummy] = forbidden;
  const Matching matching = cheapest_matching(cost, n);
  base_bound_ = matching.cost;
  for (std::size_t a = 0; a < k; ++a) {
    const double as_first =
        cost[dummy * n + a] - matching.row_price[dummy] - matching.column_price[a];
    const double as_last =
        cost[a * n + dummy] - matching.row_price[a] - matching.column_price[dummy];
    first_extra_.push_back(cost[dummy * n + a] == forbidden ? kNever : std::max(0.0, as_first));
    last_extra_.push_back(cost[a * n + dummy] == forbidden ? kNever : std::max(0.0, as_last));
  }
}

double LayerPaths::bound(std::size_t first, std::size_t last) const {
  if (first == last && tools_.size() > 1)
    return kNever;
  return base_bound_ + first_extra_[first] + last_extra_[last];
}

}  // namespace platetally::ordering
