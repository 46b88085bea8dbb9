// A linear or mixed-integer programme, and the solver behind it (CBC of COIN-OR, through its C++
// classes; nothing else here knows it).
#pragma once

#include <limits>
#include <vector>

#include "plan/solve/problem.hpp"

namespace platetally::solve {

inline constexpr double kUnbounded = std::numeric_limits<double>::infinity();

struct Term {
  int column = 0;
  double factor = 0.0;
};

struct Column {
  double cost = 0.0;
  double low = 0.0;
  double high = kUnbounded;
  bool whole = false;
};

struct Row {
  std::vector<Term> terms;
  double low = -kUnbounded;
  double high = kUnbounded;
};

/// Least sum of cost times column.
struct LinearProgram {
  std::vector<Column> columns;
  std::vector<Row> rows;

  int add(const Column& column) {
    columns.push_back(column);
    return static_cast<int>(columns.size()) - 1;
  }
  void add(Row row) { rows.push_back(std::move(row)); }
};

struct LinearAnswer {
  bool feasible = false;
  bool optimal = false;  ///< proven
  double value = 0.0;    ///< of `columns`, where feasible
  double bound = 0.0;    ///< nothing is below it
  int nodes = 0;
  bool out_of_time = false;  ///< stopped by Effort::seconds
  std::vector<double> columns;
};

/// Whole columns are taken as broken ones.
LinearAnswer solve_relaxed(const LinearProgram& program);
/// Branch and bound, as far as `effort` goes. The same answer for the same programme, unless it is
/// stopped by time.
LinearAnswer solve_whole(const LinearProgram& program, const Effort& effort);

}  // namespace platetally::solve
