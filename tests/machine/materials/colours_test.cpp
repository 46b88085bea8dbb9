// Colours as users write them.
#include "machine/materials/colour_names.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <sstream>
#include <vector>

#include "platetally/colour.hpp"

namespace platetally::materials {
namespace {

std::vector<std::string> all_names() {
  std::vector<std::string> names;
  std::istringstream list(colour_names());
  for (std::string name; list >> name;)
    names.push_back(name.ends_with(',') ? name.substr(0, name.size() - 1) : name);
  return names;
}

TEST(ColourNames, AreInOrderAndEachIsAColourOfItsOwn) {
  const auto names = all_names();
  EXPECT_EQ(names.size(), 45U);
  for (std::size_t i = 1; i < names.size(); ++i)
    EXPECT_LT(names[i - 1], names[i]);
  for (std::size_t i = 0; i < names.size(); ++i)
    for (std::size_t j = 0; j < i; ++j)
      EXPECT_NE(parse_colour(names[i]), parse_colour(names[j])) << names[i] << ' ' << names[j];
}

TEST(ColourNames, AreKnownHoweverTheyAreWritten) {
  for (const std::string& name : all_names()) {
    const auto colour = parse_colour(name);
    ASSERT_TRUE(colour) << name;
    std::string capitals = name, apart;
    for (char& c : capitals)
      c = static_cast<char>(c - 'a' + 'A');
    for (const char c : name)
      apart += fmt::format(" {}-_", c);
    EXPECT_EQ(parse_colour(capitals), colour);
    EXPECT_EQ(parse_colour(apart), colour);
    EXPECT_EQ(fault_of_colour(capitals), std::nullopt);
  }
  EXPECT_EQ(parse_colour("Light Gray"), parse_colour("lightgrey"));
  EXPECT_EQ(parse_colour("dark-GRAY"), parse_colour("darkgrey"));
}

TEST(ColourNames, NameWhatTheyLookLike) {
  const auto light = [](const char* name) {
    const Rgb colour = *parse_colour(name);
    return colour.red + colour.green + colour.blue;
  };
  for (const std::string& name : all_names()) {
    EXPECT_LE(light("black"), light(name.c_str()));
    EXPECT_GE(light("white"), light(name.c_str()));
  }
  for (const char* name : {"blue", "green", "red", "grey"}) {
    EXPECT_LT(light((std::string("dark") + name).c_str()), light(name));
  }
  for (const char* name : {"blue", "green", "grey"})
    EXPECT_GT(light((std::string("light") + name).c_str()), light(name));
  for (const char* name : {"grey", "darkgrey", "lightgrey", "black", "white", "silver"}) {
    const Rgb colour = *parse_colour(name);
    EXPECT_LE(std::max({colour.red, colour.green, colour.blue}) -
                  std::min({colour.red, colour.green, colour.blue}),
              5)
        << name << " has no hue";
  }
}

TEST(ColourDigits, GiveEveryChannelItsTwo) {
  EXPECT_EQ(parse_colour("#000000"), (Rgb{0, 0, 0}));
  EXPECT_EQ(parse_colour("#ffFFfF"), (Rgb{255, 255, 255}));
  EXPECT_EQ(parse_colour("#010203"), (Rgb{1, 2, 3}));
  EXPECT_EQ(parse_colour("#a0B1c9"), (Rgb{0xa0, 0xb1, 0xc9}));
  for (int value = 0; value < 256; ++value) {
    const auto byte = static_cast<std::uint8_t>(value);
    EXPECT_EQ(parse_colour(fmt::format("#{:02x}00{:02X}", value, 255 - value)),
              (Rgb{byte, 0, static_cast<std::uint8_t>(255 - value)}));
  }
}

TEST(ColourDigits, AreSixOrNoColour) {
  for (const char* text : {"#", "#fff", "#fffff", "#fffffff", "#ffffffff", "#gggggg", "# fffff",
                           "#12345-", "##12345", "ffffff", "0xffffff", "#ff ff ff", "#12345\n"}) {
    EXPECT_EQ(parse_colour(text), std::nullopt) << text;
    EXPECT_EQ(screen_colour(text), std::nullopt) << text;
    EXPECT_EQ(fault_of_colour(text),
              fmt::format("'{}' is no colour; expected #rrggbb or a name such as black", text));
  }
}

TEST(ScreenColour, IsTheSameWhenItIsReadAgain) {
  for (const std::string& name : all_names()) {
    const auto screen = screen_colour(name);
    ASSERT_TRUE(screen) << name;
    EXPECT_EQ(screen->size(), 7U);
    EXPECT_EQ(parse_colour(*screen), parse_colour(name));
    EXPECT_EQ(screen_colour(*screen), screen);
  }
  EXPECT_EQ(screen_colour("#ABCDEF"), "#abcdef");
}

TEST(FaultOfColour, NamesTheNearestWhereASlipIsLikely) {
  const struct {
    const char* text;
    const char* meant;  ///< empty: none
  } rows[] = {{"grean", "green"},
              {"Terra Cota", "terracotta"},
              {"lavander", "lavender"},
              {"turquiose", "turquoise"},
              {"whit", "white"},
              {"chlorophyll", ""},
              {"", ""},
              {"dark-gren", "darkgreen"},
              {"blackberry", ""}};
  for (const auto& row : rows) {
    const std::string meant =
        *row.meant == '\0' ? "" : fmt::format("did you mean '{}'? ", row.meant);
    EXPECT_EQ(fault_of_colour(row.text),
              fmt::format("'{}' is no colour; {}expected #rrggbb or a name such as black", row.text,
                          meant));
  }
}

}  // namespace
}  // namespace platetally::materials
