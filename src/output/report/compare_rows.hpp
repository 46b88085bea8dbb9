// Machines side by side, as a part of a page.
#pragma once

#include "output/report/page.hpp"
#include "platetally/compare.hpp"

namespace platetally::report {

/// Table, bars, the break-even points, what is measured and what is assumed. `whole_page`: with
/// headings of the page's own rank, not below another.
void add_comparison(Page& page, const Comparison& comparison, bool whole_page);

}  // namespace platetally::report
