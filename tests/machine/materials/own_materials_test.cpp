// Every key of a materials file, and the hash that tells materials apart.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <fstream>

#include "platetally/made_from.hpp"
#include "platetally/material.hpp"
#include "support/temp_folder.hpp"

namespace platetally {
namespace {

/// A material with that key in line 2.
MaterialsLoad with(const std::string& key, const std::string& value) {
  std::string text = fmt::format("[[materials]]\n{} = {}\n", key, value);
  for (const auto& [name, usual] : std::initializer_list<std::pair<const char*, const char*>>{
           {"name", "\"willow\""}, {"density_g_cm3", "1.2"}, {"enthalpy_j_g", "400"}})
    if (key != name)
      text += fmt::format("{} = {}\n", name, usual);
  return parse_materials(text, "ours.toml");
}

struct Bound {
  const char* key;
  double low, high;
  double Material::*member;
};

class MaterialKey : public testing::TestWithParam<Bound> {};

TEST_P(MaterialKey, TakesBothEndsOfItsRangeAndNothingBeyond) {
  const Bound& bound = GetParam();
  for (const double value : {bound.low, bound.high, 0.5 * (bound.low + bound.high)}) {
    const MaterialsLoad load = with(bound.key, fmt::format("{}", value));
    ASSERT_TRUE(load.ok()) << load.diagnostics.at(0).message;
    EXPECT_EQ(load.materials.at(0).*bound.member, value);
  }
  for (const std::string& value :
       {fmt::format("{}", bound.low - 0.01), fmt::format("{}", bound.high + 0.01),
        std::string("nan"), std::string("inf"), std::string("-inf")}) {
    const MaterialsLoad load = with(bound.key, value);
    ASSERT_EQ(load.diagnostics.size(), 1U) << value;
    EXPECT_EQ(load.diagnostics[0].code, "key-range");
    EXPECT_EQ(load.diagnostics[0].line, 2U);
    EXPECT_EQ(load.diagnostics[0].column, std::string(bound.key).size() + 4);
    EXPECT_EQ(load.diagnostics[0].message, fmt::format("materials.{}: found {}; expected {} to {}",
                                                       bound.key, value, bound.low, bound.high));
  }
}

TEST_P(MaterialKey, IsANumber) {
  for (const auto& [value, kind] : std::initializer_list<std::pair<const char*, const char*>>{
           {"\"1.2\"", "a text"}, {"true", "true or false"}, {"[1]", "an array"}}) {
    const MaterialsLoad load = with(GetParam().key, value);
    ASSERT_EQ(load.diagnostics.size(), 1U) << value;
    EXPECT_EQ(load.diagnostics[0].code, "key-type");
    EXPECT_EQ(load.diagnostics[0].message,
              fmt::format("materials.{}: found {}; expected a number", GetParam().key, kind));
  }
}

INSTANTIATE_TEST_SUITE_P(Is, MaterialKey,
                         testing::Values(Bound{"density_g_cm3", 0.5, 5, &Material::density_g_cm3},
                                         Bound{"enthalpy_j_g", 50, 2000, &Material::enthalpy_j_g},
                                         Bound{"nozzle_c", 100, 500, &Material::nozzle_c},
                                         Bound{"bed_c", 0, 200, &Material::bed_c},
                                         Bound{"reference_room_c", -20, 50,
                                               &Material::reference_room_c}),
                         [](const auto& bound) { return std::string(bound.param.key); });

TEST(MaterialsFile, WhatIsNotSaidIsAsOfAnyMaterialAndItsSourceIsTheFile) {
  const MaterialsLoad load = with("name", "\"willow\"");
  ASSERT_TRUE(load.ok());
  const Material& material = load.materials.at(0);
  EXPECT_EQ(material.nozzle_c, Material{}.nozzle_c);
  EXPECT_EQ(material.reference_room_c, Material{}.reference_room_c);
  EXPECT_EQ(material.source, "the user's materials file");
  EXPECT_EQ(with("source", "\"weighed\"").materials.at(0).source, "weighed");
}

TEST(MaterialsFile, SaysAllThatIsMissingAtOnce) {
  const MaterialsLoad load =
      parse_materials("[[materials]]\nbed_c = 50\n[[materials]]\nname = \"x\"\n", "ours.toml");
  std::vector<std::string> messages;
  for (const Diagnostic& one : load.diagnostics)
    messages.push_back(fmt::format("{} {}", one.line, one.message));
  EXPECT_EQ(messages,
            (std::vector<std::string>{"1 materials.name is missing; expected a text",
                                      "1 materials.density_g_cm3 is missing; expected 0.5 to 5",
                                      "1 materials.enthalpy_j_g is missing; expected 50 to 2000",
                                      "3 materials.density_g_cm3 is missing; expected 0.5 to 5",
                                      "3 materials.enthalpy_j_g is missing; expected 50 to 2000"}));
}

TEST(MaterialsFile, IsTheSameFromAPathAndFromText) {
  const test::TempFolder temp;
  const std::string path = (temp.path() / "ours.toml").string();
  const std::string text =
      "[[materials]]\nname = \"b\xc3\xbc"
      "ro\"\ndensity_g_cm3 = 1.2\nenthalpy_j_g = 400\n";
  std::ofstream(path) << text;
  const MaterialsLoad load = load_materials(path);
  ASSERT_TRUE(load.ok()) << load.diagnostics.at(0).message;
  EXPECT_EQ(materials_hash(load.materials), materials_hash(parse_materials(text, "x").materials));
  EXPECT_EQ(load.materials.at(0).name, "b\xc3\xbcro");
  EXPECT_EQ(load_materials(path + "x").diagnostics.at(0).code, "file-unreadable");
}

TEST(MaterialsFile, WithoutMaterialsHasNone) {
  for (const char* text : {"", "# nothing yet\n", "materials = []\n"}) {
    const MaterialsLoad load = parse_materials(text, "x");
    EXPECT_TRUE(load.ok()) << text;
    EXPECT_TRUE(load.materials.empty()) << text;
  }
}

TEST(MaterialsHash, DiffersWithEveryFigureAndTheOrderButNotTheSource) {
  std::vector<Material> materials = embedded_materials();
  const std::string hash = materials_hash(materials);
  EXPECT_EQ(hash.size(), 32U);
  for (double Material::*member :
       {&Material::density_g_cm3, &Material::enthalpy_j_g, &Material::nozzle_c, &Material::bed_c,
        &Material::reference_room_c}) {
    std::vector<Material> others = materials;
    others[3].*member += 1e-9;
    EXPECT_NE(materials_hash(others), hash);
  }
  std::vector<Material> others = materials;
  others[2].source = "weighed";
  EXPECT_EQ(materials_hash(others), hash);
  others[2].name = "abs";
  EXPECT_NE(materials_hash(others), hash);
  others = materials;
  std::swap(others[0], others[1]);
  EXPECT_NE(materials_hash(others), hash);
  others = materials;
  others.pop_back();
  EXPECT_NE(materials_hash(others), hash);
  EXPECT_NE(materials_hash({}), hash);
}

TEST(Materials, OfTheLibraryKeepTheRangesOfAFile) {
  for (const Material& material : embedded_materials()) {
    const MaterialsLoad load = parse_materials(
        fmt::format("[[materials]]\nname = \"{}\"\ndensity_g_cm3 = {}\nenthalpy_j_g = {}\n"
                    "nozzle_c = {}\nbed_c = {}\nreference_room_c = {}\n",
                    material.name, material.density_g_cm3, material.enthalpy_j_g, material.nozzle_c,
                    material.bed_c, material.reference_room_c),
        "x");
    EXPECT_TRUE(load.ok()) << material.name;
    EXPECT_EQ(materials_hash(load.materials), materials_hash({material}));
    // Specific heat of polymers lies between 1 and 2.5 J/(g K) (from memory), melting adds to it.
    const double mean_j_gk =
        material.enthalpy_j_g / (material.nozzle_c - material.reference_room_c);
    EXPECT_GT(mean_j_gk, 1.0) << material.name;
    EXPECT_LT(mean_j_gk, 2.5) << material.name;
  }
}

TEST(Materials, AreFoundByTheirWholeNameOnly) {
  EXPECT_EQ(find_embedded_material("pLa")->name, "PLA");
  for (const char* name : {"", "P", "PLA ", "PLA+", "PL", "PCTG", "A"})
    EXPECT_EQ(find_embedded_material(name), nullptr) << name;
}

}  // namespace
}  // namespace platetally
