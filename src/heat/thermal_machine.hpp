// A machine's thermal network: which node and heater is what.
#pragma once

#include <cstdint>
#include <vector>

#include "heat/network.hpp"
#include "heat/stepper.hpp"
#include "platetally/machine.hpp"

namespace platetally::heat {

/// Nodes: bed tiles (heater plate; with two depth nodes also the surface above it), heads,
/// enclosure air. Heaters: tiles row by row, heads, then the enclosure's if it has one.
class ThermalMachine {
 public:
  explicit ThermalMachine(const Machine& machine);

  Network& network() { return network_; }
  std::vector<Heater> heaters() const { return heaters_; }
  std::size_t tiles() const { return tile_top_links_.size(); }
  std::size_t head_heater(std::size_t head) const { return tiles() + head; }
  bool has_enclosure() const { return air_node_ != kRoom; }
  bool has_enclosure_heater() const { return enclosure_heater_; }
  std::size_t enclosure_heater() const { return heaters_.size() - 1; }
  int air_node() const { return air_node_; }

  /// Temperatures of bed and heads at the start, into those of all nodes.
  void start_at(double bed_c, double head_c, Eigen::VectorXd& t_c) const;
  /// L = area / perimeter of the heated cluster (bits of tiles), for the film coefficient.
  void set_cluster(std::uint64_t heated);
  /// Part fan duty, on the head in hand and on the active tiles.
  void set_part_fan(double duty, int head_in_hand, std::uint64_t active);
  /// Heat carried off by the plastic that `head` melts, in W per K above the room.
  void set_flow(int head, double w_per_k);

 private:
  void add_bed();
  void add_heads();

  const Machine& machine_;
  Network network_;
  std::vector<Heater> heaters_;
  std::vector<int> bed_nodes_;
  std::vector<std::size_t> tile_top_links_;
  std::vector<std::size_t> tile_fan_links_;
  std::vector<std::size_t> head_links_;
  std::vector<std::size_t> head_flow_links_;
  int air_node_ = kRoom;
  bool enclosure_heater_ = false;
};

}  // namespace platetally::heat
