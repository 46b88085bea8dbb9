// The word that was meant by one that nobody knows.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace platetally::base {

/// How many letters must be put in, taken out or changed to make one of the other (Levenshtein's
/// distance), whatever their case.
std::size_t edits(std::string_view from, std::string_view to);

/// The name with the fewest edits from `word`, at most `most`; empty if there is none. The first
/// among equals.
std::string nearest(std::string_view word, const std::vector<std::string>& names,
                    std::size_t most = std::string_view::npos);

}  // namespace platetally::base
