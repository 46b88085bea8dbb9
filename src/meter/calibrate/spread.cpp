// Played, as a machine's edges are few and an edge that a plug misses is off by an even chance, not
// by a normal one. Each of kDraws machines that the logs would allow as well as the one that was
// found is seen by a plug that samples when the log's did, at a phase of chance: what it shows
// beside what the machine did is what samples miss, the same for all edges that come at even times.
// To that comes noise: of each window its own residual, its sign by chance (which gives the
// sandwich covariance; White, Econometrica 48, 1980, from memory), or that of all windows, as few
// may see an edge; the wider of the two counts. What a fit would make of it is taken in steps along
// the slopes, with the offsets followed in earnest. Some of the draws are fitted whole: what that
// moves a value further than the slopes say widens its interval.
#include "meter/calibrate/spread.hpp"

#include <algorithm>
#include <cmath>
#include <random>

#include "meter/calibrate/identify.hpp"
#include "meter/calibrate/parameters.hpp"

namespace platetally::calibrate {

namespace {

// Assumed, all of them.
constexpr std::size_t kDraws = 64;
constexpr std::size_t kPhases = 6;  // of each
constexpr int kSteps = 3;           // of a fit to first order
constexpr std::size_t kFits = 16;   // of the draws, in earnest, of logs up to
constexpr double kLongLogs_s = 7200.0;
constexpr std::size_t kFewestFits = 3;
constexpr double kWidestChord = 0.1;  // of a logarithm
constexpr double kMostLeverage = 0.9;
constexpr double kWider = 2.5;  // than the covariance, so that edges fall anywhere between samples
constexpr double kMostOff = 2.5;  // standard deviations that a drawn machine is off
constexpr double kShare = 0.95;

constexpr double kNothing = 1e-12;

double root_of(double residual) {
  const double share = residual / kLossScale;
  return std::sqrt(1.0 + share * share);
}

class Play {
 public:
  Play(const Windows& windows, const Fit& fit)
      : windows_(windows),
        standing_(fit.standing),
        chosen_(fit.chosen),
        noise_w_(fit.noise_w),
        groups_(windows.groups(standing_, noise_w_)),
        residuals_(with_priors(Eigen::VectorXd(groups_.weighed(windows.residuals_w(standing_))),
                               windows, standing_, chosen_)),
        jacobian_(
            with_priors(groups_.weighed(windows.jacobian(standing_, chosen_, chords())), chosen_)),
        response_(jacobian_, exact_off(residuals_)) {
    fitted_square_ = Eigen::VectorXd::Zero(static_cast<Eigen::Index>(chosen_.size()));
    guessed_square_ = Eigen::VectorXd::Constant(fitted_square_.size(), kNothing * kNothing);
    const Eigen::VectorXd leverage = response_.leverage();
    double squares = 0.0;
    int without_edge = 0;
    for (Eigen::Index i = 0; i < residuals_.size(); ++i) {
      if (groups_.is_exact(i)) {
        own_noise_.push_back(1.0);
        continue;
      }
      own_noise_.push_back(residuals_[i] / std::sqrt(1.0 - std::min(leverage[i], kMostLeverage)));
      if (groups_.is_edge[static_cast<std::size_t>(i)])
        continue;
      squares += std::pow(slope_of_loss(own_noise_.back()), 2);
      ++without_edge;
    }
    if (without_edge > 0)
      even_noise_ = std::max(1.0, std::sqrt(squares / without_edge));
  }

  Spread run() {
    const std::vector<Standing> machines = draws();
    const std::size_t fits = fits_worth();
    for (std::size_t m = 0; m < machines.size(); ++m)
      play(machines[m], m < fits);
    const auto count = static_cast<Eigen::Index>(chosen_.size());
    Spread spread{Eigen::VectorXd::Zero(count), Eigen::VectorXd::Zero(count)};
    for (const Sizes* sizes : {&by_own_, &by_even_})
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
    for (Eigen::Index k = 0; k < count; ++k) {
      const double wider = std::max(1.0, std::sqrt(fitted_square_[k] / guessed_square_[k]));
      spread.deviation[k] *= wider;
      spread.half_95[k] *= wider;
    }
    return spread;
  }

 private:
  /// Fewer of long logs, whose many windows leave less to chance and take longer.
  std::size_t fits_worth() const {
    double seconds = 0.0;
    for (const Course& course : standing_.courses)
      seconds += course.power.end_s;
    return std::clamp(
        static_cast<std::size_t>(static_cast<double>(kFits) * kLongLogs_s / std::max(1.0, seconds)),
        kFewestFits, kFits);
  }

  /// As wide as the values are uncertain by slopes nearby: an edge that is hardly above the noise
  /// looks as if it told its moment to a second, and does not.
  Eigen::VectorXd chords() const {
    const Response nearby(
        with_priors(groups_.weighed(windows_.jacobian(standing_, chosen_)), chosen_),
        exact_off(residuals_));
    return nearby.covariance()
        .diagonal()
        .head(static_cast<Eigen::Index>(chosen_.size()))
        .cwiseMax(0.0)
        .cwiseSqrt()
        .cwiseMin(kWidestChord)
        .cwiseMax(Windows::kStep);
  }

  Eigen::VectorXd exact_off(Eigen::VectorXd residuals) const {
    for (Eigen::Index i = 0; i < residuals.size(); ++i)
      if (groups_.is_exact(i))
        residuals[i] = 0.0;
    return residuals;
  }

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
        z[k] = kWider * std::clamp(normal(), -kMostOff, kMostOff);
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

  void play(const Standing& drawn, bool fits) {
    for (std::size_t p = 0; p < kPhases; ++p) {
      std::vector<double> shifts_s = windows_.intervals_s(1.0);
      for (double& shift_s : shifts_s)
        shift_s *= even() - 0.5;
      const Eigen::VectorXd seen_w = windows_.sampled_w(drawn, shifts_s);
      Eigen::VectorXd own(residuals_.size());
      Eigen::VectorXd even_ones(residuals_.size());
      for (Eigen::Index g = 0; g < own.size(); ++g) {
        const auto i = static_cast<std::size_t>(g);
        const bool as_it_is = groups_.is_exact(g) || groups_.is_edge[i];
        own[g] = normal() * (as_it_is && !groups_.is_exact(g) ? edge_noise(g) : own_noise_[i]);
        even_ones[g] = as_it_is ? own[g] : normal() * even_noise_;
      }
      note(refitted(drawn, seen_w, own), by_own_);
      const Eigen::VectorXd by_even = refitted(drawn, seen_w, even_ones);
      note(by_even, by_even_);
      if (fits && p == 0)
        fit_in_earnest(drawn, seen_w, even_ones, by_even);
    }
  }

  /// By how much a fit would go off that begins at the drawn machine and sees this.
  Eigen::VectorXd refitted(const Standing& drawn, const Eigen::VectorXd& seen_w,
                           const Eigen::VectorXd& noise) {
    const auto count = static_cast<Eigen::Index>(chosen_.size());
    Eigen::VectorXd off = Eigen::VectorXd::Zero(jacobian_.cols());
    for (int step = 0; step < kSteps; ++step) {
      std::vector<double> later_s(windows_.experiments().size());
      for (std::size_t e = 0; e < later_s.size(); ++e)
        later_s[e] = off[count + static_cast<Eigen::Index>(e)];
      const Eigen::VectorXd predicted_w = windows_.predicted_w(drawn, later_s);
      Eigen::VectorXd r = noise + jacobian_.leftCols(count) * off.head(count);
      r.head(static_cast<Eigen::Index>(groups_.count())) += groups_.weighed(predicted_w - seen_w);
      for (Eigen::Index i = 0; i < r.size(); ++i)
        if (!groups_.is_exact(i))
          r[i] = slope_of_loss(r[i]);
      off += response_.moved_by(r);
    }
    return off;
  }

  /// Of a group with an edge, whose own residual is that of the edge: the plug's.
  double edge_noise(Eigen::Index group) const {
    const auto g = static_cast<std::size_t>(group);
    const auto windows = static_cast<double>(groups_.first[g + 1] - groups_.first[g]);
    return noise_w_[groups_.stream[g]] / std::sqrt(windows) / groups_.expected_w[group];
  }

  /// The same with the model, beside what it was guessed to be.
  void fit_in_earnest(const Standing& drawn, const Eigen::VectorXd& seen_w,
                      const Eigen::VectorXd& noise, const Eigen::VectorXd& guessed) {
    Eigen::VectorXd measured_w = seen_w;
    for (std::size_t g = 0; g < groups_.count(); ++g) {
      const auto row = static_cast<Eigen::Index>(g);
      // A group's residual is predicted less measured.
      for (std::size_t i = groups_.first[g]; i < groups_.first[g + 1]; ++i)
        measured_w[static_cast<Eigen::Index>(i)] -= noise[row] * groups_.expected_w[row];
    }
    const Windows seen = windows_.with_measured(measured_w);
    Fit fit;
    fit.standing = drawn;
    fit.chosen = chosen_;
    fit.noise_w = noise_w_;
    refine(seen, seen.groups(drawn, noise_w_), true, fit);
    for (std::size_t k = 0; k < chosen_.size(); ++k) {
      const auto row = static_cast<Eigen::Index>(k);
      fitted_square_[row] += std::pow(fit.standing.logs[chosen_[k]] - drawn.logs[chosen_[k]], 2);
      guessed_square_[row] += guessed[row] * guessed[row];
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
  std::vector<double> noise_w_;
  Groups groups_;
  Eigen::VectorXd residuals_;
  Eigen::MatrixXd jacobian_;
  Response response_;
  std::vector<double> own_noise_;  ///< by group
  double even_noise_ = 1.0;        ///< of all without an edge
  Sizes by_own_;
  Sizes by_even_;
  Eigen::VectorXd fitted_square_, guessed_square_;  ///< sums over those that were fitted
  std::mt19937_64 random_{1};                       // the same every time
  std::normal_distribution<double> normal_{0.0, 1.0};
};

}  // namespace

double slope_of_loss(double residual) {
  return residual / root_of(residual);
}

Response::Response(const Eigen::MatrixXd& weighed, const Eigen::VectorXd& residuals)
    // Watts by the second and watts by the logarithm differ by orders: only scaled columns invert
    // well.
    : norms_(weighed.colwise().norm().unaryExpr(
          [](double norm) { return norm > kNothing ? norm : 1.0; })),
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

Spread spread_of(const Windows& windows, const Fit& fit) {
  return Play(windows, fit).run();
}

}  // namespace platetally::calibrate
