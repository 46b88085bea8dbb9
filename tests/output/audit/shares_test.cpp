// Shares of the work, by the sizes of the files.
#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "output/audit/setting.hpp"

namespace platetally::audit_stage {
namespace {

/// Bytes of every share.
std::vector<std::int64_t> loads_of(const std::vector<std::int64_t>& sizes_bytes, int shards) {
  std::vector<std::int64_t> loads(static_cast<std::size_t>(shards), 0);
  const std::vector<int> shares = shares_of(sizes_bytes, shards);
  for (std::size_t i = 0; i < sizes_bytes.size(); ++i)
    loads.at(static_cast<std::size_t>(shares[i]) - 1) += sizes_bytes[i];
  return loads;
}

// A folder of unlike sizes, three decades of them; the largest is 2 % of all.
std::vector<std::int64_t> unlike_sizes() {
  std::vector<std::int64_t> sizes;
  for (std::int64_t i = 1; i <= 200; ++i)
    sizes.push_back(10'000 + i * i * 1'000 * (i * 7919 % 13 + 1) / 13);
  return sizes;
}

TEST(Shares, AreAlikeByBytesWithinFivePercent) {
  for (const int shards : {2, 3, 7, 16}) {
    const std::vector<std::int64_t> loads = loads_of(unlike_sizes(), shards);
    const auto [least, most] = std::ranges::minmax(loads);
    EXPECT_LT(static_cast<double>(most - least), 0.05 * static_cast<double>(most)) << shards;
  }
}

TEST(Shares, EveryFileIsInOneAndTheSameEachTime) {
  const std::vector<int> shares = shares_of(unlike_sizes(), 5);
  EXPECT_EQ(std::set<int>(shares.begin(), shares.end()), (std::set<int>{1, 2, 3, 4, 5}));
  EXPECT_EQ(shares_of(unlike_sizes(), 5), shares);
}

TEST(Shares, TheLargestGoFirstAndTiesByTheirPlace) {
  EXPECT_EQ(shares_of({1, 5, 5, 9}, 2), (std::vector<int>{1, 2, 2, 1}));
  EXPECT_EQ(shares_of({0, 0, 0, 0}, 2), (std::vector<int>{1, 2, 1, 2})) << "empty files, too";
  EXPECT_EQ(shares_of({7}, 3), (std::vector<int>{1}));
  EXPECT_TRUE(shares_of({}, 3).empty());
}

TEST(Shares, TheListingIsOfNamesAndSizes) {
  const std::string listing = hash_of_listing({"a", "b"}, {1, 2});
  EXPECT_EQ(hash_of_listing({"a", "b"}, {1, 2}), listing);
  EXPECT_NE(hash_of_listing({"a", "b"}, {1, 3}), listing);
  EXPECT_NE(hash_of_listing({"a", "c"}, {1, 2}), listing);
}

}  // namespace
}  // namespace platetally::audit_stage
