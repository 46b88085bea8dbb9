/// @file
/// What a filament is made of, as far as mass and heat are concerned.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "platetally/diagnostic.hpp"

namespace platetally {

/// Properties of one filament material. Sources stand beside the embedded table in
/// src/machine/materials/embedded.cpp.
struct Material {
  std::string name;                ///< "PLA"
  double density_g_cm3 = 1.24;     ///< 0.5 .. 5
  double enthalpy_j_g = 366.0;     ///< room to nozzle temperature; 50 .. 2000
  double nozzle_c = 215.0;         ///< usual nozzle temperature; 100 .. 500
  double bed_c = 60.0;             ///< usual bed temperature; 0 .. 200
  double reference_room_c = 25.0;  ///< the room temperature that enthalpy_j_g counts from
  std::string source;              ///< where the figures come from
};

/// The materials that come with the library: PLA, PETG, ABS, ASA, TPU, PA, PC.
const std::vector<Material>& embedded_materials();

/// The embedded material of that name (any case), or nullptr.
const Material* find_embedded_material(const std::string& name);

/// Materials with what was said while reading them; usable only without diagnostics.
struct MaterialsLoad {
  std::vector<Material> materials;      ///< as far as they were read
  std::vector<Diagnostic> diagnostics;  ///< in the order of the text
  /// Nothing was said.
  bool ok() const { return diagnostics.empty(); }
};

/// Materials of one's own from TOML: a [[materials]] table each, with name, density_g_cm3,
/// enthalpy_j_g and, where it is known, nozzle_c, bed_c, reference_room_c and source. A name that
/// comes with the library is replaced. Every error carries line and column. Never throws on bad
/// text.
MaterialsLoad parse_materials(std::string_view toml_text, const std::string& origin);
/// The same from a file.
MaterialsLoad load_materials(const std::string& path);

}  // namespace platetally
