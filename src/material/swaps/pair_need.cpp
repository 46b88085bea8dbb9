#include "material/swaps/pair_need.hpp"

#include "material/swaps/colour.hpp"

namespace platetally::swaps {

std::string colour_of_tool(const Machine& machine, const std::vector<std::string>& colours,
                           std::size_t tool) {
  return tool < colours.size() && !colours[tool].empty() ? colours[tool]
                                                         : machine.tools[tool].colour;
}

NeedModel need_model_of(const Machine& machine) {
  const Need& need = machine.need;
  const double holds = need.high_flow ? kHighFlow : 1.0;
  return {holds * need.washout_mm3,
          holds * need.dead_mm3,
          need.margin,
          need.tolerance_de00,
          {need.darkest, need.brightest}};
}

std::vector<std::optional<double>> pair_needs_mm3(const Machine& machine,
                                                  const std::vector<std::string>& colours) {
  const std::size_t tools = machine.tools.size();
  const NeedModel model = need_model_of(machine);
  std::vector<std::optional<Rgb>> rgb;
  for (std::size_t tool = 0; tool < tools; ++tool)
    rgb.push_back(parse_colour(colour_of_tool(machine, colours, tool)));
  std::vector<std::optional<double>> needs(tools * tools);
  for (std::size_t from = 0; from < tools; ++from)
    for (std::size_t to = 0; to < tools; ++to) {
      std::optional<double>& need = needs[from * tools + to];
      if (from == to || machine.tools[from].head != machine.tools[to].head)
        need = 0.0;
      else if (rgb[from] && rgb[to])
        need = need_mm3(*rgb[from], *rgb[to], model);
    }
  for (const SwapPair& pair : machine.swap_pairs)
    if (pair.needed_mm3 > 0.0)
      needs[static_cast<std::size_t>(pair.from) * tools + static_cast<std::size_t>(pair.to)] =
          pair.needed_mm3;
  return needs;
}

}  // namespace platetally::swaps
