// Materials from TOML.
#include "base/toml_reader.hpp"
#include "platetally/material.hpp"

namespace platetally {

namespace {

Material read_material(const toml::table& table, const std::string& path,
                       base::TomlReader& reader) {
  Material material;
  material.source = "the user's materials file";
  reader.keys(table, path,
              {reader.text_key("name", material.name, "a text"),
               reader.number_key("density_g_cm3", 0.5, 5.0, material.density_g_cm3, "0.5 to 5"),
               reader.number_key("enthalpy_j_g", 50.0, 2000.0, material.enthalpy_j_g, "50 to 2000"),
               reader.number_key("nozzle_c", 100.0, 500.0, material.nozzle_c),
               reader.number_key("bed_c", 0.0, 200.0, material.bed_c),
               reader.number_key("reference_room_c", -20.0, 50.0, material.reference_room_c),
               reader.text_key("source", material.source)});
  return material;
}

MaterialsLoad read_materials(const std::optional<toml::table>& root,
                             std::vector<Diagnostic> faults) {
  MaterialsLoad load;
  base::TomlReader reader(faults);
  const auto read = [&](const toml::node& value, const std::string& path) {
    for (const toml::table* table : reader.tables(value, path))
      load.materials.push_back(read_material(*table, path + ".", reader));
  };
  if (root)
    reader.keys(*root, "", {{"materials", read}});
  load.diagnostics = std::move(faults);
  return load;
}

}  // namespace

MaterialsLoad parse_materials(std::string_view toml_text, const std::string& origin) {
  std::vector<Diagnostic> faults;
  const auto root = base::parse_toml(toml_text, origin, "materials", faults);
  return read_materials(root, std::move(faults));
}

MaterialsLoad load_materials(const std::string& path) {
  std::vector<Diagnostic> faults;
  const auto root = base::load_toml(path, "materials", faults);
  return read_materials(root, std::move(faults));
}

}  // namespace platetally
