// Heat loss of a warm horizontal plate to air and surroundings.
//
// Nu = 0.54 Ra^(1/4) for a hot face up, 1e4 <= Ra <= 1e7, characteristic length L = area /
// perimeter (W. H. McAdams, Heat Transmission, 3rd edition, McGraw-Hill 1954). With the properties
// of air near 330 K this is h = 1.36 (dT / L)^(1/4) W/m2K, within 3 % of full film properties from
// 300 to 400 K. Radiation: eps sigma (T^4 - Te^4), sigma exact by CODATA 2018.
#pragma once

#include <cmath>

#include "base/units.hpp"

namespace platetally::heat {

inline constexpr double kStefanBoltzmann = 5.6703744191844314e-8;  // W m-2 K-4
inline constexpr double kFilmConstant = 1.36;                      // W m-2 K-1 (K/m)^(-1/4)

/// A heat flow and its derivative by the warm side's temperature.
struct Flow {
  double w = 0.0;
  double w_per_k = 0.0;
  double w_per_k_cold = 0.0;  ///< derivative by the cold side's, positive
};

/// Natural convection from area_m2; antisymmetric in the temperature difference.
inline Flow convection(double area_m2, double factor, double length_m, double warm_c,
                       double cold_c) {
  const double difference_k = warm_c - cold_c;
  const double h = factor * kFilmConstant * std::sqrt(std::sqrt(std::abs(difference_k) / length_m));
  return {area_m2 * h * difference_k, 1.25 * area_m2 * h, 1.25 * area_m2 * h};
}

/// W/K4.
inline double radiation_strength(double area_m2, double emissivity) {
  return emissivity * kStefanBoltzmann * area_m2;
}

inline Flow radiation(double area_m2, double emissivity, double warm_c, double cold_c) {
  const double warm_k = base::k_from_c(warm_c);
  const double cold_k = base::k_from_c(cold_c);
  const double strength = radiation_strength(area_m2, emissivity);
  const double warm3 = warm_k * warm_k * warm_k;
  const double cold3 = cold_k * cold_k * cold_k;
  return {strength * (warm3 * warm_k - cold3 * cold_k), 4.0 * strength * warm3,
          4.0 * strength * cold3};
}

}  // namespace platetally::heat
