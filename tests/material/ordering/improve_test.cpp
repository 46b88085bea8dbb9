#include "material/ordering/improve.hpp"

#include "material/ordering/strategies.hpp"
#include "material/ordering/support.hpp"

namespace platetally::ordering {
namespace {

double cost_between(const Problem& problem, const Tools& order, std::optional<int> before,
                    std::optional<int> after) {
  Problem one = problem;
  one.first = before;
  one.kept = after;
  return order_cost(one, {order});
}

/// All orders that one move of up to three in a row, or one exchange, leads to.
std::vector<Tools> neighbours(const Tools& order) {
  std::vector<Tools> all;
  for (std::size_t i = 0; i < order.size(); ++i) {
    for (std::size_t j = i + 1; j < order.size(); ++j) {
      all.push_back(order);
      std::swap(all.back()[i], all.back()[j]);
    }
    for (std::size_t length = 1; length <= 3 && i + length <= order.size(); ++length) {
      Tools rest = order;
      const auto from = rest.begin() + static_cast<std::ptrdiff_t>(i);
      const Tools moved(from, from + static_cast<std::ptrdiff_t>(length));
      rest.erase(from, from + static_cast<std::ptrdiff_t>(length));
      for (std::size_t to = 0; to <= rest.size(); ++to) {
        all.push_back(rest);
        all.back().insert(all.back().begin() + static_cast<std::ptrdiff_t>(to), moved.begin(),
                          moved.end());
      }
    }
  }
  return all;
}

TEST(Improve, LeavesNoMoveAndNoExchangeThatSaves) {
  std::mt19937_64 random(71);
  for (int i = 0; i < 300; ++i) {
    SCOPED_TRACE(i);
    const Problem problem = random_problem(random, {9, 1, i % 2 == 0});
    const Tools start = ascending_layer(problem, problem.layers[0], std::nullopt);
    const Tools better = improve_layer(problem, start, problem.first, problem.kept);
    expect_valid(problem, {better});
    const double cost = cost_between(problem, better, problem.first, problem.kept);
    // Savings below 1e-12 of the costs beside are not taken; sums of ten costs round that coarsely
    // too.
    const double room = 1e-8;
    EXPECT_LE(cost, cost_between(problem, start, problem.first, problem.kept) + room);
    for (const Tools& other : neighbours(better)) {
      if (!keeps_precedence(problem, other))
        continue;
      EXPECT_GE(cost_between(problem, other, problem.first, problem.kept), cost - room);
    }
  }
}

}  // namespace
}  // namespace platetally::ordering
