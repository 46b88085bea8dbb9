// machines --learn.
#pragma once

#include <string>
#include <vector>

namespace platetally::cli {

/// Prints a row of the machine file for every unknown word of the plates that may matter, and names
/// the others. `plates`: files and folders. Gives the exit code; throws RunError.
int learn_rows(const std::string& machine_name, const std::vector<std::string>& plates,
               const std::string& output_path);

}  // namespace platetally::cli
