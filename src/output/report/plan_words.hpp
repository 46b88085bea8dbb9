// Names and figures of a plan, as every report of it shows them.
#pragma once

#include <string>

#include "platetally/plan.hpp"

namespace platetally::report {

inline constexpr const char* kPlanCaution =
    "A plan from a model. A machine that heats is attended where the cautions of its maker, the "
    "insurance or the house rules ask for it; hours in which nobody is there are marked.";

/// "changer", or "switcher 2" where there are several.
std::string machine_name(const Plan& plan, std::size_t machine, int instance);
/// "Mon 07:30"
std::string week_moment(std::int64_t moment_s);
/// Value with its unit, as rows of bounds show it.
std::string bound_text(const Plan& plan, const PlanBound& bound, double value);
/// "hours until all is done", ...
std::string measure_title(const Plan& plan, const PlanBound& bound);
/// "2.1 %", "0 %, proven"
std::string gap_text(const PlanBound& bound);
/// A sentence on the assignment and one on how the improvement ended.
std::string proof_text(const Plan& plan);
/// "3.20 EUR"
std::string money_text(const Plan& plan, double amount);

}  // namespace platetally::report
