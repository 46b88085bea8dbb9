#include "heat/loads.hpp"

#include <algorithm>

namespace platetally::heat {

double supply_loss_w(const Supply& supply, double dc_w, double ac_w) {
  return dc_w * (supply.loss_share + supply.loss_per_w * dc_w) +
         ac_w * (1.0 / supply.ac_efficiency - 1.0);
}

double connected_load_w(const Machine& machine, std::size_t tiles, bool has_enclosure_heater) {
  const Supply& supply = machine.supply;
  double heaters_dc_w = 0.0;
  double ac_w = 0.0;
  const auto add = [&](bool is_dc, double w) { (is_dc ? heaters_dc_w : ac_w) += w; };
  add(machine.bed.supply == HeaterSupply::dc,
      machine.bed.tile_power_w * static_cast<double>(tiles));
  for (const Head& head : machine.heads)
    add(true, head.power_w);
  if (has_enclosure_heater)
    add(machine.enclosure.supply == HeaterSupply::dc, machine.enclosure.heater_w);
  if (supply.dc_limit_w > 0.0)
    heaters_dc_w = std::min(heaters_dc_w, supply.dc_limit_w);
  double dc_w = heaters_dc_w + std::max(supply.motors_moving_w, supply.motors_holding_w) +
                supply.part_fan_w + supply.auxiliary_fans_w;
  for (const Head& head : machine.heads)
    dc_w += head.fan_w;
  return supply.idle_w + dc_w * (1.0 + supply.loss_share + supply.loss_per_w * dc_w) +
         ac_w / supply.ac_efficiency;
}

}  // namespace platetally::heat
