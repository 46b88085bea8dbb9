// Pieces of problems that are worked out by hand.
#pragma once

#include <vector>

#include "plan/solve/problem.hpp"

namespace platetally::solve {

constexpr Seconds kMonday = 1777852800;  // 2026-05-04 00:00, a Monday
constexpr Seconds kHour = 3600;

/// Somebody is there from 8 to 16, every day.
inline Calendar by_day() {
  std::vector<Span> spans;
  for (Seconds day = 0; day < 7; ++day)
    spans.push_back({day * kDay_s + 8 * kHour, day * kDay_s + 16 * kHour});
  return Calendar(spans);
}

inline Batch batch_of(int job, int kind, int copies, double print_h, double cost) {
  Batch batch;
  batch.job = job;
  batch.kind = kind;
  batch.copies = copies;
  batch.print_s = static_cast<Seconds>(print_h * kHour);
  batch.cost = cost;
  return batch;
}

}  // namespace platetally::solve
