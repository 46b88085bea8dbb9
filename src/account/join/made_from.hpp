// What goes with reading a plate and changes figures, for the report.
#pragma once

#include "platetally/machine.hpp"
#include "platetally/made_from.hpp"
#include "platetally/options.hpp"

namespace platetally {

/// Machine and options; the plate is not known yet. `machine` as it was given, so that a variant of
/// it is an option and no other machine.
MadeFrom made_from(const Machine& machine, const AnalyzeOptions& options);

/// Every value of it: describe() rounds and names no orders.
std::string exact_text(const Variant& variant);

}  // namespace platetally
