// How far past predictions of a machine were off, and what the history cannot tell of it.
#pragma once

#include <string>

#include "platetally/reconcile.hpp"

namespace platetally::cli {

/// Says on standard error what is left out for want of its machine. Throws RunError.
AccuracyBook accuracy_of(const std::string& history, const std::string& machine);

}  // namespace platetally::cli
