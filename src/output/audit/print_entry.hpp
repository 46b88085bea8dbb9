// One way into the log of prints, however a print is known.
#pragma once

#include "meter/history/store.hpp"
#include "platetally/print_log.hpp"

namespace platetally::audit_stage {

/// Keeps it unless it is there already. Throws std::runtime_error for another outcome of the same.
LoggedPrint count_print(history::Store& store, const history::Print& print, bool counts_once);

}  // namespace platetally::audit_stage
