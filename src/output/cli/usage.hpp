// For usage errors: what was perhaps meant.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace platetally::cli {

/// The candidate that takes the fewest edits, or nothing if none is near enough to be meant.
std::string nearest(std::string_view given, const std::vector<std::string>& candidates);

/// "a, b, c"
std::string listed(const std::vector<std::string>& names);

}  // namespace platetally::cli
