#include "heat/thermal_machine.hpp"

#include <bit>

#include "base/units.hpp"

namespace platetally::heat {

namespace {

constexpr double kM2PerCm2 = 1e-4;
constexpr double kMPerMm = 1.0 / base::kMmPerM;

double tile_width_m(const Bed& bed) {
  return bed.width_mm / bed.columns * kMPerMm;
}
double tile_depth_m(const Bed& bed) {
  return bed.depth_mm / bed.rows * kMPerMm;
}

}  // namespace

ThermalMachine::ThermalMachine(const Machine& machine)
    : machine_(machine), network_(machine.room_c) {
  if (machine.enclosure.present) {
    air_node_ = network_.add_node(machine.enclosure.heat_capacity_j_k);
    network_.add_link({air_node_, kRoom,
                       machine.enclosure.door_open ? machine.enclosure.loss_open_w_k
                                                   : machine.enclosure.loss_closed_w_k});
  }
  add_bed();
  add_heads();
  if (machine.enclosure.present && machine.enclosure.heater_w > 0.0) {
    Heater heater;
    heater.node = air_node_;
    heater.power_w = machine.enclosure.heater_w;
    heater.is_dc = machine.enclosure.supply == HeaterSupply::dc;
    heater.rank = 2;
    heaters_.push_back(heater);
    enclosure_heater_ = true;
  }
}

void ThermalMachine::add_bed() {
  const Bed& bed = machine_.bed;
  const double area_m2 = tile_width_m(bed) * tile_depth_m(bed);
  const bool two_nodes = bed.depth_nodes == 2;
  const double capacity_j_k = bed.areal_heat_capacity_j_m2k * area_m2;
  std::vector<int> plates, surfaces;
  for (int row = 0; row < bed.rows; ++row) {
    for (int column = 0; column < bed.columns; ++column) {
      const int plate = network_.add_node(two_nodes ? (1.0 - bed.surface_heat_share) * capacity_j_k
                                                    : capacity_j_k);
      bed_nodes_.push_back(plate);
      int surface = plate;
      if (two_nodes) {
        surface = network_.add_node(bed.surface_heat_share * capacity_j_k);
        bed_nodes_.push_back(surface);
        network_.add_link({plate, surface, bed.depth_conductance_w_m2k * area_m2});
      }
      const int edges =
          (row == 0) + (row == bed.rows - 1) + (column == 0) + (column == bed.columns - 1);
      network_.add_link(
          {plate, air_node_, area_m2 * bed.underside_loss_w_m2k + edges * bed.edge_loss_w_k});
      Link top{surface, air_node_, 0.0};
      top.area_m2 = area_m2;
      top.convection_factor = bed.convection_factor;
      top.emissivity = bed.emissivity;
      tile_top_links_.push_back(network_.add_link(top));
      tile_fan_links_.push_back(network_.add_link({surface, air_node_, 0.0}));
      // Neighbours touch through the heater plates.
      if (column > 0)
        network_.add_link({plate, plates.back(), bed.lateral_conductance_w_k});
      if (row > 0)
        network_.add_link({plate, plates[plates.size() - static_cast<std::size_t>(bed.columns)],
                           bed.lateral_conductance_w_k});
      plates.push_back(plate);
      surfaces.push_back(surface);
      Heater heater;
      heater.node = plate;
      heater.power_w = bed.tile_power_w * bed.duty_limit;
      heater.rise_per_k = bed.resistance_rise_per_k;
      heater.sensor_lag_s = bed.sensor_lag_s;
      heater.is_dc = bed.supply == HeaterSupply::dc;
      heater.rank = machine_.supply.heads_before_bed ? 1 : 0;
      heaters_.push_back(heater);
    }
  }
  set_cluster(~std::uint64_t{0});
}

void ThermalMachine::add_heads() {
  for (const Head& head : machine_.heads) {
    const int node = network_.add_node(head.heat_capacity_j_k);
    Link loss{node, air_node_, head.still_loss_w_k + head.fan_loss_w_k};
    loss.area_m2 = head.radiating_area_cm2 * kM2PerCm2;
    loss.emissivity = head.emissivity;
    head_links_.push_back(network_.add_link(loss));
    head_flow_links_.push_back(network_.add_link({node, air_node_, 0.0}));
    Heater heater;
    heater.node = node;
    heater.power_w = head.power_w * head.duty_limit;
    heater.rise_per_k = head.resistance_rise_per_k;
    heater.rank = machine_.supply.heads_before_bed ? 0 : 1;
    heaters_.push_back(heater);
  }
}

void ThermalMachine::start_at(double bed_c, double head_c, Eigen::VectorXd& t_c) const {
  for (const int node : bed_nodes_)
    t_c[node] = bed_c;
  for (std::size_t head = 0; head < machine_.heads.size(); ++head)
    t_c[heaters_[head_heater(head)].node] = head_c;
}

void ThermalMachine::set_cluster(std::uint64_t heated) {
  const Bed& bed = machine_.bed;
  const double width_m = tile_width_m(bed);
  const double depth_m = tile_depth_m(bed);
  double area_m2 = 0.0;
  double perimeter_m = 0.0;
  const auto is_heated = [&](int row, int column) {
    return row >= 0 && row < bed.rows && column >= 0 && column < bed.columns &&
           ((heated >> (row * bed.columns + column)) & 1U) != 0;
  };
  for (int row = 0; row < bed.rows; ++row) {
    for (int column = 0; column < bed.columns; ++column) {
      if (!is_heated(row, column))
        continue;
      area_m2 += width_m * depth_m;
      perimeter_m += (!is_heated(row - 1, column) + !is_heated(row + 1, column)) * width_m +
                     (!is_heated(row, column - 1) + !is_heated(row, column + 1)) * depth_m;
    }
  }
  if (perimeter_m <= 0.0)
    return;
  for (const std::size_t link : tile_top_links_)
    network_.link(link).length_m = area_m2 / perimeter_m;
}

void ThermalMachine::set_part_fan(double duty, int head_in_hand, std::uint64_t active) {
  for (std::size_t head = 0; head < head_links_.size(); ++head) {
    const Head& description = machine_.heads[head];
    const double here = static_cast<int>(head) == head_in_hand ? duty : 0.0;
    network_.link(head_links_[head]).conductance_w_k =
        description.still_loss_w_k +
        description.fan_loss_w_k * (1.0 + description.part_fan_factor * here);
  }
  for (std::size_t tile = 0; tile < tile_fan_links_.size(); ++tile)
    network_.link(tile_fan_links_[tile]).conductance_w_k =
        ((active >> tile) & 1U) != 0 ? machine_.bed.fan_loss_w_k * duty : 0.0;
}

void ThermalMachine::set_flow(int head, double w_per_k) {
  for (std::size_t i = 0; i < head_flow_links_.size(); ++i)
    network_.link(head_flow_links_[i]).conductance_w_k =
        static_cast<int>(i) == head ? w_per_k : 0.0;
}

}  // namespace platetally::heat
