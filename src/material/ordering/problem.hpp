// In which order the tools of every layer are used: the question, an answer, and what it costs.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace platetally::ordering {

/// Tools of one layer, as a set or in the order of use.
using Tools = std::vector<int>;
/// One entry a layer.
using Orders = std::vector<Tools>;

/// `before` is used before `after` in every layer that has both.
struct Precedence {
  int before = 0;
  int after = 0;
};

/// A layer is whatever is finished before the next one starts: with objects printed one after the
/// other, the layers of the first object come first, then those of the second.
struct Problem {
  std::size_t tools = 0;
  std::vector<double> cost;  ///< tools x tools, row-major from, to; the diagonal is not read
  Orders layers;             ///< the tools that each needs, none twice; may be empty
  std::optional<int> first;  ///< in hand when the plate starts; else the first tool costs nothing
  std::optional<int> kept;   ///< in hand when the plate is done; a change to it is paid for
  std::vector<Precedence> precedence;

  double change(int from, int to) const {
    return from == to ? 0.0
                      : cost[static_cast<std::size_t>(from) * tools + static_cast<std::size_t>(to)];
  }
};

/// What is wrong with the problem, in one line; empty if nothing is.
std::string fault_of(const Problem& problem);

/// Throws std::invalid_argument with fault_of() if there is one.
void require_valid(const Problem& problem);

/// Cost of all changes. The orders may use a tool several times in a layer, as plates do.
double order_cost(const Problem& problem, const Orders& orders);

/// Every change at the cost of its cheapest way, through others of `through` where that costs less
/// than the direct change (Floyd and Warshall 1962, from memory). No order, whatever detours it
/// takes, costs less than the best one of this.
Problem with_detours(const Problem& problem, const Tools& through);

/// Whether a layer's order keeps to the precedence.
bool keeps_precedence(const Problem& problem, const Tools& order);

}  // namespace platetally::ordering
