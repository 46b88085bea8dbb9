// How far one entry may go while the others make up for it.
#pragma once

#include <Eigen/Dense>

namespace platetally::calibrate {

/// What a fit ended at. Entries by logarithm first, then offsets, which have no prior.
struct FitEnd {
  Eigen::MatrixXd hessian;   ///< of the logs' half square loss, without priors
  Eigen::VectorXd gradient;  ///< of the same
  Eigen::VectorXd prior;     ///< of each entry, its standard deviation beforehand
  Eigen::VectorXd moved;     ///< of each entry, from where it was beforehand
};

/// Widths of 95 % intervals of each entry's logarithm, to either side; none wider than the prior's.
struct Profile {
  Eigen::VectorXd down;
  Eigen::VectorXd up;
};

Profile profile_of(const FitEnd& end);

}  // namespace platetally::calibrate
