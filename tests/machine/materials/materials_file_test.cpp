// Materials of one's own.
#include <gtest/gtest.h>

#include "platetally/material.hpp"
#include "support/faults.hpp"

namespace platetally {
namespace {

TEST(MaterialsFile, ReadsMaterials) {
  const MaterialsLoad load = parse_materials(
      "[[materials]]\nname = \"cork PLA\"\ndensity_g_cm3 = 1.1\nenthalpy_j_g = 350\n"
      "[[materials]]\nname = \"PLA\"\ndensity_g_cm3 = 1.25\nenthalpy_j_g = 370\nbed_c = 55\n",
      "ours.toml");
  ASSERT_TRUE(load.ok()) << load.diagnostics.front().message;
  ASSERT_EQ(load.materials.size(), 2U);
  EXPECT_EQ(load.materials[0].name, "cork PLA");
  EXPECT_EQ(load.materials[0].density_g_cm3, 1.1);
  EXPECT_EQ(load.materials[1].bed_c, 55.0);
}

TEST(MaterialsFile, FaultsAreSaidWithTheirPlace) {
  const test::Fault faults[] = {
      {"[[materials]]\nname = \"x\"\ndensity_g_cm3 = 9\nenthalpy_j_g = 300", "key-range", 3,
       "0.5 to 5"},
      {"[[materials]]\nname = \"x\"\nenthalpy_j_g = 300", "key-missing", 1, "density_g_cm3"},
      {"[[materials]]\ndensity_g_cm3 = 1\nenthalpy_j_g = 300", "key-missing", 1, "name is missing"},
      {"[[materials]]\nname = \"x\"\ncolour = 1\ndensity_g_cm3 = 1\nenthalpy_j_g = 300",
       "key-unknown", 3, "no such key"},
      {"plastics = 1", "key-unknown", 1, "'materials'"},
      {"materials = [1]", "key-type", 1, "double brackets"},
      {"name = \"", "toml-syntax", 1, ""},
  };
  test::expect_faults(faults, parse_materials);
  EXPECT_FALSE(load_materials("/no/such/file").ok());
  EXPECT_FALSE(parse_materials(std::string(3000, '['), "x").ok());
}

}  // namespace
}  // namespace platetally
