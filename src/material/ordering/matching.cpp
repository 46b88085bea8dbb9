// Idea: rows enter one by one; each looks for the shortest alternating path to a free column under
// the reduced costs, prices are moved so that reduced costs stay at 0 or more, and the matching is
// turned round along the path. n rows of O(n^2). Source: H. W. Kuhn, Naval Research Logistics
// Quarterly 2 (1955) 83-97, with shortest augmenting paths (from memory). Range: any finite costs.
#include "material/ordering/matching.hpp"

#include <limits>

namespace platetally::ordering {
namespace {

constexpr std::size_t kNone = static_cast<std::size_t>(-1);

class Search {
 public:
  Search(const std::vector<double>& cost, std::size_t n)
      : cost_(cost), n_(n), row_price_(n, 0.0), column_price_(n, 0.0), row_of_(n, kNone) {}

  void insert(std::size_t row) {
    distance_.assign(n_, std::numeric_limits<double>::infinity());
    came_from_.assign(n_, kNone);
    settled_.assign(n_, false);
    std::size_t column = kNone;  // none stands for the new row's own place
    std::size_t at = row;
    do {
      const std::size_t next = reach(at, column);
      raise_prices(row, distance_[next]);
      settled_[next] = true;
      column = next;
      at = row_of_[column];
    } while (at != kNone);
    while (column != kNone) {
      const std::size_t before = came_from_[column];
      row_of_[column] = before == kNone ? row : row_of_[before];
      column = before;
    }
  }

  Matching result() const {
    Matching matching{std::vector<std::size_t>(n_), row_price_, column_price_, 0.0};
    for (std::size_t column = 0; column < n_; ++column) {
      matching.column_of_row[row_of_[column]] = column;
      matching.cost += cost_[row_of_[column] * n_ + column];
    }
    return matching;
  }

 private:
  /// Shortens the ways that lead over `row`, which `column` is matched to; the nearest open column.
  std::size_t reach(std::size_t row, std::size_t column) {
    std::size_t nearest = kNone;
    for (std::size_t j = 0; j < n_; ++j) {
      if (settled_[j])
        continue;
      const double reduced = cost_[row * n_ + j] - row_price_[row] - column_price_[j];
      if (reduced < distance_[j]) {
        distance_[j] = reduced;
        came_from_[j] = column;
      }
      if (nearest == kNone || distance_[j] < distance_[nearest])
        nearest = j;
    }
    return nearest;
  }

  void raise_prices(std::size_t row, double step) {
    row_price_[row] += step;
    for (std::size_t j = 0; j < n_; ++j) {
      if (settled_[j]) {
        row_price_[row_of_[j]] += step;
        column_price_[j] -= step;
      } else {
        distance_[j] -= step;
      }
    }
  }

  const std::vector<double>& cost_;
  std::size_t n_;
  std::vector<double> row_price_;
  std::vector<double> column_price_;
  std::vector<std::size_t> row_of_;  ///< by column
  std::vector<double> distance_;
  std::vector<std::size_t> came_from_;
  std::vector<bool> settled_;
};

}  // namespace

Matching cheapest_matching(const std::vector<double>& cost, std::size_t n) {
  Search search(cost, n);
  for (std::size_t row = 0; row < n; ++row)
    search.insert(row);
  return search.result();
}

}  // namespace platetally::ordering
