// Net present value, internal rate of return and payback by their definitions (engineering
// economics, from memory); checked against printed examples.
#include "platetally/cashflow.hpp"

#include <cmath>

namespace platetally {

double net_present_value(double rate, std::span<const double> flows) {
  double sum = 0.0;
  double factor = 1.0;
  for (const double flow : flows) {
    sum += flow * factor;
    factor /= 1.0 + rate;
  }
  return sum;
}

std::optional<double> internal_rate_of_return(std::span<const double> flows) {
  double low = -0.99;
  double high = 1000.0;
  const double at_low = net_present_value(low, flows);
  const double at_high = net_present_value(high, flows);
  if (flows.empty() || !(at_low * at_high < 0.0))
    return std::nullopt;
  constexpr int kHalvings = 200;  // to the last bit of any rate in between
  for (int i = 0; i < kHalvings && low < high; ++i) {
    const double middle = 0.5 * (low + high);
    if ((net_present_value(middle, flows) > 0.0) == (at_low > 0.0))
      low = middle;
    else
      high = middle;
  }
  return 0.5 * (low + high);
}

std::optional<double> payback_periods(double rate, std::span<const double> flows) {
  double sum = 0.0;
  double factor = 1.0;
  for (std::size_t period = 0; period < flows.size(); ++period) {
    const double flow = flows[period] * factor;
    if (sum + flow >= 0.0) {
      // The flow of a period comes in evenly over it; the first one is there at once.
      if (period == 0 || sum >= 0.0)
        return period == 0 ? 0.0 : static_cast<double>(period - 1);
      return static_cast<double>(period - 1) + -sum / flow;
    }
    sum += flow;
    factor /= 1.0 + rate;
  }
  return std::nullopt;
}

double annuity_factor(double rate, double periods) {
  return rate == 0.0 ? periods : (1.0 - std::pow(1.0 + rate, -periods)) / rate;
}

}  // namespace platetally
