// Lines of a report that say how far the file itself bears the account out.
#pragma once

#include <string>
#include <vector>

#include "platetally/account.hpp"

namespace platetally::report {

/// "the file's own figures: layers 88 (found 89, +1.1 %), ..."; empty where it states none.
std::string stated_line(const Account& account);

/// "M746 12x (from line 3): carries ..." for every unknown word that may matter.
std::vector<std::string> words_that_may_matter(const Account& account);

/// How much of the plate is missing; empty where it is whole.
std::string partial_line(const Account& account);

}  // namespace platetally::report
