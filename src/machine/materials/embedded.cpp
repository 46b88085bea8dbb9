// Densities: the usual value of each polymer within the range of polymer tables (NETZSCH polymer
// tables for PLA, PC, PA 6, TPU: verified; ABS, PETG: suppliers' data sheets; ASA: from memory).
// Enthalpies from room to nozzle temperature: PLA after M. Pyda, R. C. Bopp, B. Wunderlich, J.
// Chem. Thermodynamics 36 (2004) 731-742 (from memory), 361 J/g to 210 degC and on to 215; the
// others specific heat times rise, with melting heat for PA (from memory). Temperatures: common
// practice, no source.
#include <algorithm>

#include "base/letters.hpp"
#include "platetally/material.hpp"

namespace platetally {

const std::vector<Material>& embedded_materials() {
  static const std::vector<Material> materials{
      {"PLA", 1.24, 366, 215, 60, 25, "density NETZSCH polymer tables; heat Pyda et al. 2004"},
      {"PETG", 1.27, 370, 240, 75, 25, "density suppliers' data; heat from memory"},
      {"ABS", 1.04, 442, 255, 100, 25, "density suppliers' data; heat from memory"},
      {"ASA", 1.07, 440, 255, 100, 25, "from memory"},
      {"TPU", 1.21, 390, 225, 45, 25, "density NETZSCH polymer tables; heat from memory"},
      {"PA", 1.14, 560, 265, 80, 25, "density NETZSCH polymer tables (PA 6); heat from memory"},
      {"PC", 1.20, 400, 275, 110, 25, "density NETZSCH polymer tables; heat from memory"}};
  return materials;
}

const Material* find_embedded_material(const std::string& name) {
  const auto same = [](char a, char b) { return base::upper(a) == base::upper(b); };
  for (const Material& material : embedded_materials())
    if (std::equal(name.begin(), name.end(), material.name.begin(), material.name.end(), same))
      return &material;
  return nullptr;
}

}  // namespace platetally
