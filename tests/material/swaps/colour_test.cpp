#include "material/swaps/colour.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <limits>
#include <sstream>
#include <string>
#include <vector>

#include "platetally/colour.hpp"

namespace platetally::swaps {
namespace {

/// Rows of a table of the check folder, without comments and the line of names.
std::vector<std::vector<std::string>> rows_of(const std::string& name) {
  std::ifstream file(std::string(PLATETALLY_TESTDATA) + "/checks/" + name);
  std::vector<std::vector<std::string>> rows;
  bool names = true;
  for (std::string line; std::getline(file, line);) {
    if (line.starts_with("# "))
      continue;
    if (names) {
      names = false;
      continue;
    }
    std::vector<std::string> row;
    std::stringstream cells(line);
    for (std::string cell; std::getline(cells, cell, ',');)
      row.push_back(cell);
    rows.push_back(row);
  }
  return rows;
}

TEST(Colour, ReadsHexadecimalAndNames) {
  const struct {
    const char* text;
    Rgb colour;
  } rows[] = {
      {"#f0c814", {0xf0, 0xc8, 0x14}}, {"#F0C814", {0xf0, 0xc8, 0x14}},
      {"#000000", {0, 0, 0}},          {"black", {30, 30, 32}},
      {"BLACK", {30, 30, 32}},         {"dark blue", {25, 40, 95}},
      {"Dark-Blue", {25, 40, 95}},     {"light_grey", {190, 192, 193}},
      {"lightgray", {190, 192, 193}},  {"gray", {135, 138, 140}},
  };
  for (const auto& row : rows) {
    SCOPED_TRACE(row.text);
    EXPECT_EQ(parse_colour(row.text), row.colour);
  }
}

TEST(Colour, RefusesWhatIsNone) {
  for (const char* text : {"", "#", "#12345", "#1234567", "#12345g", "#fff", "f0c814", "blackish",
                           "blac", " ", "##12345", "#-12345", "#+1+1+1"}) {
    SCOPED_TRACE(text);
    EXPECT_EQ(parse_colour(text), std::nullopt);
  }
}

TEST(Colour, AWordThatIsNoneIsAnsweredWithTheNearest) {
  EXPECT_FALSE(fault_of_colour("green"));
  EXPECT_FALSE(fault_of_colour("#20Fa00"));
  EXPECT_EQ(fault_of_colour("grean").value_or(""),
            "'grean' is no colour; did you mean 'green'? expected #rrggbb or a name such as black");
  EXPECT_NE(fault_of_colour("Ligt-Blu").value_or("").find("'lightblue'"), std::string::npos)
      << "two letters off";
  for (const char* far : {"", "#12345", "#greena", "chartreuse"})
    EXPECT_EQ(fault_of_colour(far).value_or("did you mean").find("did you mean"), std::string::npos)
        << far;
}

TEST(Colour, EveryListedNameIsRead) {
  std::stringstream list(materials::colour_names());
  int count = 0;
  for (std::string name; std::getline(list, name, ',');) {
    EXPECT_TRUE(parse_colour(name)) << name;
    ++count;
  }
  EXPECT_GE(count, 36);
}

TEST(Colour, XyzAndLabOfSixteenColours) {
  const auto rows = rows_of("colour_srgb_lab_d65.csv");
  ASSERT_EQ(rows.size(), 16u);
  for (const auto& row : rows) {
    SCOPED_TRACE(row[0]);
    const auto colour = parse_colour(row[0]);
    ASSERT_TRUE(colour);
    const LinearRgb light = linear_of(*colour);
    const Xyz xyz = xyz_of(light);
    const Lab lab = lab_of(light);
    // Half of the last printed digit of XYZ and a rounding; the same white to 1e-4, and up to
    // 0.0195 between this white and the one of the four-digit matrix.
    const double xyz_given[] = {std::stod(row[4]), std::stod(row[5]), std::stod(row[6])};
    const double xyz_found[] = {xyz.x, xyz.y, xyz.z};
    const double found[] = {lab.lightness, lab.a, lab.b};
    for (std::size_t i = 0; i < 3; ++i) {
      EXPECT_NEAR(xyz_found[i], xyz_given[i], 6e-9);
      EXPECT_NEAR(found[i], std::stod(row[1 + i]), 1e-4);
      EXPECT_NEAR(found[i], std::stod(row[7 + i]), 0.03);
    }
  }
}

TEST(Colour, DifferenceOfThePublishedPairs) {
  const auto rows = rows_of("colour_ciede2000_sharma2005.csv");
  ASSERT_EQ(rows.size(), 34u);
  for (const auto& row : rows) {
    SCOPED_TRACE("pair " + row[0]);
    std::vector<double> v;
    for (const std::string& cell : row)
      v.push_back(std::stod(cell));
    const Lab one{v[1], v[2], v[3]};
    const Lab other{v[4], v[5], v[6]};
    // Half of the last printed digit.
    EXPECT_NEAR(delta_e00(one, other), v[7], 5e-5);
    EXPECT_NEAR(delta_e00(other, one), delta_e00(one, other), 1e-12);
    EXPECT_EQ(delta_e00(one, one), 0.0);
  }
}

TEST(Colour, DifferenceIsFiniteForAllCorners) {
  std::vector<Lab> corners;
  for (int i = 0; i < 27; ++i) {
    const auto step = [](int k) { return static_cast<std::uint8_t>(k * 127); };
    corners.push_back(lab_of(linear_of(Rgb{step(i % 3), step(i / 3 % 3), step(i / 9)})));
  }
  for (const Lab& one : corners)
    for (const Lab& other : corners) {
      const double difference = delta_e00(one, other);
      EXPECT_TRUE(std::isfinite(difference));
      EXPECT_EQ(difference == 0.0, &one == &other);
    }
}

}  // namespace
}  // namespace platetally::swaps
