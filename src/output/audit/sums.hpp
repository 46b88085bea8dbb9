// What the rows of an audit amount to.
#pragma once

#include "platetally/audit.hpp"

namespace platetally::audit_stage {

/// Fills counts, totals and findings from the rows, which must be in the order of the input, and
/// then puts the worst first.
void sum_up(AuditReport& report);

/// Adds what the row knows to sums by audit_keys(); NaN: nothing known yet, or of no sense.
void add_to_totals(const AuditRow& row, std::vector<double>& totals);

}  // namespace platetally::audit_stage
