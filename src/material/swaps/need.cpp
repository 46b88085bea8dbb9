// Need per pair of colours: V = m (Vp + V0 (-ln c*)).
//
// Idea: behind a change the nozzle first pushes out the old filament as it is (Vp), then a mixture
// whose share of the old colour falls by 1/e with every V0, as in a stirred vessel. Clean is when
// the share is c*: the largest at which the mixture still lies within dE00 of the new colour.
// Mixing: single-constant Kubelka-Munk, K/S = (1 - R)^2 / (2 R), linear in the shares, channel by
// channel on linear sRGB reflectance (P. Kubelka, F. Munk, Z. tech. Physik 12 (1931) 593-601; from
// memory). Adding the light of the colours instead would get it wrong that dark to light needs
// more. Range: opaque filament of one material. Translucent, glittering or glowing ones, and what
// one material does to another, are not in it.
// No filament reflects nothing or all: a polymer's surface alone throws back 4 % (Fresnel,
// refractive index 1.5) and a white one some four fifths (assumed), so a colour's light is set
// between 0.05 and 0.8. Without that the last tenth of white would decide: K/S of a white goes to 0
// there, and with it the share of black that is not seen in it. Defaults (assumed, inside what
// settings of practice span and fitted to none of them): V0 58 mm3, Vp 138 mm3, m 1.25 give unlike
// pairs 200 to 700 mm3, black to white 560, four usual colours a mean of 440, and alike colours
// what has to leave the nozzle, 170. A hot end of high flow holds more: kHighFlow times as much
// (assumed; black to white comes to 920, "above 900" is said in the trade, no source). dE00 2: R.
// D. Paravina et al., J. Esthet. Restor. Dent. 27 (2015) S1-S9, found 1.8 accepted by half of the
// observers, on ceramics side by side: a guide only.
#include "material/swaps/need.hpp"

#include <algorithm>
#include <cmath>

namespace platetally::swaps {
namespace {

constexpr double kLeast = 0.005;  // K/S stays finite, whatever the reflectances are set to
constexpr double kMost = 0.95;
// Below this share nothing is seen in any colour: a share c moves K/S by at most 99 c, and the
// brightest channel by sqrt of twice that.
constexpr double kLogSmallest = -16.0;

double absorption_of(double reflectance) {
  const double rest = 1.0 - reflectance;
  return rest * rest / (2.0 * reflectance);
}

double reflectance_of(double absorption) {
  // 1 + q - sqrt(q^2 + 2 q), in the form that does not cancel for large q.
  return 1.0 / (1.0 + absorption + std::sqrt(absorption * (absorption + 2.0)));
}

}  // namespace

LinearRgb as_filament(Rgb colour, const Reflectances& reflectances) {
  LinearRgb light = linear_of(colour);
  for (double& channel : light)
    channel =
        std::clamp(reflectances.darkest + (reflectances.brightest - reflectances.darkest) * channel,
                   kLeast, kMost);
  return light;
}

LinearRgb mix(const LinearRgb& old_colour, const LinearRgb& new_colour, double share) {
  LinearRgb mixture{};
  for (std::size_t i = 0; i < mixture.size(); ++i)
    mixture[i] = reflectance_of(share * absorption_of(old_colour[i]) +
                                (1.0 - share) * absorption_of(new_colour[i]));
  return mixture;
}

double tolerated_share(Rgb old_colour, Rgb new_colour, double tolerance_de00,
                       const Reflectances& reflectances) {
  const LinearRgb from = as_filament(old_colour, reflectances);
  const LinearRgb to = as_filament(new_colour, reflectances);
  const Lab clean = lab_of(to);
  const auto accepted = [&](double log_share) {
    return delta_e00(lab_of(mix(from, to, std::exp(log_share))), clean) <= tolerance_de00;
  };
  // The difference may fall again on its way to the old colour, so the first crossing is what
  // counts: steps of a quarter find the interval, halving finds the share in it to 1e-12.
  double low = kLogSmallest;
  double high = low;
  while (high < 0.0 && accepted(high)) {
    low = high;
    high = std::min(0.0, high + 0.25);
  }
  if (accepted(high))
    return std::exp(high);
  for (int step = 0; step < 40; ++step) {
    const double middle = (low + high) / 2.0;
    (accepted(middle) ? low : high) = middle;
  }
  return std::exp(low);
}

double need_mm3(Rgb old_colour, Rgb new_colour, const NeedModel& model) {
  const double share =
      tolerated_share(old_colour, new_colour, model.tolerance_de00, model.reflectances);
  return model.margin * (model.dead_mm3 - model.washout_mm3 * std::log(share));
}

NeedFit fit_need(const std::vector<MeasuredNeed>& pairs, const NeedModel& base) {
  if (pairs.size() < 2)
    return {std::nullopt, "two measured pairs or more are needed"};
  // need / m = Vp + V0 n: a straight line through the pairs, n being how often V0 has to pass.
  double sum_n = 0.0, sum_v = 0.0, sum_nn = 0.0, sum_nv = 0.0;
  double least = 1e9, most = -1e9;
  for (const MeasuredNeed& pair : pairs) {
    const double n =
        -std::log(tolerated_share(pair.from, pair.to, base.tolerance_de00, base.reflectances));
    const double volume_mm3 = pair.need_mm3 / base.margin;
    sum_n += n;
    sum_v += volume_mm3;
    sum_nn += n * n;
    sum_nv += n * volume_mm3;
    least = std::min(least, n);
    most = std::max(most, n);
  }
  // Closer than this, the difference of the volumes is within what measuring them by trial is off.
  if (most == 0.0 || most - least < 0.05 * most)
    return {std::nullopt,
            "the measured pairs need nearly the same dilution; measure one dark to light and one "
            "light to dark"};
  const auto count = static_cast<double>(pairs.size());
  NeedModel model = base;
  model.washout_mm3 = (count * sum_nv - sum_n * sum_v) / (count * sum_nn - sum_n * sum_n);
  model.dead_mm3 = (sum_v - model.washout_mm3 * sum_n) / count;
  if (!(model.washout_mm3 > 0.0))
    return {std::nullopt, "pairs that need more dilution were measured with less purge"};
  if (!(model.dead_mm3 >= 0.0))
    return {std::nullopt, "the measured volumes differ by more than dilution explains"};
  return {model, {}};
}

}  // namespace platetally::swaps
