// Idea: up to 8 colours all placements are tried (40,320). One that has cost as much as the best so
// far before its last layer is left at once, and so is one that would by adding what the layers to
// come cost at least: the cheapest path through each one's colours, whatever its order
// (layer_paths.cpp). The best so far comes from exchanging two colours while that saves, which is
// also all that is done for more colours or where placements times layers exceed 4e8; the plan then
// says that it is not proven. For one placement, a layer's cost and the colour in hand behind it
// depend only on its set of colours, the colour in hand before it and the direction, and are kept.
// Range: orders of the three kinds; every head can take every colour.
#include "material/ordering/assignment.hpp"

#include <algorithm>
#include <limits>
#include <map>
#include <numeric>

#include "material/ordering/layer_paths.hpp"

namespace platetally::ordering {
namespace {

constexpr double kNever = std::numeric_limits<double>::infinity();
constexpr std::size_t kMostColours = 8;
constexpr double kMostSteps = 4e8;

/// Colours of one layer in the order of use.
Tools layer_order(Tools colours, FixedOrder order, bool down, std::optional<int> in_hand,
                  const std::vector<int>& head_of) {
  const auto head = [&](int colour) { return head_of[static_cast<std::size_t>(colour)]; };
  std::ranges::sort(colours, {}, head);
  if (order == FixedOrder::alternating && down)
    std::ranges::reverse(colours);
  if (order == FixedOrder::cyclic && in_hand)
    std::rotate(colours.begin(), std::ranges::lower_bound(colours, head(*in_hand), {}, head),
                colours.end());
  return colours;
}

class Placement {
 public:
  Placement(const Problem& problem, FixedOrder order) : problem_(problem), order_(order) {
    std::map<Tools, std::size_t> known;
    std::vector<double> least;
    for (const Tools& layer : problem.layers) {
      if (layer.empty())
        continue;
      Tools colours = layer;
      std::ranges::sort(colours);
      const auto [entry, is_new] = known.try_emplace(colours, sets_.size());
      if (is_new) {
        least.push_back(least_cost(colours));
        sets_.push_back(colours);
      }
      set_of_layer_.push_back(entry->second);
    }
    to_come_.assign(set_of_layer_.size() + 1, 0.0);
    for (std::size_t layer = set_of_layer_.size(); layer-- > 0;)
      to_come_[layer] = to_come_[layer + 1] + least[set_of_layer_[layer]];
  }

  std::size_t layers() const { return set_of_layer_.size(); }

  /// Cost of a placement; infinite if it breaks the precedence or costs `enough` or more.
  double cost(const std::vector<int>& head_of, double enough) {
    passages_.assign(sets_.size() * 2 * (problem_.tools + 1), {});
    double sum = 0.0;
    std::optional<int> in_hand = problem_.first;
    for (std::size_t layer = 0; layer < set_of_layer_.size(); ++layer) {
      const Passage& passage = pass(set_of_layer_[layer], layer % 2 == 1, in_hand, head_of);
      sum += passage.cost;
      in_hand = passage.last;
      if (!(sum + to_come_[layer + 1] * kRoundingRoom < enough))
        return kNever;
    }
    if (in_hand && problem_.kept)
      sum += problem_.change(*in_hand, *problem_.kept);
    return sum < enough ? sum : kNever;
  }

 private:
  // Sums taken in another order differ in the last digits; the bound must not cut off for that.
  static constexpr double kRoundingRoom = 1.0 - 1e-12;

  struct Passage {
    double cost = -1.0;  ///< below 0: not known yet
    int last = 0;
  };

  double least_cost(const Tools& colours) const {
    if (colours.size() > kMostColours)
      return 0.0;
    const LayerPaths paths(problem_, colours, true);
    return std::ranges::min(paths.paths(), {}, &Path::cost).cost;
  }

  const Passage& pass(std::size_t set, bool down, std::optional<int> in_hand,
                      const std::vector<int>& head_of) {
    const auto hand = in_hand ? static_cast<std::size_t>(*in_hand) : problem_.tools;
    Passage& passage = passages_[(set * 2 + (down ? 1 : 0)) * (problem_.tools + 1) + hand];
    if (passage.cost >= 0.0)
      return passage;
    const Tools colours = layer_order(sets_[set], order_, down, in_hand, head_of);
    passage.cost = keeps_precedence(problem_, colours) ? 0.0 : kNever;
    for (const int colour : colours) {
      if (in_hand)
        passage.cost += problem_.change(*in_hand, colour);
      in_hand = colour;
    }
    passage.last = *in_hand;
    return passage;
  }

  const Problem& problem_;
  FixedOrder order_;
  std::vector<Tools> sets_;
  std::vector<std::size_t> set_of_layer_;
  std::vector<double> to_come_;  ///< by layer: what it and those behind it cost at least
  std::vector<Passage> passages_;
};

/// Exchanges two colours while that saves.
double exchange(Placement& placement, std::vector<int>& head_of) {
  double best = placement.cost(head_of, kNever);
  for (bool saved = true; saved;) {
    saved = false;
    for (std::size_t a = 0; a < head_of.size(); ++a)
      for (std::size_t b = a + 1; b < head_of.size(); ++b) {
        std::swap(head_of[a], head_of[b]);
        const double cost = placement.cost(head_of, best);
        if (cost < best) {
          best = cost;
          saved = true;
        } else {
          std::swap(head_of[a], head_of[b]);
        }
      }
  }
  return best;
}

double factorial(std::size_t n) {
  double product = 1.0;
  for (std::size_t i = 2; i <= n; ++i)
    product *= static_cast<double>(i);
  return product;
}

}  // namespace

std::optional<HeadPlan> best_heads(const Problem& problem, FixedOrder order) {
  require_valid(problem);
  Placement placement(problem, order);
  HeadPlan plan;
  plan.head_of.resize(problem.tools);
  std::iota(plan.head_of.begin(), plan.head_of.end(), 0);
  std::vector<int> candidate = plan.head_of;
  plan.cost = exchange(placement, plan.head_of);
  plan.proven = problem.tools <= kMostColours &&
                factorial(problem.tools) * static_cast<double>(placement.layers()) <= kMostSteps;
  if (plan.proven) {
    do {
      const double cost = placement.cost(candidate, plan.cost);
      if (cost < plan.cost) {
        plan.cost = cost;
        plan.head_of = candidate;
      }
    } while (std::ranges::next_permutation(candidate).found);
  }
  if (plan.cost == kNever)
    return std::nullopt;
  return plan;
}

Orders fixed_orders(const Problem& problem, FixedOrder order, const std::vector<int>& head_of) {
  Orders orders;
  std::optional<int> in_hand = problem.first;
  bool down = false;
  for (const Tools& layer : problem.layers) {
    orders.push_back(layer_order(layer, order, down, in_hand, head_of));
    if (layer.empty())
      continue;
    in_hand = orders.back().back();
    down = !down;
  }
  return orders;
}

}  // namespace platetally::ordering
