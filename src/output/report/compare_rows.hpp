// Machines side by side, as a part of a page.
#pragma once

#include "output/report/page.hpp"
#include "platetally/compare.hpp"

namespace platetally::report {

/// One row a machine; what each stands on, folded.
void add_comparison_table(Page& page, const Comparison& comparison);

}  // namespace platetally::report
