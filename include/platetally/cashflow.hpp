/// @file
/// Money over time.
#pragma once

#include <optional>
#include <span>

namespace platetally {

/// Net present value of `flows`, the first one now and one a period after it.
double net_present_value(double rate, std::span<const double> flows);

/// The rate at which the net present value is nothing, between -0.99 and 1000; nothing where the
/// flows do not change sign once between these.
std::optional<double> internal_rate_of_return(std::span<const double> flows);

/// Periods until the cumulative flow, discounted at `rate` (0: simple payback), is first no longer
/// negative, within a period in proportion; nothing where it never is.
std::optional<double> payback_periods(double rate, std::span<const double> flows);

/// Worth now of 1 a period for `periods` periods.
double annuity_factor(double rate, double periods);

}  // namespace platetally
