// The whole plate: start, layers, end.
#pragma once

#include "line_writer.hpp"
#include "options.hpp"
#include "truth.hpp"

namespace plate_maker {

void make_plate(const Options& options, LineWriter& writer, Truth& truth);

}  // namespace plate_maker
