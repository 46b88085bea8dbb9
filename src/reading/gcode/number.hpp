// The numbers of G-code: fixed point, no exponent ("X1E5" is X1 and E5), and exact, because a
// mantissa below 2^53 and a power of ten up to 10^22 are both exact doubles and their quotient is
// rounded once (W. D. Clinger, How to read floating point numbers accurately, 1990). Where they
// are longer std::from_chars reads them.
#pragma once

#include "base/letters.hpp"

namespace platetally::gcode {

using Iterator = const char*;

using base::is_blank;
using base::is_digit;
using base::is_letter;
using base::upper;

inline constexpr double kPowersOfTen[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                          1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                          1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

}  // namespace platetally::gcode
