// Idea: what the past of a plate leaves to its future is the tool in hand. So layer by layer, for
// every last tool, the cheapest way to it: f(e) = min over p, s of f_before(p) + change(p, s) +
// path(s, e), where path is the cheapest order of the layer's tools from s to e (layer_paths.cpp),
// found once for each set of tools. This is dynamic programming (R. Bellman 1957, from memory) and
// exact. Layers with more tools than the limit, or beyond the work limit, know only some good
// paths; the search then goes on in turns: choose by f, make the chosen orders cheaper where they
// are (improve.cpp), add them to the paths, choose again, so the cost never rises. The same
// recursion with lower bounds for the paths gives a bound for the whole plate, and so the gap.
// Range: up to 16 tools in a layer exact; any number of layers; memory about 2 kB a set of 8 tools
// and 12 kB a set of 16.
#include "material/ordering/exact_order.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <limits>
#include <map>
#include <set>
#include <tuple>

#include "base/counted.hpp"
#include "material/ordering/improve.hpp"
#include "material/ordering/layer_paths.hpp"

namespace platetally::ordering {
namespace {

constexpr double kNever = std::numeric_limits<double>::infinity();
constexpr std::size_t kMostTools = 16;
constexpr int kRounds = 10;

/// What it costs to get to each tool of a set.
struct Reach {
  const Tools* tools = nullptr;  ///< none before anything is in hand
  std::vector<double> cost;
};

/// How the cheapest ways through one layer went.
struct Trail {
  std::vector<std::size_t> before;  ///< by first place: place in the set before
  std::vector<std::size_t> path;    ///< by last place
};

class Search {
 public:
  Search(const Problem& problem, const Limits& limits) : problem_(problem), limits_(limits) {
    std::map<Tools, std::size_t> known;
    const std::size_t exact_tools = std::min(limits.exact_tools, kMostTools);
    if (problem.first)
      first_ = {*problem.first};
    double work = 0.0;
    for (const Tools& layer : problem.layers) {
      if (layer.empty())
        continue;
      Tools tools = layer;
      std::ranges::sort(tools);
      const auto [entry, is_new] = known.try_emplace(tools, sets_.size());
      if (is_new) {
        const double needed = LayerPaths::exact_work(tools.size());
        const bool exact = tools.size() <= exact_tools && work + needed <= limits.work;
        work += exact ? needed : 0.0;
        sets_.emplace_back(problem, tools, exact);
      }
      set_of_layer_.push_back(entry->second);
    }
  }

  Solution solve() {
    std::vector<Tools> chosen = choose();
    double cost = cost_of(chosen);
    for (int round = 0; round < kRounds && improve(chosen); ++round) {
      std::vector<Tools> next = choose();
      const double next_cost = cost_of(next);
      if (!(next_cost < cost))
        break;
      chosen = std::move(next);
      cost = next_cost;
    }
    return {with_empty_layers(chosen), cost, prove(cost)};
  }

 private:
  double cost_of(const std::vector<Tools>& orders) const { return order_cost(problem_, orders); }

  Reach start() const {
    if (first_.empty())
      return {};
    return {&first_, {0.0}};
  }

  /// Cost to begin with each tool of `tools`, and after which one.
  std::vector<double> enter(const Reach& reach, const Tools& tools,
                            std::vector<std::size_t>& before) const {
    std::vector<double> cost(tools.size(), reach.tools ? kNever : 0.0);
    before.assign(tools.size(), 0);
    for (std::size_t first = 0; reach.tools && first < tools.size(); ++first)
      for (std::size_t p = 0; p < reach.cost.size(); ++p) {
        const double sum = reach.cost[p] + problem_.change((*reach.tools)[p], tools[first]);
        if (sum < cost[first]) {
          cost[first] = sum;
          before[first] = p;
        }
      }
    return cost;
  }

  double leave(const Reach& reach, std::size_t place) const {
    return reach.cost[place] +
           (problem_.kept ? problem_.change((*reach.tools)[place], *problem_.kept) : 0.0);
  }

  std::size_t cheapest_end(const Reach& reach) const {
    std::size_t best = 0;
    for (std::size_t place = 1; place < reach.cost.size(); ++place)
      if (leave(reach, place) < leave(reach, best))
        best = place;
    return best;
  }

  /// The cheapest orders that the known paths allow.
  std::vector<Tools> choose() const {
    std::vector<Trail> trails(set_of_layer_.size());
    Reach reach = start();
    for (std::size_t layer = 0; layer < trails.size(); ++layer) {
      const LayerPaths& set = sets_[set_of_layer_[layer]];
      const std::vector<double> entry = enter(reach, set.tools(), trails[layer].before);
      reach = {&set.tools(), std::vector<double>(set.tools().size(), kNever)};
      trails[layer].path.assign(set.tools().size(), 0);
      for (std::size_t i = 0; i < set.paths().size(); ++i) {
        const Path& path = set.paths()[i];
        if (entry[path.first] + path.cost < reach.cost[path.last]) {
          reach.cost[path.last] = entry[path.first] + path.cost;
          trails[layer].path[path.last] = i;
        }
      }
    }
    return trails.empty() ? std::vector<Tools>{} : walk_back(trails, cheapest_end(reach));
  }

  std::vector<Tools> walk_back(const std::vector<Trail>& trails, std::size_t last) const {
    std::vector<Tools> orders(trails.size());
    for (std::size_t layer = trails.size(); layer-- > 0;) {
      const LayerPaths& set = sets_[set_of_layer_[layer]];
      const std::size_t path = trails[layer].path[last];
      orders[layer] = set.order(path);
      last = trails[layer].before[set.paths()[path].first];
    }
    return orders;
  }

  /// Offers cheaper orders for the layers that are not exact; whether there was any.
  bool improve(const std::vector<Tools>& chosen) {
    std::set<std::tuple<Tools, int, int>> done;
    bool any = false;
    for (std::size_t layer = 0; layer < chosen.size(); ++layer) {
      LayerPaths& set = sets_[set_of_layer_[layer]];
      const auto k = static_cast<double>(chosen[layer].size());
      if (set.exact() || improve_work_ + 10.0 * k * k * k > limits_.work)
        continue;
      const std::optional<int> before =
          layer > 0 ? std::optional(chosen[layer - 1].back()) : problem_.first;
      const std::optional<int> after =
          layer + 1 < chosen.size() ? std::optional(chosen[layer + 1].front()) : problem_.kept;
      if (!done.emplace(chosen[layer], before.value_or(-1), after.value_or(-1)).second)
        continue;
      improve_work_ += 10.0 * k * k * k;
      const Tools better = improve_layer(problem_, chosen[layer], before, after);
      if (better != chosen[layer]) {
        set.offer(problem_, better);
        any = true;
      }
    }
    return any;
  }

  Proof prove(double cost) const {
    const auto open = static_cast<std::size_t>(
        std::ranges::count_if(set_of_layer_, [&](std::size_t set) { return !sets_[set].exact(); }));
    if (open == 0)
      return {true, cost, 0.0, 0};
    // The bound is a sum of the same size as the cost, so rounding alone may part them.
    const double bound = std::min(cost, lower_bound());
    if (cost - bound <= 1e-9 * cost)
      return {true, cost, 0.0, open};
    return {false, bound, (cost - bound) / cost, open};
  }

  double lower_bound() const {
    Reach reach = start();
    std::vector<std::size_t> unused;
    for (const std::size_t index : set_of_layer_) {
      const LayerPaths& set = sets_[index];
      const std::size_t k = set.tools().size();
      const std::vector<double> entry = enter(reach, set.tools(), unused);
      reach = {&set.tools(), std::vector<double>(k, kNever)};
      const auto take = [&](std::size_t first, std::size_t last, double path) {
        reach.cost[last] = std::min(reach.cost[last], entry[first] + path);
      };
      if (set.exact()) {
        for (const Path& path : set.paths())
          take(path.first, path.last, path.cost);
      } else {
        for (std::size_t first = 0; first < k; ++first)
          for (std::size_t last = 0; last < k; ++last)
            take(first, last, set.bound(first, last));
      }
    }
    return leave(reach, cheapest_end(reach));
  }

  Orders with_empty_layers(std::vector<Tools>& chosen) const {
    Orders orders;
    std::size_t next = 0;
    for (const Tools& layer : problem_.layers)
      orders.push_back(layer.empty() ? Tools{} : std::move(chosen[next++]));
    return orders;
  }

  const Problem& problem_;
  Limits limits_;
  std::vector<LayerPaths> sets_;
  std::vector<std::size_t> set_of_layer_;  ///< layers without tools left out
  Tools first_;                            ///< the tool in hand at the start, if there is one
  double improve_work_ = 0.0;
};

}  // namespace

Solution best_order(const Problem& problem, const Limits& limits) {
  require_valid(problem);
  return Search(problem, limits).solve();
}

std::string text_of(const Solution& solution, const std::string& unit) {
  const Proof& proof = solution.proof;
  if (proof.optimal)
    return fmt::format("optimal: no order costs less than {:.6g}{}", solution.cost, unit);
  return fmt::format(
      "not proven: {} searched without proof; no order costs less than {:.6g}{}, so that at "
      "most "
      "{:.1f} % of {:.6g}{} could still be saved",
      base::counted(proof.open_layers, "layer was", "layers were"), proof.bound, unit,
      100.0 * proof.gap, solution.cost, unit);
}

}  // namespace platetally::ordering
