// What a plate does over its layers and over time, as charts.
#pragma once

#include "output/report/chart.hpp"
#include "platetally/account.hpp"

namespace platetally::report {

/// Time, swaps, purge and energy of every layer, and which tools print in it.
Chart layer_chart(const Account& account);

/// Watts from the wall by component over machine time.
Chart power_chart(const Account& account);

/// "0 black", or the number alone.
std::string tool_name(const Account& account, int tool);

/// What SVG can paint for a colour by name or "#rrggbb"; empty for any other text.
std::string paint_of(std::string_view colour);

}  // namespace platetally::report
