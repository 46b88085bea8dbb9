// The most likely entries, given what was measured and what is known beforehand.
//
// Least is
//     sum_i 2.5 log(1 + z_i^2 / 4)  +  1/2 (x - x0)' C^-1 (x - x0),   z_i = (m_i - p_i(x)) / s_i,
// m and p logarithms, s_i^2 = (spread^2 + own_i^2) n_i, n_i prints of the same plate (what the
// model misses of a plate it misses in all of them). The first term is Student's t with four
// degrees of freedom: a print that is off by far pulls with 1 / (1 + z^2 / 4) of what it otherwise
// would. C is what is known beforehand: widths, and what moves together. Bounds hold the entries.
//
// Predictions are taken as a plane about where the fit stands, on which Ceres finds the least;
// there the next plane is taken (Gauss and Newton's way), part of the way if that was too far.
//
// The spread is found with the fit: it begins wide, so that no print is an outlier to a machine
// that is still far off, and narrows to 1.4826 times the median absolute residual (as a standard
// deviation), over sqrt(1 - e / n) with e the entries' worth that was fitted, and not below a least
// one. What is usual counts as some plates more, so that a handful of prints that agree, or
// disagree, by chance decides nothing.
//
// An entry of which the prints take away less than kLeastTold of the variance known beforehand is
// not told: it stays, weakest first. What several prints tell of several entries only together
// moves them together, and their intervals stay nearly as wide as they were.
// They are found when all has settled, and the others settle once more without them.
//
// Intervals: the inverse of the information at the least, 95 % of Student's t with as many degrees
// of freedom as plates (and what is usual) are left beyond what was fitted.
//
// Leaving out: slopes of the whole fit serve for each fit without a plate; residuals are the
// model's own in each of its steps, so it ends where its own fit would but for the bend of the
// slopes.
//
// Range: fewer prints than entries are fine, as each entry is held by what is known beforehand.
// Source: maximum a posteriori estimation and Laplace's approximation, any text on Bayesian data
// analysis; Student's t for outliers: Lange, Little, Taylor, J. Am. Stat. Assoc. 84 (1989), from
// memory. Minimised by Ceres.
#include "meter/calibrate/robust_fit.hpp"

#include <ceres/ceres.h>

#include <algorithm>
#include <cmath>

#include "meter/calibrate/statistics.hpp"

namespace platetally::calibrate {

namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

// Assumed, all of them.
constexpr double kLeastTold = 0.1;     // share of the variance that prints must take away
constexpr int kMostRounds = 16;        // of spreads
constexpr double kShorter = 0.4;       // of a step that went too far
constexpr double kFarFromUsual = 2.0;  // times the usual spread
constexpr double kWidest = 0.3;        // share: of the first spread
constexpr double kNarrowing = 0.5;     // of the spread, from one round to the next
constexpr double kSettled = 0.05;      // share by which the spread may still move
constexpr double kSmallStep = 0.02;    // of an entry's width
constexpr int kMostChords = 3;         // of a fit that leaves a plate out
constexpr int kPlaneSteps = 30;        // of each of them
constexpr double kWideAgain = 4.0;     // of the spread

constexpr double kFreedom = 4.0;  // Student's t

Eigen::Map<const VectorXd> as_vector(const double* x, Index count) {
  return {x, count};
}

/// All that a fit stands on besides where it stands.
struct Ground {
  const FitProblem& problem;
  VectorXd start;
  MatrixXd precision;  ///< beforehand
  MatrixXd root;       ///< root' root = precision
  VectorXd measured;
  VectorXd repeats;  ///< prints of the same plate
  double log_det_precision = 0.0;

  explicit Ground(const FitProblem& given);
  Index entries() const { return start.size(); }
  Index prints() const { return measured.size(); }
  /// Of each print, by spread; without bound for those of the plate that is left out.
  VectorXd expected(double spread, std::ptrdiff_t left_out) const;
  VectorXd inside(VectorXd x) const;
};

Ground::Ground(const FitProblem& given) : problem(given) {
  const auto count = static_cast<Index>(given.entries.size());
  start.resize(count);
  VectorXd widths(count);
  for (Index k = 0; k < count; ++k) {
    const FitEntry& entry = given.entries[static_cast<std::size_t>(k)];
    start[k] = std::clamp(entry.start, entry.low, entry.high);
    widths[k] = entry.width;
  }
  const MatrixXd correlation =
      given.correlation.size() > 0 ? given.correlation : MatrixXd::Identity(count, count);
  precision = (widths.asDiagonal() * correlation * widths.asDiagonal()).inverse();
  const Eigen::LLT<MatrixXd> root_of(precision);
  root = root_of.matrixU();
  log_det_precision = 2.0 * root.diagonal().array().log().sum();
  measured.resize(static_cast<Index>(given.measured.size()));
  repeats = VectorXd::Zero(measured.size());
  for (Index i = 0; i < measured.size(); ++i) {
    const Measured& one = given.measured[static_cast<std::size_t>(i)];
    measured[i] = one.log_value;
    for (const Measured& other : given.measured)
      repeats[i] += other.plate == one.plate ? 1.0 : 0.0;
  }
}

VectorXd Ground::expected(double spread, std::ptrdiff_t left_out) const {
  VectorXd result(prints());
  for (Index i = 0; i < prints(); ++i) {
    const Measured& one = problem.measured[static_cast<std::size_t>(i)];
    constexpr double kNoMatter = 1e9;
    result[i] =
        static_cast<std::ptrdiff_t>(one.plate) == left_out
            ? kNoMatter
            : std::sqrt((spread * spread + one.own_deviation * one.own_deviation) * repeats[i]);
  }
  return result;
}

VectorXd Ground::inside(VectorXd x) const {
  for (Index k = 0; k < entries(); ++k) {
    const FitEntry& entry = problem.entries[static_cast<std::size_t>(k)];
    x[k] = std::clamp(x[k], entry.low, entry.high);
  }
  return x;
}

/// Predictions and their slopes about one place.
struct Slopes {
  VectorXd x;
  VectorXd predicted;
  MatrixXd j;
};

MatrixXd slopes_at(const Ground& ground, const VectorXd& x, const VectorXd& predicted) {
  MatrixXd j(ground.prints(), ground.entries());
  for (Index k = 0; k < ground.entries(); ++k) {
    const FitEntry& entry = ground.problem.entries[static_cast<std::size_t>(k)];
    VectorXd there = x;
    there[k] += x[k] + entry.step <= entry.high ? entry.step : -entry.step;
    j.col(k) = (ground.problem.log_predicted(there) - predicted) / (there[k] - x[k]);
  }
  return j;
}

/// Residuals of prints on a plane, as Ceres squares them.
class PrintCost : public ceres::CostFunction {
 public:
  PrintCost(const Ground& ground, const VectorXd& expected, const Slopes& plane)
      : ground_(ground), expected_(expected), plane_(plane) {
    mutable_parameter_block_sizes()->push_back(static_cast<int>(ground.entries()));
    set_num_residuals(static_cast<int>(ground.prints()));
  }

  bool Evaluate(double const* const* x, double* residuals, double** jacobians) const override {
    const VectorXd predicted =
        plane_.predicted + plane_.j * (as_vector(x[0], ground_.entries()) - plane_.x);
    VectorXd slope(predicted.size());
    for (Index i = 0; i < predicted.size(); ++i) {
      const double z = (ground_.measured[i] - predicted[i]) / expected_[i];
      const double size = std::sqrt((kFreedom + 1.0) * std::log1p(z * z / kFreedom));
      residuals[i] = z < 0.0 ? -size : size;
      const double steep = size > 1e-9
                               ? (kFreedom + 1.0) * std::abs(z) / ((kFreedom + z * z) * size)
                               : std::sqrt((kFreedom + 1.0) / kFreedom);
      slope[i] = -steep / expected_[i];
    }
    if (jacobians != nullptr && jacobians[0] != nullptr)
      Eigen::Map<Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>>(
          jacobians[0], plane_.j.rows(), plane_.j.cols()) = slope.asDiagonal() * plane_.j;
    return true;
  }

 private:
  const Ground& ground_;
  const VectorXd& expected_;
  const Slopes& plane_;
};

/// What is known beforehand.
class BeforehandCost : public ceres::CostFunction {
 public:
  explicit BeforehandCost(const Ground& ground) : ground_(ground) {
    mutable_parameter_block_sizes()->push_back(static_cast<int>(ground.entries()));
    set_num_residuals(static_cast<int>(ground.entries()));
  }

  bool Evaluate(double const* const* x, double* residuals, double** jacobians) const override {
    const Index count = ground_.entries();
    Eigen::Map<VectorXd>(residuals, count) =
        ground_.root * (as_vector(x[0], count) - ground_.start);
    if (jacobians != nullptr && jacobians[0] != nullptr)
      Eigen::Map<Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>>(
          jacobians[0], count, count) = ground_.root;
    return true;
  }

 private:
  const Ground& ground_;
};

/// Where the plane is least, with only the entries in `told` moving.
VectorXd minimise(const Ground& ground, const VectorXd& expected, const std::vector<bool>& told,
                  const Slopes& plane) {
  VectorXd x = plane.x;
  ceres::Problem problem;
  problem.AddResidualBlock(new PrintCost(ground, expected, plane), nullptr, x.data());
  problem.AddResidualBlock(new BeforehandCost(ground), nullptr, x.data());
  std::vector<int> stays;
  for (std::size_t k = 0; k < told.size(); ++k) {
    const FitEntry& entry = ground.problem.entries[k];
    problem.SetParameterLowerBound(x.data(), static_cast<int>(k), entry.low);
    problem.SetParameterUpperBound(x.data(), static_cast<int>(k), entry.high);
    if (!told[k])
      stays.push_back(static_cast<int>(k));
  }
  if (stays.size() == told.size())
    return x;
  if (!stays.empty())
    problem.SetManifold(x.data(), new ceres::SubsetManifold(static_cast<int>(x.size()), stays));
  ceres::Solver::Options options;
  options.linear_solver_type = ceres::DENSE_QR;
  options.max_num_iterations = kPlaneSteps;
  options.function_tolerance = 1e-6;
  options.logging_type = ceres::SILENT;
  options.max_num_line_search_step_size_iterations = 0;  // as in refine.cpp
  ceres::Solver::Summary summary;
  ceres::Solve(options, &problem, &summary);
  return ground.inside(std::move(x));
}

/// (J' W J + precision) over the entries that move; W as the robust loss has it.
MatrixXd information(const Ground& ground, const Slopes& at, const VectorXd& expected,
                     const std::vector<Index>& moving) {
  const VectorXd z = (ground.measured - at.predicted).cwiseQuotient(expected);
  const VectorXd w = ((kFreedom + 1.0) / (kFreedom + z.array().square()))
                         .matrix()
                         .cwiseQuotient(expected.cwiseAbs2());
  const MatrixXd j = at.j(Eigen::all, moving);
  return j.transpose() * w.asDiagonal() * j + ground.precision(moving, moving);
}

std::vector<Index> moving_of(const std::vector<bool>& told) {
  std::vector<Index> moving;
  for (std::size_t k = 0; k < told.size(); ++k)
    if (told[k])
      moving.push_back(static_cast<Index>(k));
  return moving;
}

/// Entries of which something is said; the weakest go first, as what they share then falls to
/// others.
std::vector<bool> told_by(const Ground& ground, const Slopes& at, const VectorXd& expected) {
  std::vector<bool> told(static_cast<std::size_t>(ground.entries()), true);
  for (std::vector<Index> moving = moving_of(told); !moving.empty(); moving = moving_of(told)) {
    const VectorXd now = information(ground, at, expected, moving).inverse().diagonal();
    const VectorXd then = MatrixXd(ground.precision(moving, moving)).inverse().diagonal();
    Index weakest = 0;
    if ((1.0 - now.array() / then.array()).minCoeff(&weakest) >= kLeastTold)
      break;
    told[static_cast<std::size_t>(moving[static_cast<std::size_t>(weakest)])] = false;
  }
  return told;
}

/// What is not told stands where it was; slopes are taken as they are.
void put_back(const Ground& ground, const std::vector<bool>& told, Slopes& at) {
  const VectorXd before = at.x;
  for (std::size_t k = 0; k < told.size(); ++k)
    if (!told[k])
      at.x[static_cast<Index>(k)] = ground.start[static_cast<Index>(k)];
  if (at.x != before)
    at.predicted = ground.problem.log_predicted(at.x);
}

double median_size(const VectorXd& residuals) {
  std::vector<double> sizes;
  for (const double residual : residuals)
    sizes.push_back(std::abs(residual));
  return median(std::move(sizes));
}

double plates_of(const Ground& ground) {
  return ground.repeats.cwiseInverse().sum();
}

/// How many entries' worth was fitted: 1 for what only the prints tell, 0 for what was known.
double fitted_worth(const Ground& ground, const Slopes& at, const VectorXd& expected,
                    const std::vector<bool>& told) {
  const std::vector<Index> moving = moving_of(told);
  if (moving.empty())
    return 0.0;
  const MatrixXd known = ground.precision(moving, moving);
  return static_cast<double>(moving.size()) -
         information(ground, at, expected, moving).ldlt().solve(known).trace();
}

/// Of the residuals, for what was fitted.
double spread_of(const Ground& ground, const Slopes& at, const VectorXd& expected,
                 const std::vector<bool>& told) {
  const double plates = plates_of(ground);
  const double left = std::max(1.0 - fitted_worth(ground, at, expected, told) / plates, 0.25);
  const double of_median =
      kDeviationsOfMedian * median_size(ground.measured - at.predicted) / std::sqrt(left);
  const double usual = ground.problem.usual_spread;
  // What is usual is not believed against prints that differ far more.
  const double far = of_median / (kFarFromUsual * usual);
  const double worth = kUsualWorth / std::max(1.0, far * far);
  const double squares = worth * usual * usual + plates * of_median * of_median;
  return std::clamp(std::sqrt(squares / (worth + plates)), ground.problem.least_spread, kWidest);
}

double moved(const Ground& ground, const VectorXd& from, const VectorXd& to) {
  double farthest = 0.0;
  for (Index k = 0; k < ground.entries(); ++k)
    farthest = std::max(farthest, std::abs(to[k] - from[k]) /
                                      ground.problem.entries[static_cast<std::size_t>(k)].width);
  return farthest;
}

/// Log predicted of every print by fits that leave its plate out.
VectorXd left_out_of(const Ground& ground, const RobustFit& fit, const Slopes& whole) {
  VectorXd result = fit.after;
  std::vector<std::size_t> plates;
  for (const Measured& one : ground.problem.measured)
    if (std::find(plates.begin(), plates.end(), one.plate) == plates.end())
      plates.push_back(one.plate);
  for (const std::size_t plate : plates) {
    const VectorXd expected = ground.expected(fit.spread, static_cast<std::ptrdiff_t>(plate));
    Slopes at = whole;
    for (int chord = 0; chord < kMostChords; ++chord) {
      const VectorXd before = at.x;
      at.x = minimise(ground, expected, fit.is_told, at);
      at.predicted = ground.problem.log_predicted(at.x);
      if (moved(ground, before, at.x) < kSmallStep)
        break;
    }
    for (Index i = 0; i < ground.prints(); ++i)
      if (ground.problem.measured[static_cast<std::size_t>(i)].plate == plate)
        result[i] = at.predicted[i];
  }
  return result;
}

double loss(const Ground& ground, const VectorXd& expected, const VectorXd& x,
            const VectorXd& predicted) {
  const VectorXd z = (ground.measured - predicted).cwiseQuotient(expected);
  return 0.5 * (kFreedom + 1.0) * (1.0 + z.array().square() / kFreedom).log().sum() +
         0.5 * (ground.root * (x - ground.start)).squaredNorm();
}

/// To where the plane is least, or part of the way there if the model says that it is worse.
/// Returns how far.
double step(const Ground& ground, const VectorXd& expected, const std::vector<bool>& told,
            Slopes& at) {
  const VectorXd from = at.x;
  const double here = loss(ground, expected, at.x, at.predicted);
  const VectorXd way = minimise(ground, expected, told, at) - from;
  for (double part = 1.0; part > 0.1; part *= kShorter) {
    const VectorXd there = from + part * way;
    const VectorXd predicted = ground.problem.log_predicted(there);
    if (loss(ground, expected, there, predicted) > here)
      continue;
    at = {there, predicted, slopes_at(ground, there, predicted)};
    return moved(ground, from, there);
  }
  return 0.0;
}

/// Spread and entries in turn, from a wide spread to what is found.
void settle(const Ground& ground, Slopes& at, RobustFit& fit) {
  for (int round = 0; round < kMostRounds && !fit.converged; ++round) {
    const VectorXd expected = ground.expected(fit.spread, -1);
    const double way = step(ground, expected, fit.is_told, at);
    const double next =
        std::max(spread_of(ground, at, expected, fit.is_told), kNarrowing * fit.spread);
    fit.converged = way < kSmallStep && std::abs(next - fit.spread) < kSettled * fit.spread;
    fit.spread = next;
  }
}

void describe(const Ground& ground, const Slopes& at, RobustFit& fit) {
  const VectorXd expected = ground.expected(fit.spread, -1);
  fit.freedom = std::max(
      1.0, kUsualWorth + plates_of(ground) - fitted_worth(ground, at, expected, fit.is_told));
  const std::vector<bool> every(fit.is_told.size(), true);
  fit.covariance = information(ground, at, expected, moving_of(every)).inverse();
  fit.half_95.resize(ground.entries());
  for (Index k = 0; k < ground.entries(); ++k) {
    const FitEntry& entry = ground.problem.entries[static_cast<std::size_t>(k)];
    fit.half_95[k] = kHalf95 * entry.width;
    const double near = 1e-6 * (entry.high - entry.low);
    fit.at_bound.push_back(fit.is_told[static_cast<std::size_t>(k)] &&
                           (fit.x[k] - entry.low < near || entry.high - fit.x[k] < near));
  }
  const std::vector<Index> moving = moving_of(fit.is_told);
  const VectorXd alone = expected.cwiseQuotient(ground.repeats.cwiseSqrt());
  const VectorXd z = (ground.measured - fit.after).cwiseQuotient(expected);
  fit.weight =
      1.0 / (1.0 + (ground.measured - fit.after).cwiseQuotient(alone).array().square() / kFreedom);
  fit.log_evidence = -0.5 * (ground.root * (fit.x - ground.start)).squaredNorm() +
                     0.5 * ground.log_det_precision - expected.array().log().sum() -
                     0.5 * (kFreedom + 1.0) * (1.0 + z.array().square() / kFreedom).log().sum();
  if (moving.empty())
    return;
  const MatrixXd known = information(ground, at, expected, moving);
  const VectorXd variance = known.inverse().diagonal();
  for (std::size_t m = 0; m < moving.size(); ++m)
    fit.half_95[moving[m]] =
        std::min(fit.half_95[moving[m]],
                 half_95_of(fit.freedom) * std::sqrt(variance[static_cast<Index>(m)]));
  const MatrixXd all = [&] {
    MatrixXd whole = ground.precision;
    whole(moving, moving) = known;
    return whole;
  }();
  fit.log_evidence -= Eigen::LLT<MatrixXd>(all).matrixLLT().diagonal().array().log().sum();
}

}  // namespace

RobustFit fit_robustly(const FitProblem& problem) {
  const Ground ground(problem);
  RobustFit fit;
  fit.x = ground.start;
  fit.before = problem.log_predicted(fit.x);
  fit.spread = std::clamp(kDeviationsOfMedian * median_size(ground.measured - fit.before),
                          4.0 * problem.least_spread, kWidest);
  Slopes at{fit.x, fit.before, slopes_at(ground, fit.x, fit.before)};
  fit.is_told.assign(problem.entries.size(), true);
  settle(ground, at, fit);
  const std::vector<bool> told = told_by(ground, at, ground.expected(fit.spread, -1));
  if (told != fit.is_told) {
    fit.is_told = told;
    fit.converged = false;
    put_back(ground, told, at);
    // Wide again, so that what was put back makes nothing an outlier.
    fit.spread = std::min(kWidest, kWideAgain * fit.spread);
    settle(ground, at, fit);
  }
  fit.x = at.x;
  fit.after = at.predicted;
  describe(ground, at, fit);
  fit.left_out = left_out_of(ground, fit, at);
  return fit;
}

}  // namespace platetally::calibrate
