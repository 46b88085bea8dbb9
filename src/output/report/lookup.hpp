// Numbers of an account by key.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace platetally {
struct Account;
}

namespace platetally::report {

/// The key with its section. Throws std::invalid_argument for one that can name no value.
std::string full_key(std::string_view key);

/// The number to hold against a limit: a row that the plate has not counts as zero; nothing where
/// the value is not known or no number.
std::optional<double> number_at(const Account& account, std::string_view key);

}  // namespace platetally::report
