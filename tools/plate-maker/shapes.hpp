// The plates of the botanical garden's workshop.
#pragma once

#include "options.hpp"
#include "writer.hpp"

namespace plate_maker {

/// Writes the whole plate that the options describe.
void make_plate(const Options& options, Writer& writer);

}  // namespace plate_maker
