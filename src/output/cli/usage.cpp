#include "output/cli/usage.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "base/nearest.hpp"

namespace platetally::cli {

std::string nearest(std::string_view given, const std::vector<std::string>& candidates) {
  constexpr std::size_t kLongestWord = 64;  // a longer one is no slip of the finger
  if (given.size() > kLongestWord)
    return {};
  return base::nearest(given, candidates, std::max<std::size_t>(2, given.size() / 3));
}

std::string listed(const std::vector<std::string>& names) {
  return fmt::format("{}", fmt::join(names, ", "));
}

}  // namespace platetally::cli
