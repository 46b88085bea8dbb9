// The bed from above: zones with their hours and watt-hours, what lies on it, and the best place.
#pragma once

#include <string>

namespace platetally {
struct Account;
}

namespace platetally::report {

/// An SVG; empty where nothing is known of the bed.
std::string drawn_bed(const Account& account);

/// 0 .. 3: the step of a map's hue for a value, the largest being `most`.
int map_step(double value, double most);

}  // namespace platetally::report
