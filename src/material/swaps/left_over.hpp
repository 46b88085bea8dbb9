// What is left of the old colour behind too little purge. Formula: need.cpp, solved for the colour.
#pragma once

#include "material/swaps/need.hpp"

namespace platetally::swaps {

/// Share of the old colour in what is laid behind `purged_mm3`, as expected, without the margin
/// that a need holds: c = exp((Vp - V) / V0), all of it up to the dead volume. 0 where the volume
/// is not finite.
double share_left(double purged_mm3, const NeedModel& model);

/// How far that looks from the clean new colour (CIEDE2000); 0 once nothing of it is seen.
double difference_left_de00(Rgb old_colour, Rgb new_colour, double purged_mm3,
                            const NeedModel& model);

}  // namespace platetally::swaps
