// A network of lumped heat capacities.
//
//   C_i dT_i/dt = P_i + S_i - sum of flows out of i
//
// Flows lead to another node or to the room: linear conductances, natural convection, radiation.
// The room has a fixed temperature and no capacity.
#pragma once

#include <Eigen/Dense>
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
  Link& link(std::size_t index) { return links_[index]; }

  int size() const { return static_cast<int>(heat_capacity_j_k_.size()); }
  double room_c() const { return room_c_; }
  const std::vector<double>& heat_capacity_j_k() const { return heat_capacity_j_k_; }

  /// Power into each node by flows and sources (heaters excepted), W; returns what leaves to the
  /// room.
  double inflow(const Eigen::VectorXd& t_c, const Eigen::VectorXd& source_w,
                Eigen::VectorXd& w) const;
  /// Derivative of inflow by the temperatures, W/K.
  void jacobian(const Eigen::VectorXd& t_c, Eigen::MatrixXd& w_per_k) const;

 private:
  double temperature(int node, const Eigen::VectorXd& t_c) const {
    return node == kRoom ? room_c_ : t_c[node];
  }

  double room_c_;
  std::vector<double> heat_capacity_j_k_;
  std::vector<Link> links_;
};

}  // namespace platetally::heat
