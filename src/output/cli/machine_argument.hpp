// A machine that the user named.
#pragma once

#include <string>

#include "platetally/machine.hpp"

namespace platetally::cli {

/// What was said while the machine was read goes to standard error. Throws RunError if it cannot be
/// used.
Machine load_machine_argument(const std::string& name_or_path);

/// Throws UsageError, naming the machines that come with it, where none was named.
void require_machine(const std::string& name_or_path);

/// Diagnostics of a machine or materials file, one after the other, on standard error.
void say_diagnostics(const std::vector<Diagnostic>& diagnostics, const std::string& path);

}  // namespace platetally::cli
