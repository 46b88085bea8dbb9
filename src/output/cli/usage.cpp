#include "output/cli/usage.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <numeric>
#include <utility>

namespace platetally::cli {

namespace {

/// Edit distance (Levenshtein).
std::size_t edits(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  std::iota(row.begin(), row.end(), std::size_t{0});
  for (std::size_t i = 0; i < a.size(); ++i) {
    std::size_t diagonal = std::exchange(row[0], i + 1);
    for (std::size_t j = 0; j < b.size(); ++j) {
      const std::size_t change = diagonal + (a[i] == b[j] ? 0 : 1);
      diagonal = row[j + 1];
      row[j + 1] = std::min({change, row[j] + 1, diagonal + 1});
    }
  }
  return row.back();
}

}  // namespace

std::string nearest(std::string_view given, const std::vector<std::string>& candidates) {
  constexpr std::size_t kLongestWord = 64;  // a longer one is no slip of the finger
  if (given.size() > kLongestWord)
    return {};
  std::string best;
  std::size_t least = std::max<std::size_t>(2, given.size() / 3) + 1;
  for (const std::string& candidate : candidates)
    if (const std::size_t count = edits(given, candidate); count < least) {
      least = count;
      best = candidate;
    }
  return best;
}

std::string listed(const std::vector<std::string>& names) {
  return fmt::format("{}", fmt::join(names, ", "));
}

}  // namespace platetally::cli
