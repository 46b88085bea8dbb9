#include "account/advice/shift.hpp"

#include <fmt/format.h>

#include <cmath>

namespace platetally::advice {

std::string shift_words(double x_mm, double y_mm) {
  constexpr double kShown_mm = 0.05;
  const bool in_x = std::abs(x_mm) >= kShown_mm;
  const bool in_y = std::abs(y_mm) >= kShown_mm;
  if (!in_x && !in_y)
    return "nothing";
  return fmt::format("{}{}{}", in_x ? fmt::format("{:+.1f} mm in X", x_mm) : "",
                     in_x && in_y ? " and " : "", in_y ? fmt::format("{:+.1f} mm in Y", y_mm) : "");
}

}  // namespace platetally::advice
