// Moments and hours of the week, from text and to it.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "platetally/plan.hpp"

namespace platetally::hours {

/// "mon-fri 07:30-17:00", "sat 9:00-12:00", "sun 22:00-06:00" (into the next day), "always". Days
/// run on over the week's end: "sat-mon". Nothing for any other text.
std::optional<std::vector<WeekSpan>> parse_hours(std::string_view text);

}  // namespace platetally::hours
