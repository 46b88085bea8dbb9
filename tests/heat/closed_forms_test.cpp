// The network against solutions in closed form, worked out here with a matrix exponential: no step
// of the stepper's own is in them.
#include <gtest/gtest.h>

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <random>

#include "heat/film.hpp"
#include "heat/stepper.hpp"

namespace platetally::heat {
namespace {

struct Linear {
  Network network{20.0};
  Eigen::MatrixXd conductance_w_k;  ///< by node: what leaves it
  Eigen::VectorXd capacity_j_k, source_w, start_c;

  int nodes() const { return static_cast<int>(capacity_j_k.size()); }

  /// T(t) = Ts + exp(-C^-1 G t) (T0 - Ts), through the symmetric matrix C^-1/2 G C^-1/2.
  Eigen::VectorXd at(double seconds) const {
    const Eigen::VectorXd root = capacity_j_k.cwiseSqrt();
    const Eigen::VectorXd steady_c = steady();
    const Eigen::MatrixXd symmetric =
        root.cwiseInverse().asDiagonal() * conductance_w_k * root.cwiseInverse().asDiagonal();
    const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> solved(symmetric);
    const Eigen::VectorXd decay = (-seconds * solved.eigenvalues()).array().exp();
    const Eigen::VectorXd away = root.asDiagonal() * (start_c - steady_c);
    return steady_c +
           root.cwiseInverse().asDiagonal() * (solved.eigenvectors() * decay.asDiagonal() *
                                               solved.eigenvectors().transpose() * away);
  }
  Eigen::VectorXd steady() const {
    return Eigen::VectorXd::Constant(nodes(), 20.0) + conductance_w_k.ldlt().solve(source_w);
  }
};

/// All nodes lead to the room, and some to one another.
Linear any_network(std::mt19937& random) {
  const auto uniform = [&random](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  const int nodes = 1 + static_cast<int>(random() % 7);
  Linear linear;
  linear.capacity_j_k = Eigen::VectorXd::Zero(nodes);
  linear.source_w = Eigen::VectorXd::Zero(nodes);
  linear.start_c = Eigen::VectorXd::Zero(nodes);
  linear.conductance_w_k = Eigen::MatrixXd::Zero(nodes, nodes);
  for (int i = 0; i < nodes; ++i) {
    linear.capacity_j_k[i] = uniform(10, 500);
    linear.source_w[i] = random() % 2 == 0 ? uniform(0, 60) : 0.0;
    linear.start_c[i] = uniform(0, 120);
    linear.network.add_node(linear.capacity_j_k[i]);
    const double to_room = uniform(0.05, 2);
    linear.network.add_link({i, kRoom, to_room});
    linear.conductance_w_k(i, i) += to_room;
    for (int other = 0; other < i; ++other) {
      if (random() % 2 == 0)
        continue;
      const double between = uniform(0.05, 3);
      linear.network.add_link({i, other, between});
      linear.conductance_w_k(i, i) += between;
      linear.conductance_w_k(other, other) += between;
      linear.conductance_w_k(i, other) -= between;
      linear.conductance_w_k(other, i) -= between;
    }
  }
  return linear;
}

struct Ended {
  Eigen::VectorXd end_c;
  double to_room_j = 0.0;
  double seconds = 0.0;
};

Ended run(Linear& linear, double seconds) {
  Stepper stepper(linear.network, {}, 0.0);
  stepper.temperatures_c() = linear.start_c;
  stepper.source_w() = linear.source_w;
  stepper.refresh(true);
  Ended result;
  stepper.advance(seconds, [&result](const StepReport& step) {
    result.seconds += step.duration_s;
    EXPECT_NEAR(step.weight_s[0] + step.weight_s[1], step.duration_s, 1e-12);
    for (int stage = 0; stage < 2; ++stage)
      result.to_room_j += step.weight_s[stage] * step.to_room_w[stage];
  });
  result.end_c = stepper.temperatures_c();
  return result;
}

TEST(ClosedForm, AnyLinearNetworkFollowsItsExponential) {
  std::mt19937 random(41);
  for (int round = 0; round < 60; ++round) {
    SCOPED_TRACE(round);
    Linear linear = any_network(random);
    const double seconds = 1.0 + static_cast<double>(random() % 2000);
    const Ended result = run(linear, seconds);
    EXPECT_NEAR(result.seconds, seconds, 1e-9);
    // Each step may be off by 0.002 K, and its successors forget it as the network does.
    EXPECT_LT((result.end_c - linear.at(seconds)).cwiseAbs().maxCoeff(), 0.03);
    EXPECT_NEAR(linear.source_w.sum() * seconds - result.to_room_j,
                linear.capacity_j_k.dot(result.end_c - linear.start_c),
                1e-8 * (1.0 + linear.source_w.sum() * seconds));
  }
}

TEST(ClosedForm, InTheEndWhatComesInGoesOut) {
  std::mt19937 random(42);
  for (int round = 0; round < 20; ++round) {
    Linear linear = any_network(random);
    const Ended result = run(linear, 1e6);
    EXPECT_LT((result.end_c - linear.steady()).cwiseAbs().maxCoeff(), 1e-3);
    Eigen::VectorXd inflow(linear.nodes());
    const double to_room_w = linear.network.inflow(result.end_c, linear.source_w, inflow);
    EXPECT_NEAR(to_room_w, linear.source_w.sum(), 1e-3);
    EXPECT_LT(inflow.cwiseAbs().maxCoeff(), 1e-3);
  }
}

TEST(ClosedForm, OneNodeTakesItsTimeConstantForTwoThirds) {
  for (const double capacity_j_k : {14.0, 200.0, 1500.0})
    for (const double loss_w_k : {0.02, 0.5, 4.0}) {
      Linear linear;
      linear.network.add_node(capacity_j_k);
      linear.network.add_link({0, kRoom, loss_w_k});
      linear.capacity_j_k = Eigen::VectorXd::Constant(1, capacity_j_k);
      linear.source_w = Eigen::VectorXd::Constant(1, 40.0 * loss_w_k);
      linear.start_c = Eigen::VectorXd::Constant(1, 20.0);
      const double tau_s = capacity_j_k / loss_w_k;
      EXPECT_NEAR(run(linear, tau_s).end_c[0], 20.0 + 40.0 * (1.0 - std::exp(-1.0)), 0.02);
      EXPECT_NEAR(run(linear, 3.0 * tau_s).end_c[0], 20.0 + 40.0 * (1.0 - std::exp(-3.0)), 0.02);
    }
}

TEST(NetworkLaws, FlowsBetweenNodesCancelAndTheRestGoesToTheRoom) {
  std::mt19937 random(43);
  const auto uniform = [&random](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  for (int round = 0; round < 40; ++round) {
    Network network(uniform(-10, 40));
    const int nodes = 2 + static_cast<int>(random() % 6);
    for (int i = 0; i < nodes; ++i)
      network.add_node(uniform(10, 100));
    for (int link = 0; link < 3 * nodes; ++link) {
      Link made{static_cast<int>(random() % static_cast<unsigned>(nodes)), kRoom, uniform(0, 2)};
      made.to = static_cast<int>(random() % static_cast<unsigned>(nodes + 1)) - 1;
      if (made.to == made.from)
        continue;
      made.area_m2 = random() % 2 == 0 ? uniform(0.001, 0.1) : 0.0;
      made.convection_factor = uniform(0, 2);
      made.length_m = uniform(0.01, 0.2);
      made.emissivity = uniform(0, 1);
      network.add_link(made);
    }
    Eigen::VectorXd t_c(nodes), source_w(nodes), w(nodes);
    for (int i = 0; i < nodes; ++i) {
      t_c[i] = uniform(0, 250);
      source_w[i] = uniform(0, 50);
    }
    const double to_room_w = network.inflow(t_c, source_w, w);
    EXPECT_NEAR(w.sum() + to_room_w, source_w.sum(), 1e-9 * (1.0 + source_w.sum()));
    // The derivative is that of the flows, by small differences.
    Eigen::MatrixXd jacobian(nodes, nodes);
    network.jacobian(t_c, jacobian);
    constexpr double kStepK = 1e-4;
    for (int i = 0; i < nodes; ++i) {
      Eigen::VectorXd warmer = t_c, cooler = t_c, more(nodes), less(nodes);
      warmer[i] += kStepK;
      cooler[i] -= kStepK;
      network.inflow(warmer, source_w, more);
      network.inflow(cooler, source_w, less);
      for (int k = 0; k < nodes; ++k)
        EXPECT_NEAR(jacobian(k, i), (more[k] - less[k]) / (2 * kStepK),
                    1e-4 * (1.0 + std::abs(jacobian(k, i))));
    }
    // At the room's temperature nothing flows.
    network.inflow(Eigen::VectorXd::Constant(nodes, network.room_c()), Eigen::VectorXd::Zero(nodes),
                   w);
    EXPECT_LT(w.cwiseAbs().maxCoeff(), 1e-9);
  }
}

TEST(NetworkLaws, TemperaturesStayBetweenTheRoomsAndTheHighest) {
  std::mt19937 random(44);
  for (int round = 0; round < 20; ++round) {
    Linear linear = any_network(random);
    linear.source_w.setZero();
    const double high_c = std::max(20.0, linear.start_c.maxCoeff());
    const double low_c = std::min(20.0, linear.start_c.minCoeff());
    for (const double seconds : {1.0, 30.0, 500.0}) {
      const Eigen::VectorXd end_c = run(linear, seconds).end_c;
      EXPECT_LE(end_c.maxCoeff(), high_c + 0.01);
      EXPECT_GE(end_c.minCoeff(), low_c - 0.01);
    }
  }
}

TEST(NetworkLaws, WhatOneNodeDoesToAnotherIsDoneBack) {
  std::mt19937 random(45);
  for (int round = 0; round < 20; ++round) {
    Linear linear = any_network(random);
    const int last = linear.nodes() - 1;
    linear.source_w.setZero();
    linear.source_w[0] = 10.0;
    const double at_last_c = run(linear, 1e6).end_c[last];
    linear.source_w.setZero();
    linear.source_w[last] = 10.0;
    EXPECT_NEAR(run(linear, 1e6).end_c[0], at_last_c, 2e-3);
  }
}

TEST(NetworkLaws, TwoHalvesThatTouchAreOne) {
  // A plate as one node, and as two of half the capacity and loss, joined well.
  Network whole(20.0), halves(20.0);
  whole.add_node(300.0);
  whole.add_link({0, kRoom, 1.5});
  for (int half = 0; half < 2; ++half) {
    halves.add_node(150.0);
    halves.add_link({half, kRoom, 0.75});
  }
  halves.add_link({0, 1, 1e4});
  Stepper one(whole, {}, 0.0), two(halves, {}, 0.0);
  one.source_w()[0] = 60.0;
  two.source_w()[0] = 60.0;
  one.refresh(true);
  two.refresh(true);
  for (int minute = 0; minute < 10; ++minute) {
    one.advance(60.0, [](const StepReport&) {});
    two.advance(60.0, [](const StepReport&) {});
    // The heated half is warmer by what flows over, 45 W at most through 1e4 W/K.
    EXPECT_NEAR(two.temperatures_c()[0], one.temperatures_c()[0], 0.02);
    EXPECT_NEAR(two.temperatures_c()[1], one.temperatures_c()[0], 0.02);
  }
}

TEST(Film, ConvectionIsTheSameBothWaysAndItsSlopeIsIts) {
  std::mt19937 random(46);
  const auto uniform = [&random](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  for (int round = 0; round < 200; ++round) {
    const double area_m2 = uniform(0.001, 0.2), factor = uniform(0, 3), length_m = uniform(0.01, 1);
    const double warm_c = uniform(0, 120), cold_c = uniform(0, 120);
    const Flow flow = convection(area_m2, factor, length_m, warm_c, cold_c);
    EXPECT_NEAR(convection(area_m2, factor, length_m, cold_c, warm_c).w, -flow.w,
                1e-12 * (1.0 + std::abs(flow.w)));
    EXPECT_NEAR(convection(2.0 * area_m2, factor, length_m, warm_c, cold_c).w, 2.0 * flow.w,
                1e-12 * (1.0 + std::abs(flow.w)));
    // Sixteen times the length has half the film; sixteen times the difference twice.
    EXPECT_NEAR(convection(area_m2, factor, 16.0 * length_m, warm_c, cold_c).w, 0.5 * flow.w,
                1e-12 * (1.0 + std::abs(flow.w)));
    const double difference_k = warm_c - cold_c;
    EXPECT_NEAR(convection(area_m2, factor, length_m, cold_c + 16.0 * difference_k, cold_c).w,
                32.0 * flow.w, 1e-9 * (1.0 + std::abs(flow.w)));
    if (std::abs(difference_k) > 1.0) {
      constexpr double kStepK = 1e-4;
      const double slope = (convection(area_m2, factor, length_m, warm_c + kStepK, cold_c).w -
                            convection(area_m2, factor, length_m, warm_c - kStepK, cold_c).w) /
                           (2 * kStepK);
      EXPECT_NEAR(flow.w_per_k, slope, 1e-5 * (1.0 + std::abs(slope)));
    }
  }
  EXPECT_EQ(convection(0.1, 1.0, 0.1, 50.0, 50.0).w, 0.0);
}

TEST(Film, RadiationFollowsTheFourthPower) {
  // Between absolute zero and 100 K: sigma T^4 = 5.67 W/m2, by CODATA's sigma.
  EXPECT_NEAR(radiation(1.0, 1.0, 100.0 - 273.15, -273.15).w, 5.6703744191844, 1e-9);
  std::mt19937 random(47);
  const auto uniform = [&random](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  for (int round = 0; round < 200; ++round) {
    const double area_m2 = uniform(0.001, 0.2), emissivity = uniform(0, 1);
    const double warm_c = uniform(0, 300), cold_c = uniform(0, 300);
    const Flow flow = radiation(area_m2, emissivity, warm_c, cold_c);
    EXPECT_NEAR(radiation(area_m2, emissivity, cold_c, warm_c).w, -flow.w, 1e-12);
    constexpr double kStepK = 1e-3;
    EXPECT_NEAR(flow.w_per_k,
                (radiation(area_m2, emissivity, warm_c + kStepK, cold_c).w -
                 radiation(area_m2, emissivity, warm_c - kStepK, cold_c).w) /
                    (2 * kStepK),
                1e-6);
    EXPECT_NEAR(flow.w_per_k_cold,
                (radiation(area_m2, emissivity, warm_c, cold_c - kStepK).w -
                 radiation(area_m2, emissivity, warm_c, cold_c + kStepK).w) /
                    (2 * kStepK),
                1e-6);
  }
}

}  // namespace
}  // namespace platetally::heat
