// From an sRGB colour to CIELAB, and from two CIELAB colours to the difference that is seen.
//
// sRGB: IEC 61966-2-1; decoding with the threshold 0.04045. The matrix to XYZ follows, unrounded,
// from the chromaticities of its primaries and of its white, x = 0.3127, y = 0.3290; that white is
// the one white of this program (the standard's four-digit matrix has 0.9505, 1, 1.0890, which
// moves a CIELAB value by up to 0.02). CIELAB: ISO/CIE 11664-4, in the exact fractions 216/24389
// and 24389/27. Difference: G. Sharma, W. Wu, E. N. Dalal, "The CIEDE2000 color-difference formula:
// implementation notes, supplementary test data, and mathematical observations", Color Research and
// Application 30 (2005) 21-30. Range: meant for small differences, up to about 5; beyond that it
// only ranks.
#include <cmath>
#include <numbers>

#include "material/swaps/colour.hpp"

namespace platetally::swaps {
namespace {

constexpr Xyz kWhite = {0.3127 / 0.3290, 1.0, (1.0 - 0.3127 - 0.3290) / 0.3290};

double linear_of(std::uint8_t value) {
  const double encoded = value / 255.0;
  return encoded <= 0.04045 ? encoded / 12.92 : std::pow((encoded + 0.055) / 1.055, 2.4);
}

/// CIELAB's cube root with a straight foot.
double root(double ratio) {
  return ratio > 216.0 / 24389.0 ? std::cbrt(ratio) : (24389.0 / 27.0 * ratio + 16.0) / 116.0;
}

double radians(double degrees) {
  return degrees * std::numbers::pi / 180.0;
}

/// sqrt(C^7 / (C^7 + 25^7)): how far a chroma is beyond 25.
double saturation(double chroma) {
  const double power = std::pow(chroma, 7.0);
  return std::sqrt(power / (power + 6103515625.0));
}

/// 0 to 360; 0 for a grey, whose hue means nothing.
double hue_degrees(double a, double b) {
  if (a == 0.0 && b == 0.0)
    return 0.0;
  const double degrees = std::atan2(b, a) * 180.0 / std::numbers::pi;
  return degrees < 0.0 ? degrees + 360.0 : degrees;
}

struct Hues {
  double difference = 0.0;  ///< from -180 to 180
  double mean = 0.0;
};

/// The short way round between two hues and its middle; a grey takes the hue of the other.
Hues compare_hues(double one, double other, bool grey) {
  if (grey)
    return {0.0, one + other};
  const double difference = other - one;
  const double sum = one + other;
  if (std::fabs(difference) <= 180.0)
    return {difference, sum / 2.0};
  return {difference > 0.0 ? difference - 360.0 : difference + 360.0,
          sum < 360.0 ? (sum + 360.0) / 2.0 : (sum - 360.0) / 2.0};
}

/// The paper's T: hues at which a step is seen more or less.
double hue_weight(double degrees) {
  return 1.0 - 0.17 * std::cos(radians(degrees - 30.0)) + 0.24 * std::cos(radians(2.0 * degrees)) +
         0.32 * std::cos(radians(3.0 * degrees + 6.0)) -
         0.20 * std::cos(radians(4.0 * degrees - 63.0));
}

}  // namespace

LinearRgb linear_of(Rgb colour) {
  return {linear_of(colour.red), linear_of(colour.green), linear_of(colour.blue)};
}

Xyz xyz_of(const LinearRgb& light) {
  const auto [r, g, b] = light;
  return {0.4123907992659595 * r + 0.357584339383878 * g + 0.1804807884018343 * b,
          0.21263900587151027 * r + 0.715168678767756 * g + 0.07219231536073371 * b,
          0.01933081871559182 * r + 0.11919477979462598 * g + 0.9505321522496607 * b};
}

Lab lab_of(const LinearRgb& light) {
  const Xyz xyz = xyz_of(light);
  const double x = root(xyz.x / kWhite.x);
  const double y = root(xyz.y / kWhite.y);
  const double z = root(xyz.z / kWhite.z);
  return {116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)};
}

double delta_e00(const Lab& one, const Lab& other) {
  // Greys are seen finer along a: a is stretched where the mean chroma is low.
  const double plain_chroma = (std::hypot(one.a, one.b) + std::hypot(other.a, other.b)) / 2.0;
  const double stretch = 1.0 + 0.5 * (1.0 - saturation(plain_chroma));
  const double a1 = stretch * one.a;
  const double a2 = stretch * other.a;
  const double chroma1 = std::hypot(a1, one.b);
  const double chroma2 = std::hypot(a2, other.b);
  const Hues hues = compare_hues(hue_degrees(a1, one.b), hue_degrees(a2, other.b),
                                 chroma1 == 0.0 || chroma2 == 0.0);

  const double lightness_offset = (one.lightness + other.lightness) / 2.0 - 50.0;
  const double offset2 = lightness_offset * lightness_offset;
  const double chroma = (chroma1 + chroma2) / 2.0;
  const double lightness_scale = 1.0 + 0.015 * offset2 / std::sqrt(20.0 + offset2);
  const double chroma_scale = 1.0 + 0.045 * chroma;
  const double hue_scale = 1.0 + 0.015 * chroma * hue_weight(hues.mean);

  const double l = (other.lightness - one.lightness) / lightness_scale;
  const double c = (chroma2 - chroma1) / chroma_scale;
  const double h =
      2.0 * std::sqrt(chroma1 * chroma2) * std::sin(radians(hues.difference / 2.0)) / hue_scale;
  const double blue = (hues.mean - 275.0) / 25.0;  // chroma and hue are tangled in the blues
  const double turn = -std::sin(radians(60.0 * std::exp(-blue * blue))) * 2.0 * saturation(chroma);
  return std::sqrt(l * l + c * c + h * h + turn * c * h);
}

}  // namespace platetally::swaps
