#include "heat/stepper.hpp"

#include <algorithm>
#include <bit>
#include <cmath>

#include "heat/dense.hpp"

namespace platetally::heat {

namespace {

const double kGamma = 1.0 - 1.0 / std::sqrt(2.0);
constexpr int kNewtonRounds = 8;
constexpr int kPatience = 4;           // rounds with an old matrix
constexpr std::size_t kInverses = 24;  // heads that take turns have their own modes
constexpr double kLengthServed = 1.5;  // times longer or shorter than the step it was made for,
constexpr double kOldMatrix = 0.1;     // or so well that a round leaves this share of an error
constexpr double kNewtonK = 1e-8;      // change of a stage's temperatures at convergence
constexpr double kShortestStepS = 1e-7;
constexpr double kCrossedK = 1e-6;   // a mode breaks this far beyond the target,
constexpr double kAtTargetK = 2e-5;  // and this close counts as at it: no chatter
constexpr double kPowerSlackW = 1e-7;
constexpr double kNearBreak = 10.0;  // slacks behind a break that are near enough
constexpr double kAimedAt = 3.0;     // and those that are aimed at
constexpr double kFailedStep = 1e9;  // excess of a step that cannot be solved
constexpr double kNoCapW = 1e300;

/// What a sensor shows that follows a temperature which goes evenly from one value to another.
double followed(double sensor_c, double from_c, double to_c, double h_s, double lag_s) {
  const double rate = (to_c - from_c) / h_s;
  return to_c - rate * lag_s + (sensor_c - from_c + rate * lag_s) * std::exp(-h_s / lag_s);
}

}  // namespace

Stepper::Stepper(Network& network, std::vector<Heater> heaters, double dc_limit_w)
    : network_(network), heaters_(std::move(heaters)), dc_limit_w_(dc_limit_w) {
  const Eigen::Index n = network.size();
  t_c_ = Eigen::VectorXd::Constant(n, network.room_c());
  source_w_ = Eigen::VectorXd::Zero(n);
  for (Eigen::VectorXd* vector : {&k1_, &k2_, &stage_c_, &next_c_, &inflow_w_, &residual_,
                                  &correction_, &base_c_, &slopes_, &bending_})
    *vector = Eigen::VectorXd::Zero(n);
  jacobian_ = Eigen::MatrixXd::Zero(n, n);
  system_ = Eigen::MatrixXd::Zero(n, n);
  heater1_w_.assign(heaters_.size(), 0.0);
  heater2_w_.assign(heaters_.size(), 0.0);
  next_c_ = t_c_;
  for (Heater& heater : heaters_)
    heater.cap_w = kNoCapW;
  settle_sensors();
}

void Stepper::settle_sensors() {
  for (Heater& heater : heaters_)
    heater.sensor_c = t_c_[heater.node];
}

void Stepper::set_target(std::size_t index, double target_c, bool on) {
  Heater& heater = heaters_[index];
  if (heater.on != on || heater.target_c != target_c)
    heater.rises = on && heater.sensor_c < target_c;
  heater.target_c = target_c;
  heater.on = on;
}

void Stepper::refresh(bool restart) {
  choose_modes();
  if (restart)
    step_s_ = std::min(step_s_, 1.0);
}

void Stepper::choose_modes() {
  for (Heater& heater : heaters_) {
    const double t_c = t_c_[heater.node];
    heater.rises = heater.rises && heater.on && heater.sensor_c < heater.target_c - kAtTargetK;
    if (heater.rises)
      heater.mode = Mode::full;
    else if (!heater.on || t_c > heater.target_c + kAtTargetK)
      heater.mode = Mode::off;
    else if (t_c < heater.target_c - kAtTargetK)
      heater.mode = Mode::full;
    else
      heater.mode = Mode::hold;
  }
  find_inflow_in_hold();
  share_supply();
  // A heater at its target may need more than it can give, or less than nothing.
  for (Heater& heater : heaters_) {
    if (heater.mode != Mode::hold)
      continue;
    const double needed_w = -inflow_w_[heater.node];
    if (needed_w > heater.full_w(heater.target_c) + kPowerSlackW)
      heater.mode = Mode::full;
    else if (needed_w < -kPowerSlackW)
      heater.mode = Mode::off;
  }
  list_modes();
}

void Stepper::list_modes() {
  held_.clear();
  full_.clear();
  holds_ = {};
  for (std::size_t i = 0; i < heaters_.size(); ++i) {
    if (heaters_[i].mode == Mode::full)
      full_.push_back(i);
    if (heaters_[i].mode != Mode::hold)
      continue;
    held_.push_back(i);
    holds_[i / 64] |= std::uint64_t{1} << (i % 64);
  }
}

void Stepper::find_inflow_in_hold() {
  // As the stages will see it, with held nodes at their targets: the hair that they are off may
  // decide the sign of what is needed, and then modes chatter.
  stage_c_ = t_c_;
  for (const Heater& heater : heaters_)
    if (heater.mode == Mode::hold)
      stage_c_[heater.node] = heater.target_c;
  network_.inflow(stage_c_, source_w_, inflow_w_);
}

void Stepper::share_supply() {
  for (Heater& heater : heaters_)
    heater.cap_w = kNoCapW;
  if (dc_limit_w_ <= 0.0)
    return;
  double left_w = dc_limit_w_;
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < heaters_.size(); ++i)
    if (heaters_[i].is_dc)
      order.push_back(i);
  std::stable_sort(order.begin(), order.end(), [this](std::size_t a, std::size_t b) {
    return heaters_[a].rank < heaters_[b].rank;
  });
  for (const std::size_t i : order) {
    Heater& heater = heaters_[i];
    if (heater.mode == Mode::off)
      continue;
    heater.cap_w = std::min(heater.full_w(t_c_[heater.node]), std::max(0.0, left_w));
    const double draws_w = heater.mode == Mode::hold
                               ? std::clamp(-inflow_w_[heater.node], 0.0, heater.cap_w)
                               : heater.cap_w;
    left_w -= draws_w;
  }
}

bool Stepper::Inverse::serves(double step_s) const {
  if (step_s <= kLengthServed * h_s && h_s <= kLengthServed * step_s)
    return true;
  return kGamma * std::abs(step_s - h_s) * stiffness_per_s <=
         kOldMatrix * (1.0 + kGamma * h_s * stiffness_per_s);
}

Stepper::Inverse& Stepper::new_inverse() {
  if (inverses_.size() < kInverses)
    inverses_.emplace_back();
  std::rotate(inverses_.begin(), inverses_.end() - 1, inverses_.end());
  return inverses_.front();
}

/// One that serves a step so long with the modes in force; nothing where there is none. Where one
/// heater more is held than in a known system A, its row becomes that of the identity, and with
/// a = column i, b = row i of the known inverse, the new one is (Sherman and Morrison 1950)
///   A'^-1 = A^-1 - a (b - e_i) / b_i.
const Eigen::MatrixXd* Stepper::find_inverse(double h_s) {
  const auto found = std::find_if(inverses_.begin(), inverses_.end(), [&](const Inverse& inverse) {
    return inverse.holds == holds_ && inverse.serves(h_s);
  });
  if (found != inverses_.end()) {
    std::rotate(inverses_.begin(), found, found + 1);
    return &inverses_.front().matrix;
  }
  for (std::size_t k = 0; k < inverses_.size(); ++k) {
    const Inverse& near = inverses_[k];
    const Holding more{holds_[0] & ~near.holds[0], holds_[1] & ~near.holds[1]};
    if ((near.holds[0] & ~holds_[0]) != 0 || (near.holds[1] & ~holds_[1]) != 0 ||
        std::popcount(more[0]) + std::popcount(more[1]) != 1 || !near.serves(h_s))
      continue;
    const std::size_t heater = more[0] != 0
                                   ? static_cast<std::size_t>(std::countr_zero(more[0]))
                                   : 64U + static_cast<std::size_t>(std::countr_zero(more[1]));
    const int node = heaters_[heater].node;
    Inverse made = near;
    Eigen::RowVectorXd row = near.matrix.row(node);
    const double pivot = row[node];
    row[node] -= 1.0;
    made.matrix.noalias() -= near.matrix.col(node) * (row / pivot);
    made.holds = holds_;
    Inverse& place = new_inverse();
    place = std::move(made);
    return &place.matrix;
  }
  return nullptr;
}

/// A new one, at the temperatures of the stage.
const Eigen::MatrixXd& Stepper::make_inverse(double h_s) {
  Inverse& made = new_inverse();
  made.h_s = h_s;
  made.holds = holds_;
  made.stiffness_per_s = 0.0;
  network_.jacobian(stage_c_, jacobian_);
  system_ = -kGamma * h_s * jacobian_;
  for (Eigen::Index i = 0; i < stage_c_.size(); ++i) {
    const double capacity = network_.heat_capacity_j_k()[static_cast<std::size_t>(i)];
    made.stiffness_per_s = std::max(made.stiffness_per_s, -jacobian_(i, i) / capacity);
    system_(i, i) += capacity;
  }
  for (const std::size_t held : held_) {
    const int node = heaters_[held].node;
    system_.row(node).setZero();
    system_(node, node) = 1.0;
  }
  // One inverse serves many solves, and Newton's rounds mend what it loses.
  made.matrix = system_;
  invert(made.matrix.data(), static_cast<std::size_t>(made.matrix.rows()));
  return made.matrix;
}

bool Stepper::solve_stage(double h_s, const Eigen::VectorXd& base_c, Eigen::VectorXd& k,
                          std::vector<double>& heater_w, double& to_room_w) {
  const std::vector<double>& capacity = network_.heat_capacity_j_k();
  const Eigen::Map<const Eigen::VectorXd> capacities(capacity.data(), base_c.size());
  const double reach_s = kGamma * h_s;
  stage_c_ = base_c + reach_s * k;
  for (const std::size_t held : held_)
    stage_c_[heaters_[held].node] = heaters_[held].target_c;
  const Eigen::MatrixXd* inverse = find_inverse(h_s);
  if (inverse == nullptr)
    inverse = &make_inverse(h_s);
  bool converged = false;
  for (int round = 0; round < kNewtonRounds && !converged; ++round) {
    to_room_w = network_.inflow(stage_c_, source_w_, inflow_w_);
    residual_ = capacities.cwiseProduct(stage_c_ - base_c) - reach_s * inflow_w_;
    for (const std::size_t full : full_) {
      const int node = heaters_[full].node;
      residual_[node] -= reach_s * heaters_[full].full_w(stage_c_[node]);
    }
    for (const std::size_t held : held_)
      residual_[heaters_[held].node] = 0.0;
    // Modified Newton: a matrix serves both stages and all steps of about the same length in the
    // same modes, until it converges too slowly. The residual is that of the step's own length and
    // parameters, so the matrix decides how fast it converges and not where to.
    if (round == kPatience)
      inverse = &make_inverse(h_s);
    multiply(inverse->data(), residual_.data(), static_cast<std::size_t>(residual_.size()),
             correction_.data());
    converged = correction_.lpNorm<Eigen::Infinity>() < kNewtonK;
    if (!converged)
      stage_c_ -= correction_;
  }
  if (!converged || !stage_c_.allFinite())
    return false;
  // Slopes and flows are of the same temperatures, so the energy book closes.
  std::fill(heater_w.begin(), heater_w.end(), 0.0);
  for (const std::size_t full : full_)
    heater_w[full] = heaters_[full].full_w(stage_c_[heaters_[full].node]);
  for (const std::size_t held : held_)
    heater_w[held] = -inflow_w_[heaters_[held].node];
  for (const std::vector<std::size_t>* on : {&full_, &held_})
    for (const std::size_t i : *on)
      inflow_w_[heaters_[i].node] += heater_w[i];
  k = inflow_w_.cwiseQuotient(capacities);
  return true;
}

bool Stepper::try_step(double h_s) {
  tried_s_ = h_s;
  k1_ = slopes_ + kGamma * h_s * bending_;
  if (!solve_stage(h_s, t_c_, k1_, heater1_w_, room1_w_))
    return false;
  base_c_ = t_c_ + (1.0 - kGamma) * h_s * k1_;
  k2_ = k1_ + (1.0 - kGamma) * h_s * bending_;
  if (!solve_stage(h_s, base_c_, k2_, heater2_w_, room2_w_))
    return false;
  next_c_ = t_c_ + h_s * ((1.0 - kGamma) * k1_ + kGamma * k2_);
  return true;
}

double Stepper::sensor_next_c(std::size_t index) const {
  const Heater& heater = heaters_[index];
  const double next_c = next_c_[heater.node];
  if (heater.sensor_lag_s <= 0.0 || tried_s_ <= 0.0)
    return next_c;
  return followed(heater.sensor_c, t_c_[heater.node], next_c, tried_s_, heater.sensor_lag_s);
}

double Stepper::excess_of(std::size_t index) const {
  const Heater& heater = heaters_[index];
  switch (heater.mode) {
    case Mode::full:
      return ((heater.rises ? sensor_next_c(index) : next_c_[heater.node]) - heater.target_c) /
                 kCrossedK -
             1.0;
    case Mode::off:
      return heater.on ? (heater.target_c - next_c_[heater.node]) / kCrossedK - 1.0 : -1.0;
    case Mode::hold:
      break;
  }
  return std::max(heater2_w_[index] - heater.full_w(heater.target_c), -heater2_w_[index]) /
             kPowerSlackW -
         1.0;
}

double Stepper::excess(const std::function<double()>& beyond) const {
  double most = beyond ? beyond() / kCrossedK - 1.0 : -1.0;
  for (std::size_t i = 0; i < heaters_.size(); ++i)
    most = std::max(most, excess_of(i));
  return most;
}

double Stepper::expected_break() const {
  // Between its stages' instants (shares gamma and 1 of the step) the slope goes evenly, and
  //   T(share) = T0 + h (k1 share + (k2 - k1) (share^2 / 2 - gamma share) / (1 - gamma)).
  double earliest = 1.0;
  for (std::size_t i = 0; i < heaters_.size(); ++i) {
    const Heater& heater = heaters_[i];
    if (heater.mode == Mode::hold || !heater.on || excess_of(i) <= 0.0)
      continue;
    const Eigen::Index node = heater.node;
    const double bend = tried_s_ * (k2_[node] - k1_[node]) / (1.0 - kGamma);
    const double rise = tried_s_ * k1_[node] - kGamma * bend;
    const double lag_k = heater.rises ? next_c_[node] - sensor_next_c(i) : 0.0;
    const double way_k = heater.target_c + lag_k - t_c_[node];
    const double root = std::sqrt(std::max(0.0, rise * rise + 2.0 * bend * way_k));
    // The root that is the nearer one, in the form that does not cancel.
    const double share = 2.0 * way_k / (rise + (rise >= 0.0 ? root : -root));
    if (share > 0.0)
      earliest = std::min(earliest, share);
  }
  return earliest;
}

double Stepper::first_break_s(double broken_s, double excess_broken,
                              const std::function<double()>& beyond) {
  double sound_s = 0.0;
  double excess_sound = 0.0;  // 0: not known yet
  bool last_was_broken = true;
  const double expected = expected_break();
  for (int round = 0; round < 60 && broken_s - sound_s > kShortestStepS; ++round) {
    if (excess_broken <= kNearBreak && tried_s_ == broken_s)
      break;
    // False position with halved ends (the Illinois rule: M. Dowell, P. Jarratt, BIT 11 (1971) 168,
    // from memory), now and then a bisection, so that a kink cannot hold it up.
    double share = 0.5;
    if (round == 0 && expected < 1.0)
      share = expected;
    else if (excess_sound < 0.0 && round % 6 != 5)
      share =
          (std::min(kAimedAt, 0.5 * excess_broken) - excess_sound) / (excess_broken - excess_sound);
    share = std::clamp(share, 1e-4, 1.0 - 1e-4);
    const double trial_s = sound_s + share * (broken_s - sound_s);
    const double found = try_step(trial_s) ? excess(beyond) : kFailedStep;
    const bool is_broken = found > 0.0;
    const bool again = round > 0 && is_broken == last_was_broken;
    last_was_broken = is_broken;
    if (is_broken) {
      broken_s = trial_s;
      excess_broken = found;
      if (again)
        excess_sound *= 0.5;
    } else {
      sound_s = trial_s;
      excess_sound = std::min(found, -1e-12);
      if (again && excess_broken > 2.0 * kNearBreak)
        excess_broken *= 0.5;
    }
  }
  return broken_s;
}

/// Tries a step and shortens it until its error is small and it ends where the first mode breaks.
double Stepper::first_length_s(double left_s, bool& cut, const std::function<double()>& beyond) {
  constexpr double kMostError = 40.0;  // tolerances
  double h_s = std::min({left_s, step_s_, ceiling_s});
  for (;;) {
    if (!try_step(h_s)) {
      h_s *= 0.25;
      if (h_s >= kShortestStepS)
        continue;
      // Not to be solved at any length, as with values that are no numbers: temperatures stay, and
      // time goes on.
      next_c_ = t_c_;
      k1_.setZero();
      k2_.setZero();
      std::fill(heater1_w_.begin(), heater1_w_.end(), 0.0);
      std::fill(heater2_w_.begin(), heater2_w_.end(), 0.0);
      room1_w_ = room2_w_ = 0.0;
      tried_s_ = std::min(left_s, ceiling_s);
      return tried_s_;
    }
    const double error_k = kGamma * h_s * (k2_ - k1_).lpNorm<Eigen::Infinity>();
    if (error_k <= kMostError * tolerance_k || h_s <= 1e-3)
      break;
    h_s *= std::clamp(0.9 * std::sqrt(10.0 * tolerance_k / error_k), 0.1, 0.5);
  }
  if (const double behind = excess(beyond); behind > 0.0) {
    cut = true;
    h_s = std::min(first_break_s(h_s, behind, beyond), left_s);
    if (tried_s_ != h_s)
      try_step(h_s);
  }
  return h_s;
}

void Stepper::take_step(double h_s, bool cut) {
  for (std::size_t i = 0; i < heaters_.size(); ++i)
    heaters_[i].sensor_c = sensor_next_c(i);
  const double error_k = std::max(1e-12, kGamma * h_s * (k2_ - k1_).lpNorm<Eigen::Infinity>());
  t_c_ = next_c_;
  // The next step begins to look where this one ended, unless a mode breaks here.
  if (cut) {
    slopes_.setZero();
    bending_.setZero();
    choose_modes();
    step_s_ = std::min(step_s_, 1.0);
    return;
  }
  slopes_ = k2_;
  bending_ = (k2_ - k1_) / ((1.0 - kGamma) * h_s);
  step_s_ = std::clamp(0.9 * h_s * std::sqrt(10.0 * tolerance_k / error_k), 0.02, ceiling_s);
  if (dc_limit_w_ > 0.0)
    choose_modes();
}

double Stepper::advance(double duration_s, const std::function<void(const StepReport&)>& report,
                        const std::function<double()>& beyond) {
  double left_s = duration_s;
  while (left_s > 0.0) {
    bool cut = false;
    const double h_s = first_length_s(left_s, cut, beyond);
    const StepReport made{h_s,
                          {(1.0 - kGamma) * h_s, kGamma * h_s},
                          {&heater1_w_, &heater2_w_},
                          {room1_w_, room2_w_}};
    const bool arrived = beyond && beyond() > 0.0;
    report(made);
    take_step(h_s, cut);
    left_s -= h_s;
    if (left_s < 1e-12 * duration_s)
      left_s = 0.0;
    if (arrived)
      break;
  }
  return duration_s - left_s;
}

}  // namespace platetally::heat
