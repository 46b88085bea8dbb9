// What the schemas of all reports have in common.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "platetally/explain.hpp"

namespace platetally::report {

/// "urn:platetally:tally:1" of "platetally.tally/1".
std::string urn_of(std::string_view schema);

/// "ready", "look", "cannot".
std::vector<std::string> grade_names();
/// "note", "warning", "error".
std::vector<std::string> severity_names();
/// Every code of that kind.
std::vector<std::string> codes_of(CodeKind kind);

/// Of MadeFrom.
nlohmann::ordered_json made_from_schema();

}  // namespace platetally::report
