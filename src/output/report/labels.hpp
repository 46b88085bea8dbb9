// Plain words for keys: of totals, of the machine file's entries, of causes.
#pragma once

#include <string>
#include <string_view>

#include "platetally/account.hpp"

namespace platetally::report {

/// "machine time" for "time_s" or "totals.time_s"; the key itself where it is none of the totals,
/// with its underscores as blanks.
std::string label_of_total(std::string_view key);
/// Its unit; empty for counts and what is not known.
std::string unit_of_total(std::string_view key);

/// "power of a bed zone" for "bed.tile_power_w"; the key itself where there are no words for it.
std::string label_of_entry(std::string_view key);

/// "changes that take long" for "long-swap", of TimeBandCause.
std::string label_of_cause(std::string_view cause);

/// "zero" to nothing: words for a finding's code, "prime tower without need".
std::string label_of_code(std::string_view code);

/// The last part of a path.
std::string short_name(std::string_view path);

/// With a capital letter in front, unless it begins with a key.
std::string capital(std::string text);

/// What the costs of objects stand on; empty where there is no labour, or one object.
std::string words_of_shared_labour(const Account& account);

}  // namespace platetally::report
