// A network of lumped heat capacities.
//
//   C_i dT_i/dt = P_i + S_i - sum of flows out of i
//
// Flows lead to another node or to the room: linear conductances, natural convection, radiation.
// The room has a fixed temperature and no capacity.
#pragma once

#include <Eigen/Dense>
#include <cstddef>
#include <vector>

namespace platetally::heat {

inline constexpr int kRoom = -1;

struct Link {
  int from = 0;
  int to = kRoom;
  double conductance_w_k = 0.0;
  double area_m2 = 0.0;  ///< of convection and radiation; 0: none
  double convection_factor = 0.0;
  double length_m = 1.0;
  double emissivity = 0.0;
};

class Network {
 public:
  explicit Network(double room_c) : room_c_(room_c) {}

  int add_node(double heat_capacity_j_k);
  std::size_t add_link(const Link& link);
  Link& link(std::size_t index) {
    changed_.push_back(index);
    return links_[index];
  }

  int size() const { return static_cast<int>(heat_capacity_j_k_.size()); }
  double room_c() const { return room_c_; }
  const std::vector<double>& heat_capacity_j_k() const { return heat_capacity_j_k_; }

  /// Power into each node by flows and sources (heaters excepted), W; returns what leaves to the
  /// room.
  double inflow(const Eigen::VectorXd& t_c, const Eigen::VectorXd& source_w, Eigen::VectorXd& w);
  /// Derivative of inflow by the temperatures, W/K.
  void jacobian(const Eigen::VectorXd& t_c, Eigen::MatrixXd& w_per_k) const;

 private:
  double temperature(int node, const Eigen::VectorXd& t_c) const {
    return node == kRoom ? room_c_ : t_c[node];
  }

  /// Links side by side, for inflow(), which is asked for all the time. Those with a film first.
  struct Columns {
    std::vector<std::size_t> links;     ///< in links_
    std::vector<std::size_t> places;    ///< of each of links_
    std::vector<std::size_t> from, to;  ///< the room behind the nodes
    std::vector<double> conductance_w_k, film_w_k54, rays_w_k4;
    std::vector<double> from_c, to_c, flow_w;
    std::size_t with_film = 0;
    // Of each node and the room: the links that lead to it, then those that lead away.
    std::vector<std::size_t> ends, first_to, first_from;
  };
  void build_columns();
  void list_ends();
  void fill(std::size_t place);

  double room_c_;
  std::vector<double> heat_capacity_j_k_;
  std::vector<Link> links_;
  Columns columns_;
  std::vector<std::size_t> changed_;  ///< links whose columns are out of date
  std::vector<double> ends_c_;        ///< of the nodes and the room
};

}  // namespace platetally::heat
