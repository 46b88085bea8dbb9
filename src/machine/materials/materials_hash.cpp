// Materials as one text, value by value, and its hash.
#include <fmt/format.h>

#include "base/hash.hpp"
#include "platetally/made_from.hpp"
#include "platetally/material.hpp"

namespace platetally {

std::string materials_hash(const std::vector<Material>& materials) {
  std::string text;
  for (const Material& material : materials)
    text += fmt::format("{}\n{} {} {} {} {}\n", material.name, material.density_g_cm3,
                        material.enthalpy_j_g, material.nozzle_c, material.bed_c,
                        material.reference_room_c);
  return base::hash_of_text(text);
}

}  // namespace platetally
