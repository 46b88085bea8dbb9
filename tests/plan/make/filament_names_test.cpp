// Filaments by name and by bit.
#include "plan/make/filament_names.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <bit>
#include <stdexcept>

namespace platetally::plan {
namespace {

std::vector<std::string> numbered_filaments(int count) {
  std::vector<std::string> names;
  for (int i = 0; i < count; ++i)
    names.push_back(fmt::format("filament {}", i));
  return names;
}

TEST(FilamentNames, EachNameHasABitOfItsOwnWhichStays) {
  FilamentNames names;
  const solve::Filaments green = names.bits({"green"});
  const solve::Filaments both = names.bits({"white", "green"});
  EXPECT_EQ(std::popcount(green), 1);
  EXPECT_EQ(std::popcount(both), 2);
  EXPECT_EQ(both & green, green);
  EXPECT_EQ(names.bits({"green"}), green);
  EXPECT_EQ(names.bits({"green", "green"}), green);
}

TEST(FilamentNames, ComeBackInTheOrderInWhichTheyWereMet) {
  FilamentNames names;
  names.bits({"white", "black"});
  const solve::Filaments asked = names.bits({"red", "white"});
  EXPECT_EQ(names.names(asked), (std::vector<std::string>{"white", "red"}));
  EXPECT_TRUE(names.names(0).empty());
  EXPECT_EQ(names.bits({}), solve::Filaments{0});
}

TEST(FilamentNames, LettersOfAnotherCaseAreAnotherFilament) {
  FilamentNames names;
  EXPECT_NE(names.bits({"Green"}), names.bits({"green"}));
}

TEST(FilamentNames, SixtyFourFindRoomAndTheNextIsRefused) {
  FilamentNames names;
  EXPECT_EQ(names.bits(numbered_filaments(64)), ~solve::Filaments{0});
  EXPECT_EQ(names.names(~solve::Filaments{0}), numbered_filaments(64));
  EXPECT_EQ(std::popcount(names.bits({"filament 63"})), 1);
  try {
    names.bits({"filament 0", "one too many"});
    FAIL() << "65 names in 64 bits";
  } catch (const std::invalid_argument& error) {
    EXPECT_STREQ(error.what(), "the queue names more than 64 filaments; plan it in parts");
  }
}

}  // namespace
}  // namespace platetally::plan
