// A bed of 16 tiles with four heads, a frame and an enclosure (22 nodes), 30 changes of set points,
// fan and sources, held against CVODE (C. S. Woodward, A. C. Hindmarsh et al., SUNDIALS) at tight
// tolerance. The reference is written apart: its own right-hand side, energies as further states,
// and thermostats whose modes change at roots that CVODE finds.
#include <cvode/cvode.h>
#include <gtest/gtest.h>
#include <nvector/nvector_serial.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>

#include <array>
#include <cmath>
#include <vector>

#include "heat/stepper.hpp"

namespace platetally::heat {
namespace {

constexpr int kTiles = 16;
constexpr int kHeads = 4;
constexpr int kFrame = 20;
constexpr int kAir = 21;
constexpr int kNodes = 22;
constexpr int kHeaters = kTiles + kHeads;
constexpr double kRoomC = 21.0;
constexpr double kSigma = 5.6703744191844314e-8;  // CODATA 2018

constexpr double kTileC = 13430.0 * 0.09 * 0.09;
constexpr double kTileArea = 0.09 * 0.09;
constexpr double kLateral = 0.09;
constexpr double kUnderside = 4.0 * 0.09 * 0.09;
constexpr double kTopFactor = 1.25;
constexpr double kTopLength = 0.0225;
constexpr double kTileW = 27.0;
constexpr double kHeadC = 14.0;
constexpr double kHeadG = 0.038;
constexpr double kHeadFan = 0.009;
constexpr double kHeadArea = 16e-4;
constexpr double kHeadW = 40.0;
constexpr double kFrameC = 900.0;
constexpr double kFrameToTile = 0.02;
constexpr double kFrameToAir = 1.1;
constexpr double kAirC = 4000.0;
constexpr double kAirToRoom = 6.5;

/// What the machine is told from an instant on.
struct Order {
  double at_s;
  std::array<double, kHeaters> target_c;  // 0: off
  double fan;                             // on head 0
  double melt_w;                          // out of head 0
  double waste_w;                         // into the air
};

std::vector<Order> orders() {
  std::vector<Order> all;
  Order now{0.0, {}, 0.0, 0.0, 30.0};
  const auto then = [&](double after_s) {
    all.push_back(now);
    now.at_s += after_s;
  };
  const auto bed = [&](std::initializer_list<int> active, double active_c, double rest_c) {
    for (int i = 0; i < kTiles; ++i)
      now.target_c[static_cast<std::size_t>(i)] = rest_c;
    for (const int i : active)
      now.target_c[static_cast<std::size_t>(i)] = active_c;
  };
  const auto head = [&](int i, double c) {
    now.target_c[static_cast<std::size_t>(kTiles + i)] = c;
  };
  bed({5, 6, 9, 10}, 60.0, 41.0);
  then(300.0);
  for (int i = 0; i < kHeads; ++i)
    head(i, 215.0);
  then(240.0);
  now.fan = 1.0;
  now.melt_w = 3.5;
  now.waste_w = 55.0;
  then(180.0);
  for (int turn = 0; turn < 8; ++turn) {
    head(turn % kHeads, 150.0);
    now.melt_w = turn % 2 == 0 ? 0.5 : 4.0;
    then(40.0 + 7.0 * turn);
    head(turn % kHeads, 220.0);
    now.fan = turn % 3 == 0 ? 0.4 : 1.0;
    then(35.0 + 5.0 * turn);
  }
  bed({5, 6}, 55.0, 0.0);
  then(400.0);
  bed({0, 1, 4, 5}, 70.0, 45.0);
  then(350.0);
  now.fan = 0.0;
  now.melt_w = 0.0;
  head(3, 0.0);
  then(200.0);
  head(2, 0.0);
  then(150.0);
  bed({}, 0.0, 0.0);
  head(0, 0.0);
  then(500.0);
  head(1, 0.0);
  now.waste_w = 20.0;
  then(900.0);
  all.push_back(now);  // the end
  return all;
}

bool beside(int a, int b) {
  const int rows = std::abs(a / 4 - b / 4);
  const int columns = std::abs(a % 4 - b % 4);
  return rows + columns == 1;
}

int node_of(int heater) {
  return heater;  // tiles, then heads
}
double power_of(int heater) {
  return heater < kTiles ? kTileW : kHeadW;
}

/// The reference: temperatures, then energy in by heaters and by sources, and out to the room.
class Reference {
 public:
  Reference() {
    SUNContext_Create(nullptr, &context_);
    state_ = N_VNew_Serial(kNodes + 3, context_);
    for (int i = 0; i < kNodes; ++i)
      at(i) = kRoomC;
    for (int i = kNodes; i < kNodes + 3; ++i)
      at(i) = 0.0;
  }
  Reference(const Reference&) = delete;
  Reference& operator=(const Reference&) = delete;
  ~Reference() {
    N_VDestroy(state_);
    SUNContext_Free(&context_);
  }

  double& at(int i) { return NV_Ith_S(state_, i); }

  /// From the present instant to `until_s`, with modes changed where they break.
  void run(double from_s, double until_s, const Order& order) {
    order_ = order;
    choose_modes();
    double now_s = from_s;
    while (now_s < until_s) {
      void* solver = CVodeCreate(CV_BDF, context_);
      CVodeInit(solver, &Reference::slope, now_s, state_);
      CVodeSStolerances(solver, 1e-9, 1e-8);
      CVodeSetUserData(solver, this);
      SUNMatrix matrix = SUNDenseMatrix(kNodes + 3, kNodes + 3, context_);
      SUNLinearSolver linear = SUNLinSol_Dense(state_, matrix, context_);
      CVodeSetLinearSolver(solver, linear, matrix);
      CVodeRootInit(solver, kHeaters, &Reference::roots);
      CVodeSetMaxNumSteps(solver, 1000000);
      CVodeSetStopTime(solver, until_s);
      const int status = CVode(solver, until_s, state_, &now_s, CV_NORMAL);
      ASSERT_GE(status, 0);
      if (status == CV_ROOT_RETURN) {
        std::array<int, kHeaters> found{};
        CVodeGetRootInfo(solver, found.data());
        for (int heater = 0; heater < kHeaters; ++heater)
          if (found[static_cast<std::size_t>(heater)] != 0)
            reached(heater, now_s);
      }
      SUNLinSolFree(linear);
      SUNMatDestroy(matrix);
      CVodeFree(&solver);
    }
  }

  /// When each heater first came to its set point under the present order; -1: not.
  std::array<double, kHeaters> reached_s{};

 private:
  enum class State { off, hold, full };

  static int slope(double, N_Vector state, N_Vector slope, void* self) {
    static_cast<Reference*>(self)->derive(N_VGetArrayPointer(state), N_VGetArrayPointer(slope));
    return 0;
  }
  static int roots(double, N_Vector state, double* root, void* self) {
    static_cast<Reference*>(self)->find_roots(N_VGetArrayPointer(state), root);
    return 0;
  }

  /// Everything that flows into a node but its heater, W, and what goes to the room.
  std::array<double, kNodes> flows(const double* t, double& room_w) const {
    std::array<double, kNodes> in{};
    room_w = 0.0;
    const auto flow = [&](int from, int to, double w) {
      in[static_cast<std::size_t>(from)] -= w;
      if (to >= 0)
        in[static_cast<std::size_t>(to)] += w;
      else
        room_w += w;
    };
    const auto rays = [&](int from, int to, double area, double emissivity) {
      const double a = t[from] + 273.15;
      const double b = t[to] + 273.15;
      return emissivity * kSigma * area * (a * a * a * a - b * b * b * b);
    };
    for (int i = 0; i < kTiles; ++i) {
      const double above_k = t[i] - t[kAir];
      const double h = kTopFactor * 1.36 * std::pow(std::abs(above_k) / kTopLength, 0.25);
      flow(i, kAir, kTileArea * h * above_k + rays(i, kAir, kTileArea, 0.9));
      flow(i, kAir, kUnderside * above_k);
      flow(i, kFrame, kFrameToTile * (t[i] - t[kFrame]));
      for (int j = 0; j < i; ++j)
        if (beside(i, j))
          flow(i, j, kLateral * (t[i] - t[j]));
    }
    for (int i = 0; i < kHeads; ++i) {
      const int node = kTiles + i;
      const double g = kHeadG + (i == 0 ? kHeadFan * order_.fan : 0.0);
      flow(node, kAir, g * (t[node] - t[kAir]) + rays(node, kAir, kHeadArea, 0.9));
    }
    flow(kFrame, kAir, kFrameToAir * (t[kFrame] - t[kAir]));
    flow(kAir, -1, kAirToRoom * (t[kAir] - kRoomC));
    in[kTiles] -= order_.melt_w;
    in[kAir] += order_.waste_w;
    return in;
  }

  double heater_w(int heater, double inflow_w) const {
    switch (modes_[static_cast<std::size_t>(heater)]) {
      case State::full:
        return power_of(heater);
      case State::hold:
        return -inflow_w;
      case State::off:
        break;
    }
    return 0.0;
  }

  void derive(const double* t, double* slope) const {
    double room_w = 0.0;
    std::array<double, kNodes> in = flows(t, room_w);
    double heaters_w = 0.0;
    for (int heater = 0; heater < kHeaters; ++heater) {
      const auto node = static_cast<std::size_t>(node_of(heater));
      const double w = heater_w(heater, in[node]);
      in[node] += w;
      heaters_w += w;
    }
    for (int i = 0; i < kNodes; ++i)
      slope[i] = in[static_cast<std::size_t>(i)] / (i < kTiles            ? kTileC
                                                    : i < kTiles + kHeads ? kHeadC
                                                    : i == kFrame         ? kFrameC
                                                                          : kAirC);
    slope[kNodes] = heaters_w;
    slope[kNodes + 1] = order_.waste_w - order_.melt_w;
    slope[kNodes + 2] = room_w;
  }

  /// Full and off end at the set point; hold ends where the balance needs more than there is, or
  /// less than nothing.
  void find_roots(const double* t, double* root) const {
    double room_w = 0.0;
    const std::array<double, kNodes> in = flows(t, room_w);
    for (int heater = 0; heater < kHeaters; ++heater) {
      const auto index = static_cast<std::size_t>(heater);
      const double need_w = -in[static_cast<std::size_t>(node_of(heater))];
      if (order_.target_c[index] <= 0.0)
        root[heater] = 1.0;
      else if (modes_[index] == State::hold)
        root[heater] = (power_of(heater) - need_w) * need_w;
      else
        root[heater] = t[node_of(heater)] - order_.target_c[index];
    }
  }

  void reached(int heater, double now_s) {
    const auto index = static_cast<std::size_t>(heater);
    if (modes_[index] != State::hold) {
      modes_[index] = State::hold;
      at(node_of(heater)) = order_.target_c[index];
      if (reached_s[index] < 0.0)
        reached_s[index] = now_s;
    } else {
      double room_w = 0.0;
      const double need_w = -flows(N_VGetArrayPointer(state_), room_w)[index];
      modes_[index] = need_w > 0.5 * power_of(heater) ? State::full : State::off;
    }
  }

  void choose_modes() {
    for (int heater = 0; heater < kHeaters; ++heater) {
      const auto index = static_cast<std::size_t>(heater);
      const double target_c = order_.target_c[index];
      const double t = at(node_of(heater));
      const bool held = modes_[index] == State::hold && std::abs(t - target_c) < 1e-9;
      modes_[index] = target_c <= 0.0 ? State::off
                      : held          ? State::hold
                      : t < target_c  ? State::full
                                      : State::off;
      reached_s[index] = held ? order_.at_s : -1.0;
    }
  }

  SUNContext context_ = nullptr;
  N_Vector state_ = nullptr;
  Order order_{};
  std::array<State, kHeaters> modes_{};
};

/// The same bed by our own network and stepper.
struct Ours {
  Network network{kRoomC};
  std::size_t fan_link = 0;
  std::vector<Heater> heaters;

  Ours() {
    for (int i = 0; i < kTiles; ++i)
      network.add_node(kTileC);
    for (int i = 0; i < kHeads; ++i)
      network.add_node(kHeadC);
    network.add_node(kFrameC);
    network.add_node(kAirC);
    for (int i = 0; i < kTiles; ++i) {
      network.add_link({i, kAir, kUnderside, kTileArea, kTopFactor, kTopLength, 0.9});
      network.add_link({i, kFrame, kFrameToTile});
      for (int j = 0; j < i; ++j)
        if (beside(i, j))
          network.add_link({i, j, kLateral});
    }
    for (int i = 0; i < kHeads; ++i) {
      const std::size_t link =
          network.add_link({kTiles + i, kAir, kHeadG, kHeadArea, 0.0, 1.0, 0.9});
      if (i == 0)
        fan_link = link;
    }
    network.add_link({kFrame, kAir, kFrameToAir});
    network.add_link({kAir, kRoom, kAirToRoom});
    for (int i = 0; i < kHeaters; ++i) {
      Heater heater;
      heater.node = node_of(i);
      heater.power_w = power_of(i);
      heaters.push_back(heater);
    }
  }
};

TEST(Cvode, ABedWithHeadsAndEnclosureThroughThirtyChanges) {
  const std::vector<Order> all = orders();
  ASSERT_GE(all.size(), 20U);
  Reference reference;
  Ours ours;
  Stepper stepper(ours.network, ours.heaters, 0.0);
  for (int i = 0; i < kNodes; ++i)
    stepper.temperatures_c()[i] = kRoomC;
  double heaters_j = 0.0;
  double sources_j = 0.0;
  double room_j = 0.0;
  double worst_k = 0.0;
  double worst_wait_s = 0.0;
  for (std::size_t i = 0; i + 1 < all.size(); ++i) {
    const Order& order = all[i];
    const double duration_s = all[i + 1].at_s - order.at_s;
    reference.run(order.at_s, all[i + 1].at_s, order);

    ours.network.link(ours.fan_link).conductance_w_k = kHeadG + kHeadFan * order.fan;
    for (std::size_t heater = 0; heater < kHeaters; ++heater)
      stepper.set_target(heater, order.target_c[heater], order.target_c[heater] > 0.0);
    stepper.source_w()[kTiles] = -order.melt_w;
    stepper.source_w()[kAir] = order.waste_w;
    stepper.refresh(true);
    std::array<double, kHeaters> reached_s{};
    reached_s.fill(-1.0);
    double now_s = order.at_s;
    stepper.advance(duration_s, [&](const StepReport& step) {
      for (int stage = 0; stage < 2; ++stage) {
        for (const double w : *step.heater_w[stage])
          heaters_j += step.weight_s[stage] * w;
        room_j += step.weight_s[stage] * step.to_room_w[stage];
      }
      // A heater that came to its set point holds from there on: steps are cut at that instant.
      for (std::size_t heater = 0; heater < kHeaters; ++heater)
        if (reached_s[heater] < 0.0 && stepper.heaters()[heater].mode == Mode::hold)
          reached_s[heater] = now_s;
      now_s += step.duration_s;
    });
    sources_j += (order.waste_w - order.melt_w) * duration_s;
    for (int node = 0; node < kNodes; ++node)
      worst_k = std::max(worst_k, std::abs(stepper.temperatures_c()[node] - reference.at(node)));
    for (std::size_t heater = 0; heater < kHeaters; ++heater)
      if (order.target_c[heater] > 0.0 && reached_s[heater] >= 0.0 &&
          reference.reached_s[heater] >= 0.0)
        worst_wait_s =
            std::max(worst_wait_s, std::abs(reached_s[heater] - reference.reached_s[heater]));
  }
  EXPECT_LT(worst_k, 0.02);
  EXPECT_LT(worst_wait_s, 0.1);
  EXPECT_NEAR(heaters_j, reference.at(kNodes), 1e-4 * reference.at(kNodes));
  EXPECT_NEAR(sources_j, reference.at(kNodes + 1), 1e-6 * sources_j);
  EXPECT_NEAR(room_j, reference.at(kNodes + 2), 1e-4 * reference.at(kNodes + 2));
  RecordProperty("worst_k", std::to_string(worst_k));
  RecordProperty("worst_wait_s", std::to_string(worst_wait_s));
  RecordProperty("energy_error", std::to_string(heaters_j / reference.at(kNodes) - 1.0));
}

}  // namespace
}  // namespace platetally::heat
