// Idea: local search. A row of tools keeps its direction when it moves, because a change and the
// change back do not cost the same, so reversing a stretch (2-opt) would change all costs in it.
// Source: I. Or's moves of up to three in a row (from memory). Range: no promise how far from the
// best; the bound of layer_paths.cpp says.
#include "material/ordering/improve.hpp"

#include <algorithm>

namespace platetally::ordering {
namespace {

constexpr int kSweeps = 50;
constexpr std::size_t kLongestMove = 3;

class Layer {
 public:
  Layer(const Problem& problem, Tools order, std::optional<int> before, std::optional<int> after)
      : problem_(problem), order_(std::move(order)) {
    order_.insert(order_.begin(), before.value_or(kNobody));
    order_.push_back(after.value_or(kNobody));
  }

  /// Whether a move or an exchange saved anything.
  bool sweep() {
    bool saved = false;
    for (std::size_t from = 1; from + 1 < order_.size(); ++from) {
      for (std::size_t length = 1; length <= kLongestMove && from + length < order_.size();
           ++length)
        saved = move_best(from, length) || saved;
      for (std::size_t to = from + 1; to + 1 < order_.size(); ++to)
        saved = exchange(from, to) || saved;
    }
    return saved;
  }

  Tools order() const { return {order_.begin() + 1, order_.end() - 1}; }

 private:
  static constexpr int kNobody = -1;

  double arc(std::size_t from, std::size_t to) const {
    const int one = order_[from];
    const int other = order_[to];
    return one == kNobody || other == kNobody ? 0.0 : problem_.change(one, other);
  }

  /// Less than nothing by more than rounding: else two orders of one cost could take turns for
  /// ever.
  static bool saves(double change, double of) { return change < -1e-12 * (1.0 + of); }

  bool keep_if_allowed(Tools candidate) {
    if (!keeps_precedence(problem_, {candidate.begin() + 1, candidate.end() - 1}))
      return false;
    order_ = std::move(candidate);
    return true;
  }

  /// Moves [from, from + length) to before `to`, wherever that saves.
  bool move_best(std::size_t from, std::size_t length) {
    const std::size_t end = from + length;
    const double gone = arc(from - 1, from) + arc(end - 1, end);
    const double closed = arc(from - 1, end);
    for (std::size_t to = 1; to < order_.size(); ++to) {
      if (to >= from && to <= end)
        continue;
      const double opened = arc(to - 1, to);
      const double joined = arc(to - 1, from) + arc(end - 1, to);
      if (!saves(closed - gone + joined - opened, gone + opened))
        continue;
      Tools candidate = order_;
      const auto at = [&](std::size_t i) {
        return candidate.begin() + static_cast<std::ptrdiff_t>(i);
      };
      if (to < from)
        std::rotate(at(to), at(from), at(end));
      else
        std::rotate(at(from), at(end), at(to));
      if (keep_if_allowed(std::move(candidate)))
        return true;
    }
    return false;
  }

  double around(std::size_t one, std::size_t other) const {
    const double near = arc(one - 1, one) + arc(one, one + 1) + arc(other, other + 1);
    return other == one + 1 ? near : near + arc(other - 1, other);
  }

  bool exchange(std::size_t one, std::size_t other) {
    const double now = around(one, other);
    std::swap(order_[one], order_[other]);
    const double then = around(one, other);
    Tools candidate = order_;
    std::swap(order_[one], order_[other]);
    return saves(then - now, now) && keep_if_allowed(std::move(candidate));
  }

  const Problem& problem_;
  Tools order_;  ///< with what is in hand before and after at its ends
};

}  // namespace

Tools improve_layer(const Problem& problem, Tools order, std::optional<int> before,
                    std::optional<int> after) {
  Layer layer(problem, std::move(order), before, after);
  for (int sweep = 0; sweep < kSweeps && layer.sweep(); ++sweep) {
  }
  return layer.order();
}

}  // namespace platetally::ordering
