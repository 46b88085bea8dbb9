// The machines that come with the library, and names of enumerations.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "platetally/machine.hpp"

namespace platetally::machine {

/// TOML text of an embedded machine.
std::optional<std::string_view> embedded_toml(std::string_view name);

/// By value of DialectAction and CommentMeaning.
const std::vector<std::string>& action_names();
const std::vector<std::string>& comment_meaning_names();
/// What the keys of a row with that action may mean; empty: the action takes none.
std::vector<std::string> key_meanings(DialectAction action);

}  // namespace platetally::machine
