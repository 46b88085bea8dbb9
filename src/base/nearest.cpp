#include "base/nearest.hpp"

#include <algorithm>
#include <numeric>
#include <utility>

#include "base/letters.hpp"

namespace platetally::base {

namespace {

// What is longer is no slip of the finger, and hostile text must not cost its square.
constexpr std::size_t kLongestWord = 100;

}  // namespace

std::size_t edits(std::string_view from, std::string_view to) {
  from = from.substr(0, kLongestWord);
  to = to.substr(0, kLongestWord);
  std::vector<std::size_t> row(to.size() + 1);
  std::iota(row.begin(), row.end(), std::size_t{0});
  for (std::size_t i = 0; i < from.size(); ++i) {
    std::size_t diagonal = std::exchange(row[0], i + 1);
    for (std::size_t j = 0; j < to.size(); ++j) {
      const std::size_t change = diagonal + (lower(from[i]) == lower(to[j]) ? 0 : 1);
      diagonal = row[j + 1];
      row[j + 1] = std::min({change, row[j] + 1, diagonal + 1});
    }
  }
  return row.back();
}

std::string nearest(std::string_view word, const std::vector<std::string>& names,
                    std::size_t most) {
  const std::string* best = nullptr;
  for (const std::string& name : names)
    if (const std::size_t count = edits(word, name);
        count <= most && (best == nullptr || count < edits(word, *best)))
      best = &name;
  return best == nullptr ? std::string() : *best;
}

}  // namespace platetally::base
