// Steps a network with thermostats through time.
//
// Method: the stiffly accurate singly diagonally implicit Runge-Kutta method of order 2,
//   k1 = f(T + g h k1),  k2 = f(T + (1-g) h k1 + g h k2),  T' = T + h ((1-g) k1 + g k2),
// with g = 1 - 1/sqrt(2) (E. Hairer, G. Wanner, Solving Ordinary Differential Equations II, section
// IV.6, from memory). Each stage is solved by Newton, and its slopes are those of the temperatures
// at which it converged, so what flows and what is stored agree to rounding and the energy book
// closes by construction.
//
// Thermostat: 0 <= P <= P_max, complementary to T - T_set. Each heater is in one mode within a
// step: full (P = cap), hold (T = T_set, P from the balance), off (P = 0). Where a mode's condition
// breaks inside a step, the step is cut there.
#pragma once

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cstdint>
#include <functional>
#include <vector>

#include "heat/network.hpp"

namespace platetally::heat {

enum class Mode : std::uint8_t { off, hold, full };

/// Of a heater's rated power and of the rise of its resistance.
inline constexpr double kRatedC = 20.0;

struct Heater {
  int node = 0;
  double power_w = 0.0;     ///< at full, at kRatedC; with a cap of its duty, as a mean
  double rise_per_k = 0.0;  ///< of its resistance
  double sensor_lag_s = 0.0;
  bool is_dc = true;
  int rank = 0;           ///< lower ranks are served first when the DC supply is short
  double target_c = 0.0;  ///< <= room: off
  bool on = false;
  Mode mode = Mode::off;
  double cap_w = 0.0;     ///< what the supply leaves it
  double sensor_c = 0.0;  ///< follows the node
  bool rises = false;     ///< on its way to a target: full until the sensor is there

  /// What it takes when it is fully on, at a temperature.
  double full_w(double t_c) const {
    return std::min(cap_w,
                    rise_per_k > 0.0 ? power_w / (1.0 + rise_per_k * (t_c - kRatedC)) : power_w);
  }
};

/// One accepted step, as quadrature: two instants with weights that sum to the step's seconds.
struct StepReport {
  double duration_s = 0.0;
  double weight_s[2] = {0.0, 0.0};
  const std::vector<double>* heater_w[2] = {nullptr, nullptr};
  double to_room_w[2] = {0.0, 0.0};
};

class Stepper {
 public:
  Stepper(Network& network, std::vector<Heater> heaters, double dc_limit_w);

  Eigen::VectorXd& temperatures_c() { return t_c_; }
  const Eigen::VectorXd& temperatures_c() const { return t_c_; }
  std::vector<Heater>& heaters() { return heaters_; }
  const std::vector<Heater>& heaters() const { return heaters_; }
  /// Constant sources, W by node.
  Eigen::VectorXd& source_w() { return source_w_; }

  void set_target(std::size_t heater, double target_c, bool on);
  /// After parameters or sources have changed: modes are looked at again. `restart`: the change was
  /// sudden, begin with a short step.
  void refresh(bool restart);

  /// Temperatures were set from outside: sensors show them.
  void settle_sensors();
  /// What a heater's sensor shows at the end of the step that is being tried, or was taken last.
  double sensor_next_c(std::size_t heater) const;

  /// `report` is called for each step taken. Ends after `duration_s`, or where `beyond` (of the
  /// step that is being tried, in K; through sensor_next_c) rises above zero, if it is given.
  /// Returns the seconds that it took.
  double advance(double duration_s, const std::function<void(const StepReport&)>& report,
                 const std::function<double()>& beyond = {});

  /// Longest step; the default is the model's ceiling.
  double ceiling_s = 10.0;
  /// Local change of slope that a step may have, K: about the temperature error of one step.
  double tolerance_k = 0.002;

 private:
  using Holding = std::array<std::uint64_t, 2>;  // bits: heaters in hold

  /// Of the system of a step so long, with these heaters in hold.
  struct Inverse {
    double h_s = 0.0;
    double stiffness_per_s = 0.0;  ///< the largest of the network's rates
    Holding holds{};
    Eigen::MatrixXd matrix;

    bool serves(double step_s) const;
  };

  bool try_step(double h_s);
  bool solve_stage(double h_s, const Eigen::VectorXd& base_c, Eigen::VectorXd& k,
                   std::vector<double>& heater_w, double& to_room_w);
  const Eigen::MatrixXd* find_inverse(double h_s);
  Inverse& new_inverse();
  const Eigen::MatrixXd& make_inverse(double h_s);
  void choose_modes();
  void find_inflow_in_hold();
  void share_supply();
  void list_modes();
  void take_step(double h_s, bool cut);
  double first_length_s(double left_s, bool& cut, const std::function<double()>& beyond);
  /// How far beyond what its mode allows a heater ends the step that was tried, in slacks; <= 0: it
  /// keeps to its mode.
  double excess_of(std::size_t heater) const;
  double excess(const std::function<double()>& beyond) const;
  /// The share of the step that was tried at which a heater is expected to be at its target.
  double expected_break() const;
  /// The end of the step at which the first mode breaks, a hair behind the break.
  double first_break_s(double broken_s, double excess_broken,
                       const std::function<double()>& beyond);

  Network& network_;
  std::vector<Heater> heaters_;
  double dc_limit_w_;
  Eigen::VectorXd t_c_, source_w_;
  Eigen::VectorXd k1_, k2_, stage_c_, next_c_, inflow_w_, residual_, correction_, base_c_;
  Eigen::VectorXd slopes_;   ///< where the next step begins
  Eigen::VectorXd bending_;  ///< by how much slopes change in a second
  Eigen::MatrixXd jacobian_, system_;
  std::vector<double> heater1_w_, heater2_w_;
  std::vector<std::size_t> held_, full_;  ///< heaters in that mode
  double room1_w_ = 0.0, room2_w_ = 0.0;
  double step_s_ = 1.0;
  double tried_s_ = 0.0;  ///< length of the step that was tried last

  std::vector<Inverse> inverses_;  ///< the one used last in front
  Holding holds_{};
};

}  // namespace platetally::heat
