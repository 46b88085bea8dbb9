// How far a print's energy may be off: laws that hold whatever the ordinary print is, and sums that
// can be done by hand.
#include "meter/calibrate/energy_band.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "meter/calibrate/parameters.hpp"
#include "meter/calibrate/statistics.hpp"

namespace platetally::calibrate {
namespace {

class EnergyBand : public testing::Test {
 protected:
  double of_logs(const Eigen::MatrixXd& known, double day_spread, double off) const {
    return band_of_logs(machine_, materials_, all_, known, day_spread, off);
  }
  Eigen::Index count() const { return static_cast<Eigen::Index>(all_.size()); }
  Eigen::MatrixXd nothing_open() const { return Eigen::MatrixXd::Zero(count(), count()); }
  Eigen::MatrixXd priors_squared() const {
    Eigen::MatrixXd known = nothing_open();
    for (std::size_t k = 0; k < all_.size(); ++k)
      known.diagonal()[static_cast<Eigen::Index>(k)] = std::pow(parameters()[all_[k]].prior, 2);
    return known;
  }

  Machine machine_ = load_machine("single-1").machine();
  std::vector<Material> materials_ =
      std::vector<Material>(machine_.tools.size(), *find_embedded_material("PLA"));
  std::vector<std::size_t> all_ = applicable(machine_);
};

TEST_F(EnergyBand, WhereNothingIsOpenIsWhatTheWorstLogIsOff) {
  EXPECT_EQ(of_logs(nothing_open(), 0.0, 0.0), 0.0);
  EXPECT_NEAR(of_logs(nothing_open(), 0.0, 0.1), kHalf95 * 0.1, 1e-12);
  EXPECT_EQ(of_logs(nothing_open(), 0.0, 0.9), 1.0) << "no wider than the whole";
}

TEST_F(EnergyBand, GrowsWithTheDeviationOfWhatIsOpen) {
  const Eigen::MatrixXd open = 1e-4 * Eigen::MatrixXd::Identity(count(), count());
  const double band = of_logs(open, 0.0, 0.0);
  EXPECT_GT(band, 0.0);
  EXPECT_NEAR(of_logs(9.0 * open, 0.0, 0.0), 3.0 * band, 1e-12);
}

TEST_F(EnergyBand, DaysThatDifferAreAsGoodAsADeviationOfEveryEntry) {
  const Eigen::MatrixXd same = 0.03 * 0.03 * Eigen::MatrixXd::Identity(count(), count());
  EXPECT_NEAR(of_logs(nothing_open(), 0.03, 0.0), of_logs(same, 0.0, 0.0), 1e-12);
}

TEST_F(EnergyBand, WhatTheLogsDidNotTellIsAsWideAsItsPrior) {
  const double chosen = of_logs(priors_squared(), 0.0, 0.0);
  const double not_chosen = band_of_logs(machine_, materials_, {}, Eigen::MatrixXd(0, 0), 0.0, 0.0);
  EXPECT_NEAR(chosen, not_chosen, 1e-12);
  EXPECT_GT(chosen, 0.1);
}

TEST_F(EnergyBand, PartsAddUpByTheirSquares) {
  const Eigen::MatrixXd open = 4e-4 * Eigen::MatrixXd::Identity(count(), count());
  EXPECT_NEAR(of_logs(open, 0.02, 0.05),
              std::hypot(of_logs(open, 0.0, 0.0), of_logs(nothing_open(), 0.02, 0.0),
                         of_logs(nothing_open(), 0.0, 0.05)),
              1e-12);
}

TEST_F(EnergyBand, EntriesThatMakeUpForEachOtherLeaveLessOpen) {
  // Electronics and the bed's underside both raise the energy; told in sum, one is high where the
  // other is low.
  Eigen::MatrixXd apart = nothing_open();
  const auto place = [&](const char* key) {
    for (std::size_t k = 0; k < all_.size(); ++k)
      if (parameters()[all_[k]].key == key)
        return static_cast<Eigen::Index>(k);
    ADD_FAILURE() << key;
    return Eigen::Index{0};
  };
  const Eigen::Index idle = place("supply.idle_w"), under = place("bed.underside_loss_w_m2k");
  apart(idle, idle) = apart(under, under) = 0.01;
  Eigen::MatrixXd together = apart;
  together(idle, under) = together(under, idle) = -0.009;
  EXPECT_LT(of_logs(together, 0.0, 0.0), of_logs(apart, 0.0, 0.0));
}

/// A fit to prints whose every figure is given.
class BandOfPrints : public EnergyBand {
 protected:
  void add(std::size_t plate, double log_measured, double log_left_out, double weight = 1.0) {
    problem_.measured.push_back({log_measured, 0.0, plate});
    const auto last = static_cast<Eigen::Index>(problem_.measured.size() - 1);
    fit_.left_out.conservativeResize(last + 1);
    fit_.weight.conservativeResize(last + 1);
    fit_.left_out[last] = log_left_out;
    fit_.weight[last] = weight;
  }
  double band() const { return band_of_prints(machine_, materials_, entries_, problem_, fit_); }

  std::vector<PrintEntry> entries_ = energy_entries(machine_, nullptr);
  FitProblem problem_ = problem_of(machine_, entries_);
  RobustFit fit_ = [this] {
    RobustFit fit;
    const auto entries = static_cast<Eigen::Index>(entries_.size());
    fit.x = Eigen::VectorXd(entries);
    for (Eigen::Index k = 0; k < entries; ++k)
      fit.x[k] = problem_.entries[static_cast<std::size_t>(k)].start;
    fit.covariance = Eigen::MatrixXd::Zero(entries, entries);
    fit.freedom = 5.0;
    fit.spread = 0.04;
    return fit;
  }();
};

TEST_F(BandOfPrints, OfOnePlateIsTheSpreadOfTheFit) {
  add(0, 3.0, 3.5);
  EXPECT_NEAR(band(), half_95_of(5.0) * 0.04, 1e-12) << "what is left out says nothing";
  fit_.covariance =
      1e-2 * Eigen::MatrixXd::Identity(fit_.covariance.rows(), fit_.covariance.rows());
  EXPECT_GT(band(), half_95_of(5.0) * 0.04);
  fit_.spread = 2.0;
  EXPECT_EQ(band(), 1.0);
}

TEST_F(BandOfPrints, OfPlatesThatWereLeftOutIsTheMeanSquareOfTheirErrors) {
  problem_.usual_spread = 0.05;
  add(0, 3.0, 3.3);
  add(1, 2.0, 1.8);
  // By hand: 0.3 and 0.2, and what is usual as three plates.
  const double expected =
      half_95_of(5.0) * std::sqrt((3.0 * 0.05 * 0.05 + 0.3 * 0.3 + 0.2 * 0.2) / 5.0);
  EXPECT_NEAR(band(), expected, 1e-12);
}

TEST_F(BandOfPrints, PrintsOfOnePlateCountAsOneAndOutliersLittle) {
  problem_.usual_spread = 0.05;
  add(0, 3.0, 3.3);
  add(0, 3.0, 3.3);
  add(1, 2.0, 1.8);
  add(2, 2.0, 3.0, 0.1);
  const double plates = 3.0 + 1.0 + 1.0 + 0.1;
  const double squares = 3.0 * 0.05 * 0.05 + 0.3 * 0.3 + 0.2 * 0.2 + 0.1 * 1.0;
  EXPECT_NEAR(band(), half_95_of(plates) * std::sqrt(squares / plates), 1e-12);
}

TEST_F(BandOfPrints, TheWiderOfTheTwoCounts) {
  problem_.usual_spread = 0.001;
  add(0, 3.0, 3.0);
  add(1, 2.0, 2.0);
  EXPECT_NEAR(band(), half_95_of(5.0) * 0.04, 1e-12);
}

}  // namespace
}  // namespace platetally::calibrate
