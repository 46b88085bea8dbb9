// Machines side by side, as a part of a page and of the JSON.
#pragma once

#include <nlohmann/json_fwd.hpp>

#include "output/report/page.hpp"
#include "platetally/compare.hpp"

namespace platetally::report {

/// Table, bars, the break-even points, what is measured and what is assumed. `whole_page`: with
/// headings of the page's own rank, not below another.
void add_comparison(Page& page, const Comparison& comparison, bool whole_page);

/// Members of "plates" in platetally.compare/2.
nlohmann::ordered_json json_of(const Comparison& comparison);

}  // namespace platetally::report
