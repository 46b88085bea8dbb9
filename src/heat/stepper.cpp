#include "heat/stepper.hpp"

#include <algorithm>
#include <cmath>

#include "heat/dense.hpp"

namespace platetally::heat {

namespace {

const double kGamma = 1.0 - 1.0 / std::sqrt(2.0);
constexpr int kNewtonRounds = 8;
constexpr int kPatience = 4;           // rounds with an old matrix
constexpr std::size_t kInverses = 16;  // heads that take turns have their own modes
constexpr double kLengthServed = 1.5;  // times longer or shorter than the step it was made for
constexpr double kNewtonK = 1e-10;     // change of a stage's temperatures at convergence
constexpr double kShortestStepS = 1e-7;
constexpr double kCrossedK = 1e-6;   // a mode breaks this far beyond the target,
constexpr double kAtTargetK = 2e-5;  // and this close counts as at it: no chatter
constexpr double kPowerSlackW = 1e-7;
constexpr double kFailedStep = 1e9;  // excess of a step that cannot be solved

}  // namespace

Stepper::Stepper(Network& network, std::vector<Heater> heaters, double dc_limit_w)
    : network_(network), heaters_(std::move(heaters)), dc_limit_w_(dc_limit_w) {
  const Eigen::Index n = network.size();
  t_c_ = Eigen::VectorXd::Constant(n, network.room_c());
  source_w_ = Eigen::VectorXd::Zero(n);
  for (Eigen::VectorXd* vector :
       {&k1_, &k2_, &stage_c_, &next_c_, &inflow_w_, &residual_, &correction_, &base_c_, &slopes_})
    *vector = Eigen::VectorXd::Zero(n);
  jacobian_ = Eigen::MatrixXd::Zero(n, n);
  system_ = Eigen::MatrixXd::Zero(n, n);
  heater1_w_.assign(heaters_.size(), 0.0);
  heater2_w_.assign(heaters_.size(), 0.0);
  heater_at_.assign(static_cast<std::size_t>(n), -1);
  holds_.assign(heaters_.size(), false);
  for (std::size_t i = 0; i < heaters_.size(); ++i) {
    heater_at_[static_cast<std::size_t>(heaters_[i].node)] = static_cast<int>(i);
    heaters_[i].cap_w = heaters_[i].power_w;
  }
}

void Stepper::set_target(std::size_t heater, double target_c, bool on) {
  heaters_[heater].target_c = target_c;
  heaters_[heater].on = on;
}

void Stepper::refresh(bool restart) {
  choose_modes();
  if (restart)
    step_s_ = std::min(step_s_, 1.0);
}

void Stepper::choose_modes() {
  for (Heater& heater : heaters_) {
    const double t_c = t_c_[heater.node];
    if (!heater.on || t_c > heater.target_c + kAtTargetK)
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
    if (needed_w > heater.cap_w + kPowerSlackW)
      heater.mode = Mode::full;
    else if (needed_w < -kPowerSlackW)
      heater.mode = Mode::off;
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
    heater.cap_w = heater.power_w;
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
    heater.cap_w = std::min(heater.power_w, std::max(0.0, left_w));
    const double draws_w = heater.mode == Mode::hold
                               ? std::clamp(-inflow_w_[heater.node], 0.0, heater.cap_w)
                               : heater.cap_w;
    left_w -= draws_w;
  }
}

/// One that serves a step so long with the modes in force; nothing where there is none.
const Eigen::MatrixXd* Stepper::find_inverse(double h_s) {
  for (std::size_t i = 0; i < heaters_.size(); ++i)
    holds_[i] = heaters_[i].mode == Mode::hold;
  const auto found = std::find_if(inverses_.begin(), inverses_.end(), [&](const Inverse& inverse) {
    return h_s <= kLengthServed * inverse.h_s && inverse.h_s <= kLengthServed * h_s &&
           inverse.holds == holds_;
  });
  if (found == inverses_.end())
    return nullptr;
  std::rotate(inverses_.begin(), found, found + 1);
  return &inverses_.front().matrix;
}

/// A new one, at the temperatures of the stage.
const Eigen::MatrixXd& Stepper::make_inverse(double h_s) {
  if (inverses_.size() < kInverses)
    inverses_.emplace_back();
  std::rotate(inverses_.begin(), inverses_.end() - 1, inverses_.end());
  Inverse& made = inverses_.front();
  made.h_s = h_s;
  made.holds = holds_;
  network_.jacobian(stage_c_, jacobian_);
  system_ = -kGamma * h_s * jacobian_;
  for (Eigen::Index i = 0; i < stage_c_.size(); ++i) {
    const int at = heater_at_[static_cast<std::size_t>(i)];
    if (at >= 0 && holds_[static_cast<std::size_t>(at)]) {
      system_.row(i).setZero();
      system_(i, i) = 1.0;
    } else {
      system_(i, i) += network_.heat_capacity_j_k()[static_cast<std::size_t>(i)];
    }
  }
  // One inverse serves many solves, and Newton's rounds mend what it loses.
  made.matrix = system_.partialPivLu().inverse();
  return made.matrix;
}

bool Stepper::solve_stage(double h_s, const Eigen::VectorXd& base_c, Eigen::VectorXd& k,
                          std::vector<double>& heater_w, double& to_room_w) {
  const auto& capacity = network_.heat_capacity_j_k();
  const double reach_s = kGamma * h_s;
  stage_c_ = base_c + reach_s * k;
  for (const Heater& heater : heaters_)
    if (heater.mode == Mode::hold)
      stage_c_[heater.node] = heater.target_c;
  const Eigen::MatrixXd* inverse = find_inverse(h_s);
  if (inverse == nullptr)
    inverse = &make_inverse(h_s);
  bool converged = false;
  double room_w = 0.0;
  for (int round = 0; round < kNewtonRounds && !converged; ++round) {
    room_w = network_.inflow(stage_c_, source_w_, inflow_w_);
    for (Eigen::Index i = 0; i < stage_c_.size(); ++i) {
      const int at = heater_at_[static_cast<std::size_t>(i)];
      const Mode mode = at < 0 ? Mode::off : heaters_[static_cast<std::size_t>(at)].mode;
      const double full_w = mode == Mode::full ? heaters_[static_cast<std::size_t>(at)].cap_w : 0.0;
      residual_[i] = mode == Mode::hold
                         ? 0.0
                         : capacity[static_cast<std::size_t>(i)] * (stage_c_[i] - base_c[i]) -
                               reach_s * (inflow_w_[i] + full_w);
    }
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
  to_room_w = room_w;  // slopes and flows are of the same temperatures, so the energy book closes
  for (std::size_t i = 0; i < heaters_.size(); ++i) {
    const Heater& heater = heaters_[i];
    heater_w[i] = heater.mode == Mode::full   ? heater.cap_w
                  : heater.mode == Mode::hold ? -inflow_w_[heater.node]
                                              : 0.0;
    inflow_w_[heater.node] += heater_w[i];
  }
  for (Eigen::Index i = 0; i < k.size(); ++i)
    k[i] = inflow_w_[i] / capacity[static_cast<std::size_t>(i)];
  return true;
}

bool Stepper::try_step(double h_s) {
  k1_ = slopes_;
  if (!solve_stage(h_s, t_c_, k1_, heater1_w_, room1_w_))
    return false;
  base_c_ = t_c_ + (1.0 - kGamma) * h_s * k1_;
  k2_ = k1_;
  if (!solve_stage(h_s, base_c_, k2_, heater2_w_, room2_w_))
    return false;
  next_c_ = t_c_ + h_s * ((1.0 - kGamma) * k1_ + kGamma * k2_);
  return true;
}

double Stepper::excess_of(std::size_t index) const {
  const Heater& heater = heaters_[index];
  switch (heater.mode) {
    case Mode::full:
      return (next_c_[heater.node] - heater.target_c) / kCrossedK - 1.0;
    case Mode::off:
      return heater.on ? (heater.target_c - next_c_[heater.node]) / kCrossedK - 1.0 : -1.0;
    case Mode::hold:
      break;
  }
  return std::max(heater2_w_[index] - heater.cap_w, -heater2_w_[index]) / kPowerSlackW - 1.0;
}

double Stepper::excess() const {
  double most = -1.0;
  for (std::size_t i = 0; i < heaters_.size(); ++i)
    most = i == 0 ? excess_of(i) : std::max(most, excess_of(i));
  return most;
}

double Stepper::first_break_s(double broken_s, double excess_broken) {
  double sound_s = 0.0;
  double excess_sound = 0.0;  // 0: not known yet
  for (int round = 0; round < 60 && broken_s - sound_s > kShortestStepS; ++round) {
    // False position with halved ends (the Illinois rule: M. Dowell, P. Jarratt, BIT 11 (1971) 168,
    // from memory), now and then a bisection, so that a kink cannot hold it up.
    double share = 0.5;
    if (excess_sound < 0.0 && round % 4 != 3)
      share = std::clamp(-excess_sound / (excess_broken - excess_sound), 1e-3, 1.0 - 1e-3);
    const double tried_s = sound_s + share * (broken_s - sound_s);
    const double tried = try_step(tried_s) ? excess() : kFailedStep;
    if (tried > 0.0) {
      broken_s = tried_s;
      excess_broken = tried;
      excess_sound *= 0.5;
    } else {
      sound_s = tried_s;
      excess_sound = std::min(tried, -1e-12);
      excess_broken *= 0.5;
    }
  }
  return broken_s;
}

void Stepper::advance(double duration_s, const std::function<void(const StepReport&)>& report) {
  double left_s = duration_s;
  while (left_s > 0.0) {
    double h_s = std::min({left_s, step_s_, ceiling_s});
    bool cut = false;
    for (;;) {
      if (!try_step(h_s)) {
        h_s *= 0.25;
        if (h_s < kShortestStepS)
          break;
        continue;
      }
      const double error_k = kGamma * h_s * (k2_ - k1_).lpNorm<Eigen::Infinity>();
      if (error_k > 4.0 * tolerance_k * 10.0 && h_s > 1e-3) {
        h_s *= 0.5;
        continue;
      }
      if (const double beyond = excess(); beyond > 0.0) {
        h_s = std::min(first_break_s(h_s, beyond), left_s);
        try_step(h_s);
        cut = true;
      }
      break;
    }
    const StepReport made{h_s,
                          {(1.0 - kGamma) * h_s, kGamma * h_s},
                          {&heater1_w_, &heater2_w_},
                          {room1_w_, room2_w_}};
    report(made);
    t_c_ = next_c_;
    // The next step begins to look where this one ended, unless a mode breaks here.
    if (cut)
      slopes_.setZero();
    else
      slopes_ = k2_;
    left_s -= h_s;
    if (left_s < 1e-12 * duration_s)
      left_s = 0.0;
    const double error_k = std::max(1e-12, kGamma * h_s * (k2_ - k1_).lpNorm<Eigen::Infinity>());
    if (cut) {
      choose_modes();
      step_s_ = std::min(step_s_, 1.0);
    } else {
      step_s_ = std::clamp(0.9 * h_s * std::sqrt(10.0 * tolerance_k / error_k), 0.02, ceiling_s);
      if (dc_limit_w_ > 0.0)
        choose_modes();
    }
  }
}

}  // namespace platetally::heat
