// Cautions that several reports and pages end with.
#pragma once

namespace platetally::report {

/// Of what is about a meter.
inline constexpr const char* kMeterCaution =
    "Measure with a listed plug-in meter only and never open a supply; attend a hot machine; local "
    "codes and licensed practice apply.";

}  // namespace platetally::report
