// Played, as a machine's edges are few and an edge that a plug misses is off by an even chance, not
// by a normal one. Each of kDraws machines that the logs would allow as well as the one that was
// found is seen by a plug that samples when the log's did, at a phase of chance: what it shows beside what
// the machine did is what samples miss, the same for all edges that come at even times. To
// that comes noise: of each window its own residual, its sign by chance (which gives the sandwich
// covariance; White, Econometrica 48, 1980, from memory), or the residual of any other window, as
// few windows may see an edge; the wider of the two counts. What the fit would make of it is taken
// to first order, but offsets, which move by seconds while slopes see tenths, are tried.
#include "calibrate/spread.hpp"

#include <algorithm>
#include <cmath>
#include <random>

#include "calibrate/identify.hpp"
#include "calibrate/parameters.hpp"

namespace platetally::calibrate {

namespace {

// Assumed, all of them.
constexpr std::size_t kDraws = 64;
constexpr std::size_t kPhases = 6;  // of each
constexpr int kOffsets = 8;         // tried each way of none, over an interval
constexpr double kEdge = 2.0;       // variance over that of noise
constexpr double kMostLeverage = 0.9;
constexpr double kMostOff = 2.5;  // standard deviations that a drawn machine is off
constexpr double kShare = 0.95;

constexpr double kNothing = 1e-12;

double root_of(double residual) {
  const double share = residual / kLossScale;
  return std::sqrt(1.0 + share * share);
}

double loss_of(double residual) {
  return root_of(residual) - 1.0;
}

class Play {
 public:
  Play(const Windows& windows, const Standing& standing, const std::vector<std::size_t>& chosen,
       double noise_w)
      : windows_(windows),
        standing_(standing),
        chosen_(chosen),
        expected_w_(windows.expected_w(standing, noise_w)),
        noise_w_(noise_w),
        residuals_(windows.residuals_w(standing).cwiseQuotient(expected_w_)),
        response_(expected_w_.cwiseInverse().asDiagonal() * windows.jacobian(standing, chosen),
                  residuals_) {
    const Eigen::VectorXd leverage = response_.leverage();
    for (Eigen::Index i = 0; i < residuals_.size(); ++i) {
      is_edge_.push_back(expected_w_[i] * expected_w_[i] > kEdge * noise_w * noise_w);
      own_noise_.push_back(slope_of_loss(residuals_[i]) /
                           std::sqrt(1.0 - std::min(leverage[i], kMostLeverage)));
      if (!is_edge_.back())
        pool_.push_back(own_noise_.back());
    }
  }

  Spread run() {
    for (const Standing& drawn : draws())
      play(drawn);
    const auto count = static_cast<Eigen::Index>(chosen_.size());
    Spread spread{Eigen::VectorXd::Zero(count), Eigen::VectorXd::Zero(count)};
    for (const Sizes* sizes : {&by_own_, &by_pool_})
      for (Eigen::Index k = 0; k < count; ++k) {
        std::vector<double> size = (*sizes)[static_cast<std::size_t>(k)];
        std::sort(size.begin(), size.end());
        double squares = 0.0;
        for (const double one : size)
          squares += one * one;
        const auto n = static_cast<double>(size.size());
        spread.deviation[k] = std::max(spread.deviation[k], std::sqrt(squares / n));
        spread.half_95[k] =
            std::max(spread.half_95[k], size[static_cast<std::size_t>(kShare * (n - 1.0))]);
      }
    return spread;
  }

 private:
  using Sizes = std::vector<std::vector<double>>;  // of each chosen value, how far it went

  double normal() { return normal_(random_); }
  double even() { return std::uniform_real_distribution<double>(0.0, 1.0)(random_); }

  /// Machines that the logs would allow as well.
  std::vector<Standing> draws() {
    const Eigen::MatrixXd covariance = response_.covariance();
    const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> parts(covariance);
    const Eigen::MatrixXd root =
        parts.eigenvectors() * parts.eigenvalues().cwiseMax(0.0).cwiseSqrt().asDiagonal();
    std::vector<std::vector<double>> places;
    for (std::size_t d = 0; d < kDraws; ++d) {
      Eigen::VectorXd z(root.cols());
      for (Eigen::Index k = 0; k < z.size(); ++k)
        z[k] = std::clamp(normal(), -kMostOff, kMostOff);
      const Eigen::VectorXd off = root * z;
      places.push_back(standing_.logs);
      for (std::size_t k = 0; k < chosen_.size(); ++k) {
        const Parameter& parameter = parameters()[chosen_[k]];
        double& value = places.back()[chosen_[k]];
        value = std::clamp(value + off[static_cast<Eigen::Index>(k)], std::log(parameter.low),
                           std::log(parameter.high));
      }
    }
    return windows_.stand_at_each(std::move(places), standing_.offsets_s);
  }

  void play(const Standing& drawn) {
    const std::size_t experiments = windows_.experiments().size();
    std::vector<Eigen::VectorXd> predicted_w;  // with all offsets moved by as much of an interval
    for (int o = -kOffsets; o <= kOffsets; ++o)
      predicted_w.push_back(
          windows_.predicted_w(drawn, windows_.intervals_s(o / static_cast<double>(kOffsets))));
    for (std::size_t p = 0; p < kPhases; ++p) {
      std::vector<double> shifts_s = windows_.intervals_s(1.0);
      for (double& shift_s : shifts_s)
        shift_s *= even() - 0.5;
      const Eigen::VectorXd seen_w = windows_.sampled_w(drawn, shifts_s);
      std::vector<double> least(experiments, 1e300);
      std::vector<std::size_t> best(experiments, kOffsets);
      for (std::size_t o = 0; o < predicted_w.size(); ++o) {
        std::vector<double> loss(experiments, 0.0);
        for (std::size_t i = 0; i < windows_.count(); ++i) {
          const auto row = static_cast<Eigen::Index>(i);
          loss[windows_.all()[i].experiment] +=
              loss_of((predicted_w[o][row] - seen_w[row]) / expected_w_[row]);
        }
        for (std::size_t e = 0; e < experiments; ++e)
          if (loss[e] < least[e]) {
            least[e] = loss[e];
            best[e] = o;
          }
      }
      Eigen::VectorXd own(expected_w_.size());
      Eigen::VectorXd pooled(expected_w_.size());
      for (std::size_t i = 0; i < windows_.count(); ++i) {
        const auto row = static_cast<Eigen::Index>(i);
        const double missed =
            (predicted_w[best[windows_.all()[i].experiment]][row] - seen_w[row]) / expected_w_[row];
        if (is_edge_[i]) {
          own[row] = pooled[row] =
              slope_of_loss(missed + normal() * noise_w_ / expected_w_[row]);
        } else {
          const double base = slope_of_loss(missed);
          own[row] = base + own_noise_[i] * normal();
          pooled[row] = base + (even() < 0.5 ? -1.0 : 1.0) *
                                   pool_[static_cast<std::size_t>(
                                       even() * static_cast<double>(pool_.size() - 1) + 0.5)];
        }
      }
      note(response_.moved_by(own), by_own_);
      note(response_.moved_by(pooled), by_pool_);
    }
  }

  void note(const Eigen::VectorXd& moved, Sizes& sizes) {
    sizes.resize(chosen_.size());
    for (std::size_t k = 0; k < chosen_.size(); ++k)
      sizes[k].push_back(std::abs(moved[static_cast<Eigen::Index>(k)]));
  }

  const Windows& windows_;
  const Standing& standing_;
  const std::vector<std::size_t>& chosen_;
  Eigen::VectorXd expected_w_;
  double noise_w_;
  Eigen::VectorXd residuals_;
  Response response_;
  std::vector<bool> is_edge_;
  std::vector<double> own_noise_;  ///< psi by window
  std::vector<double> pool_;       ///< the same of windows without an edge
  Sizes by_own_;
  Sizes by_pool_;
  std::mt19937_64 random_{1};  // the same every time
  std::normal_distribution<double> normal_{0.0, 1.0};
};

}  // namespace

double slope_of_loss(double residual) {
  return residual / root_of(residual);
}

Response::Response(const Eigen::MatrixXd& weighed, const Eigen::VectorXd& residuals)
    // Watts by the second and watts by the logarithm differ by orders: only scaled columns invert
    // well.
    : norms_(weighed.colwise().norm().cwiseMax(kNothing)),
      scaled_(weighed * norms_.cwiseInverse().asDiagonal()) {
  Eigen::VectorXd weights(residuals.size());
  for (Eigen::Index i = 0; i < residuals.size(); ++i)
    weights[i] = std::pow(root_of(residuals[i]), -3.0);
  inverse_ = Eigen::MatrixXd(scaled_.transpose() * weights.asDiagonal() * scaled_)
                 .completeOrthogonalDecomposition()
                 .pseudoInverse();
}

Eigen::VectorXd Response::moved_by(const Eigen::VectorXd& psi) const {
  return -(inverse_ * (scaled_.transpose() * psi)).cwiseQuotient(norms_);
}

Eigen::MatrixXd Response::covariance() const {
  return norms_.cwiseInverse().asDiagonal() * inverse_ * norms_.cwiseInverse().asDiagonal();
}

Eigen::VectorXd Response::leverage() const {
  return (scaled_ * inverse_).cwiseProduct(scaled_).rowwise().sum();
}

Spread spread_of(const Windows& windows, const Standing& standing,
                 const std::vector<std::size_t>& chosen, double noise_w) {
  return Play(windows, standing, chosen, noise_w).run();
}

}  // namespace platetally::calibrate
