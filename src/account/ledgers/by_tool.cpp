#include "account/ledgers/by_tool.hpp"

#include <algorithm>

#include "base/units.hpp"
#include "platetally/account.hpp"

namespace platetally::ledgers {

std::vector<double> g_per_mm_by_tool(const Machine& machine,
                                     const std::vector<Material>& materials) {
  std::vector<double> g_per_mm;
  for (std::size_t tool = 0; tool < machine.tools.size(); ++tool)
    g_per_mm.push_back(
        base::g_from_mm3(base::filament_area_mm2(machine.tools[tool].filament_diameter_mm),
                         materials[tool].density_g_cm3));
  return g_per_mm;
}

std::vector<double> hidden_mm_by_tool(const Machine& machine) {
  std::vector<double> hidden_mm;
  for (const Tool& tool : machine.tools)
    hidden_mm.push_back(machine.swap.hidden_purge_mm3 /
                        base::filament_area_mm2(tool.filament_diameter_mm));
  return hidden_mm;
}

std::vector<std::string> colours_by_tool(const Account& account, const Machine& machine) {
  std::vector<std::string> colours(machine.tools.size());
  for (const ToolAccount& tool : account.tools)
    colours[static_cast<std::size_t>(tool.tool)] = tool.colour;
  return colours;
}

const Material* find_material(const std::string& name, const std::vector<Material>& own) {
  const auto found = std::ranges::find(own, name, &Material::name);
  return found != own.end() ? &*found : find_embedded_material(name);
}

}  // namespace platetally::ledgers
