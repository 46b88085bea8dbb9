// Numbers of up to eight digits, many at once.
#pragma once

#include <cstddef>
#include <cstdint>

namespace platetally::gcode {

/// `digits[i]` holds the eight digits of a whole number, a byte each, the first one lowest;
/// value[i] becomes that number over divisor[i]. Exact where the quotient of two exact doubles is.
void find_quotients(const std::uint64_t* digits, const double* divisor, std::size_t count,
                    double* value);

}  // namespace platetally::gcode
