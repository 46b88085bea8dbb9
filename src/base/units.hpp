// The only place with 60, 1000, 3600 and 273.15: conversions at the edges.
#pragma once

#include <numbers>

namespace platetally::base {

inline constexpr double kSecondsPerMinute = 60.0;
inline constexpr double kSecondsPerHour = 3600.0;
inline constexpr double kMinutesPerHour = 60.0;
inline constexpr double kSecondsPerDay = 24.0 * kSecondsPerHour;
inline constexpr double kSecondsPerMicrosecond = 1e-6;
inline constexpr double kMmPerInch = 25.4;  // exact since 1959
inline constexpr double kMillisecondsPerSecond = 1000.0;
inline constexpr double kJoulesPerWattHour = 3600.0;
inline constexpr double kWhPerKwh = 1000.0;
inline constexpr double kMm3PerCm3 = 1000.0;
inline constexpr double kMmPerM = 1000.0;
inline constexpr double kMmPerCm = 10.0;
inline constexpr double kGPerKg = 1000.0;
inline constexpr double kKelvinAtZeroCelsius = 273.15;

constexpr double mm_s_from_mm_min(double feed_mm_min) {
  return feed_mm_min / kSecondsPerMinute;
}
constexpr double wh_from_j(double energy_j) {
  return energy_j / kJoulesPerWattHour;
}
constexpr double j_from_wh(double energy_wh) {
  return energy_wh * kJoulesPerWattHour;
}
constexpr double min_from_s(double time_s) {
  return time_s / kSecondsPerMinute;
}
constexpr double h_from_s(double time_s) {
  return time_s / kSecondsPerHour;
}
constexpr double kwh_from_wh(double energy_wh) {
  return energy_wh / kWhPerKwh;
}
constexpr double kg_from_g(double mass_g) {
  return mass_g / kGPerKg;
}
constexpr double k_from_c(double temperature_c) {
  return temperature_c + kKelvinAtZeroCelsius;
}

/// Cross section of a round filament.
constexpr double filament_area_mm2(double diameter_mm) {
  return std::numbers::pi / 4.0 * diameter_mm * diameter_mm;
}

/// Mass of a volume of plastic.
constexpr double g_from_mm3(double volume_mm3, double density_g_cm3) {
  return volume_mm3 / kMm3PerCm3 * density_g_cm3;
}

}  // namespace platetally::base
