// A shift on the bed in words.
#pragma once

#include <string>

namespace platetally::advice {

/// "+1.0 mm in X and -45.0 mm in Y", without what is nothing in one decimal.
std::string shift_words(double x_mm, double y_mm);

}  // namespace platetally::advice
