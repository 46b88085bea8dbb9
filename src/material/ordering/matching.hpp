// Cheapest one-to-one matching of rows to columns.
#pragma once

#include <cstddef>
#include <vector>

namespace platetally::ordering {

/// Prices with row[i] + column[j] <= cost[i][j], equal where i is matched to j; their sum is the
/// cheapest matching's cost, so that cost - row - column is what a pair outside of it adds at
/// least.
struct Matching {
  std::vector<std::size_t> column_of_row;
  std::vector<double> row_price;
  std::vector<double> column_price;
  double cost = 0.0;
};

/// `cost` is n x n, row-major, finite.
Matching cheapest_matching(const std::vector<double>& cost, std::size_t n);

}  // namespace platetally::ordering
