#include "base/nearest.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <random>

namespace platetally::base {
namespace {

// By the definition: the least of what taking out, putting in and changing the last letters leaves.
std::size_t slow_edits(std::string_view a, std::string_view b) {
  if (a.empty() || b.empty())
    return a.size() + b.size();
  const std::string_view x = a.substr(0, a.size() - 1), y = b.substr(0, b.size() - 1);
  return std::min({slow_edits(x, b) + 1, slow_edits(a, y) + 1,
                   slow_edits(x, y) + (a.back() == b.back() ? 0 : 1)});
}

TEST(Edits, AreThoseOfTheDefinition) {
  EXPECT_EQ(edits("", ""), 0U);
  EXPECT_EQ(edits("", "seed"), 4U);
  EXPECT_EQ(edits("tray", "trays"), 1U);
  EXPECT_EQ(edits("lantern", "latern"), 1U);
  EXPECT_EQ(edits("Label", "lAbel"), 0U) << "whatever the case";
  std::mt19937 random(5);
  for (int round = 0; round < 300; ++round) {
    std::string words[2];
    for (std::string& word : words)
      for (std::size_t i = random() % 7; i > 0; --i)
        word += static_cast<char>('a' + random() % 3);
    EXPECT_EQ(edits(words[0], words[1]), slow_edits(words[0], words[1]))
        << words[0] << ' ' << words[1];
  }
}

TEST(Edits, OfEndlessTextTakeNoTime) {
  EXPECT_EQ(edits(std::string(10'000'000, 'a'), std::string(10'000'000, 'b')), 100U);
}

TEST(Nearest, TakesTheFewestEditsAndTheFirstAmongEquals) {
  EXPECT_EQ(nearest("purge", {"print_g", "purge_g", "purge_h"}), "purge_g");
  EXPECT_EQ(nearest("anything", {}), "");
}

TEST(Nearest, WhatIsTooFarIsNotMeant) {
  EXPECT_EQ(nearest("tally", {"audit", "taly"}, 1), "taly");
  EXPECT_EQ(nearest("tally", {"audit", "totally"}, 1), "");
}

}  // namespace
}  // namespace platetally::base
