// Spool changes against every way to choose what gives way.
#include "plan/solve/spools.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <bit>

#include "plan/solve/chance.hpp"

namespace platetally::solve {
namespace {

/// Fewest changes from batch `at` on, whatever gives way.
int fewest(const std::vector<Filaments>& needs, std::size_t at, Filaments loaded, int feeds) {
  if (at == needs.size())
    return 0;
  const int changes = std::popcount(needs[at] & ~loaded);
  const Filaments all = loaded | needs[at];
  int best = 1000;
  // Every set that holds what is needed and fits; holding less than one could never helps.
  for (Filaments kept = all;; kept = (kept - 1) & all) {
    if ((kept & needs[at]) == needs[at] &&
        std::popcount(kept) == std::min(feeds, std::popcount(all)))
      best = std::min(best, changes + fewest(needs, at + 1, kept, feeds));
    if (kept == 0)
      break;
  }
  return best;
}

TEST(Spools, TheFewestChangesOfAllWays) {
  Chance chance(3);
  int with_eviction = 0;
  for (int round = 0; round < 300; ++round) {
    const int feeds = 2 + static_cast<int>(chance.below(3));
    std::vector<Filaments> needs;
    for (std::size_t i = 0; i < 6; ++i) {
      Filaments need = 0;
      const int many = 1 + static_cast<int>(chance.below(static_cast<std::size_t>(feeds)));
      while (std::popcount(need) < many)
        need |= Filaments{1} << chance.below(6);
      needs.push_back(need);
    }
    Filaments loaded = 0;
    while (std::popcount(loaded) < feeds && chance.below(4) != 0)
      loaded |= Filaments{1} << chance.below(6);
    std::vector<SpoolChange> changes;
    change_spools(needs, loaded, feeds, changes);
    int sum = 0;
    Filaments held = loaded;
    for (std::size_t i = 0; i < needs.size(); ++i) {
      EXPECT_EQ(changes[i].put_in, needs[i] & ~held);
      EXPECT_EQ(changes[i].loaded & needs[i], needs[i]);
      EXPECT_LE(std::popcount(changes[i].loaded), feeds);
      EXPECT_EQ(changes[i].loaded & ~(held | needs[i]), 0U);
      with_eviction += (held & ~changes[i].loaded) != 0 ? 1 : 0;
      held = changes[i].loaded;
      sum += std::popcount(changes[i].put_in);
    }
    EXPECT_EQ(sum, fewest(needs, 0, loaded, feeds));
  }
  EXPECT_GT(with_eviction, 100);
}

// Worked by hand: two feeds, A B A C A: C replaces B, not A, which comes again.
TEST(Spools, WhatComesAgainSoonestStays) {
  std::vector<SpoolChange> changes;
  change_spools(std::vector<Filaments>{0b001, 0b010, 0b001, 0b100, 0b001}, 0, 2, changes);
  int sum = 0;
  for (const SpoolChange& change : changes)
    sum += std::popcount(change.put_in);
  EXPECT_EQ(sum, 3);
}

}  // namespace
}  // namespace platetally::solve
