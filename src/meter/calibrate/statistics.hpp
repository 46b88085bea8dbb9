// Middles and spreads.
#pragma once

#include <algorithm>
#include <cstddef>
#include <vector>

namespace platetally::calibrate {

/// Of the normal distribution, in standard deviations: 95 of 100 lie within this of the mean.
inline constexpr double kHalf95 = 1.96;
/// The same of Student's t; within 1 % from five degrees of freedom on.
inline double half_95_of(double freedom) {
  return kHalf95 + 2.4 / freedom + 2.7 / (freedom * freedom);
}
/// The normal distribution's standard deviation, over the median distance from the mean.
inline constexpr double kDeviationsOfMedian = 1.4826;

/// Of an even number of values the mean of the two in the middle; 0 of none.
inline double median(std::vector<double> values) {
  if (values.empty())
    return 0.0;
  std::sort(values.begin(), values.end());
  const std::size_t middle = values.size() / 2;
  return values.size() % 2 == 1 ? values[middle] : 0.5 * (values[middle - 1] + values[middle]);
}

}  // namespace platetally::calibrate
