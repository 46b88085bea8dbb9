/// @file
/// A page for every finding.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace platetally {

/// What the finding of that code means, in plain text; nothing for an unknown code.
std::optional<std::string> explain_finding(std::string_view code);

/// Every code that a finding can have, sorted.
std::vector<std::string> finding_codes();

}  // namespace platetally
