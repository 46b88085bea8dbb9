// Machines side by side, as a part of a page and of the JSON.
#pragma once

#include <nlohmann/json_fwd.hpp>

#include "output/report/page.hpp"
#include "platetally/compare.hpp"

namespace platetally::report {

/// One row a machine; what each stands on, folded.
void add_comparison_table(Page& page, const Comparison& comparison);

/// Members of "plates" in platetally.compare/2.
nlohmann::ordered_json json_of(const Comparison& comparison);

}  // namespace platetally::report
