// The numbers of an account as one flat JSON object, by the keys that --get takes.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "output/report/fields.hpp"

namespace platetally {
struct Account;
}

namespace platetally::report {

/// Keys of the section's numbers, within the section.
std::vector<std::string_view> number_keys(const Section& section);

/// Whether flat_json holds the numbers of that key's section: of all but the layers, findings and
/// diagnostics, which have no bound. `key` with its section.
bool is_flat(std::string_view key);

/// {"totals.time_s": 1.5, "tools.0.part_g": ...}; zeros of rows are left out, as a row that is not
/// there counts as zero; what is not known is null. `more`: further keys, with their sections.
std::string flat_json(const Account& account, const std::vector<std::string>& more);

}  // namespace platetally::report
