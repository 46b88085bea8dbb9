#include <gtest/gtest.h>

#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <sstream>

#include "base/units.hpp"
#include "platetally/material.hpp"

namespace platetally {
namespace {

TEST(Materials, AllSevenAreThereInAnyCase) {
  for (const char* name : {"PLA", "PETG", "ABS", "ASA", "TPU", "PA", "PC"}) {
    const Material* material = find_embedded_material(name);
    ASSERT_NE(material, nullptr) << name;
    EXPECT_FALSE(material->source.empty());
    EXPECT_GT(material->nozzle_c, material->bed_c);
  }
  EXPECT_EQ(find_embedded_material("petg"), find_embedded_material("PETG"));
  EXPECT_EQ(find_embedded_material("moss"), nullptr);
}

TEST(Materials, HeatOfPlaLiesInTheRangeOfItsSources) {
  std::ifstream file(std::string(PLATETALLY_TESTDATA) + "/checks/pla_enthalpy.json");
  const auto range = nlohmann::json::parse(file)["recommended_range_J_g"];
  EXPECT_GE(find_embedded_material("PLA")->enthalpy_j_g, range[0].get<double>());
  EXPECT_LE(find_embedded_material("PLA")->enthalpy_j_g, range[1].get<double>());
}

/// Rows of filament_table.csv: material, density, diameter, area, g per m, m per kg, ...
TEST(Filament, ArithmeticAgreesWithTheTable) {
  std::ifstream file(std::string(PLATETALLY_TESTDATA) + "/checks/filament_table.csv");
  std::string line;
  std::getline(file, line);
  int rows = 0;
  std::map<std::string, double> densities;
  while (std::getline(file, line)) {
    std::istringstream cells(line);
    std::string cell;
    std::vector<std::string> row;
    while (std::getline(cells, cell, ','))
      row.push_back(cell);
    ASSERT_GE(row.size(), 6U) << line;
    const double density = std::stod(row[1]);
    const double area_mm2 = base::filament_area_mm2(std::stod(row[2]));
    // The table prints nine decimals.
    EXPECT_NEAR(area_mm2, std::stod(row[3]), 1e-9);
    const double g_per_m = base::g_from_mm3(area_mm2 * base::kMmPerM, density);
    EXPECT_NEAR(g_per_m, std::stod(row[4]), 1e-9 * g_per_m + 6e-10);
    EXPECT_NEAR(1000.0 / g_per_m, std::stod(row[5]), 1e-6);
    densities[row[0]] = density;
    ++rows;
  }
  EXPECT_GE(rows, 11);
  for (const char* name : {"PLA", "PETG", "ABS", "ASA", "PC"})
    EXPECT_DOUBLE_EQ(find_embedded_material(name)->density_g_cm3, densities.at(name)) << name;
}

TEST(Filament, VolumetricLengthAgreesWithTheTable) {
  std::ifstream file(std::string(PLATETALLY_TESTDATA) + "/checks/filament_beads.json");
  const auto beads = nlohmann::json::parse(file);
  EXPECT_NEAR(100.0 / base::filament_area_mm2(1.75),
              beads["volumetric"]["length_175_mm"].get<double>(), 1e-9);
  EXPECT_NEAR(100.0 / base::filament_area_mm2(2.85),
              beads["volumetric"]["length_285_mm"].get<double>(), 1e-9);
}

}  // namespace
}  // namespace platetally
