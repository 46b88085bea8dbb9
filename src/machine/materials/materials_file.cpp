// Materials from TOML.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <sstream>

#include "base/toml.hpp"
#include "platetally/material.hpp"

namespace platetally {

namespace {

constexpr std::size_t kMostText = 1 << 20;
constexpr std::ptrdiff_t kMostBrackets = 2000;

struct Key {
  const char* name;
  double Material::*at;
  double low;
  double high;
  bool required;
};

constexpr Key kKeys[] = {{"density_g_cm3", &Material::density_g_cm3, 0.5, 5.0, true},
                         {"enthalpy_j_g", &Material::enthalpy_j_g, 50.0, 2000.0, true},
                         {"nozzle_c", &Material::nozzle_c, 100.0, 500.0, false},
                         {"bed_c", &Material::bed_c, 0.0, 200.0, false},
                         {"reference_room_c", &Material::reference_room_c, -20.0, 50.0, false}};

void add_fault(MaterialsLoad& load, const toml::source_region& at, const char* code,
               std::string message) {
  load.diagnostics.push_back(base::toml_fault(at, code, std::move(message)));
}

void read_key(const Key& key, const toml::node& node, Material& material, MaterialsLoad& load) {
  const auto value = node.is_number() ? node.value<double>() : std::nullopt;
  if (!value || !std::isfinite(*value) || *value < key.low || *value > key.high)
    return add_fault(
        load, node.source(), "key-range",
        fmt::format("materials.{}: expected a number from {} to {}", key.name, key.low, key.high));
  material.*key.at = *value;
}

void read_material(const toml::table& table, MaterialsLoad& load) {
  Material material;
  material.source = "the user's materials file";
  for (const auto& [name, node] : table) {
    const auto* const key = std::ranges::find(kKeys, name.str(), &Key::name);
    if (key != std::end(kKeys))
      read_key(*key, node, material, load);
    else if ((name.str() == "name" || name.str() == "source") && node.is_string())
      (name.str() == "name" ? material.name : material.source) = *node.value<std::string>();
    else
      add_fault(load, name.source(), "key-unknown",
                fmt::format("materials.{}: no such key; expected name, density_g_cm3, "
                            "enthalpy_j_g, nozzle_c, bed_c, reference_room_c or source",
                            name.str()));
  }
  if (material.name.empty())
    add_fault(load, table.source(), "material-row", "materials: expected a name");
  for (const Key& key : kKeys)
    if (key.required && !table.contains(key.name))
      add_fault(load, table.source(), "material-row",
                fmt::format("materials: '{}' has no {}", material.name, key.name));
  load.materials.push_back(std::move(material));
}

MaterialsLoad refused(const char* code, const toml::source_region& at, std::string message) {
  MaterialsLoad load;
  add_fault(load, at, code, std::move(message));
  return load;
}

}  // namespace

MaterialsLoad parse_materials(std::string_view toml_text, const std::string& origin) {
  if (toml_text.size() > kMostText || std::ranges::count(toml_text, '[') > kMostBrackets)
    return refused("materials-file-hostile", {},
                   "found more than 1 MiB, or more brackets than any materials file has");
  const toml::parse_result parsed = toml::parse(toml_text, origin);
  if (!parsed)
    return refused("toml-syntax", parsed.error().source(),
                   std::string(parsed.error().description()));
  MaterialsLoad load;
  for (const auto& [name, node] : parsed.table()) {
    const toml::array* rows = node.as_array();
    if (name.str() != "materials" || rows == nullptr) {
      add_fault(load, name.source(), "key-unknown",
                fmt::format("{}: expected [[materials]] and nothing else", name.str()));
      continue;
    }
    for (const toml::node& row : *rows)
      if (const toml::table* table = row.as_table())
        read_material(*table, load);
      else
        add_fault(load, row.source(), "key-type", "materials: expected tables in double brackets");
  }
  return load;
}

MaterialsLoad load_materials(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file)
    return refused("file-unreadable", {}, fmt::format("{}: cannot be read", path));
  std::ostringstream text;
  text << file.rdbuf();
  return parse_materials(text.str(), path);
}

}  // namespace platetally
