// How far the energy that a fitted machine predicts for a print may be off.
#pragma once

#include <Eigen/Dense>
#include <vector>

#include "meter/calibrate/print_entries.hpp"
#include "meter/calibrate/robust_fit.hpp"
#include "platetally/machine.hpp"
#include "platetally/material.hpp"

namespace platetally::calibrate {

/// Of a machine fitted to logs, as a share to either side: 95 of 100, 0 .. 1. `chosen`: indices
/// into parameters(); `known`: covariance of their logarithms, over days; the others are known as
/// their priors say. `day_spread`: what a machine differs by from day to day, as a share. `off`:
/// how far off the worst log still is, as a share.
double band_of_logs(const Machine& machine, const std::vector<Material>& materials,
                    const std::vector<std::size_t>& chosen, const Eigen::MatrixXd& known,
                    double day_spread, double off);

/// Of a machine fitted to the watt-hours of prints, likewise. `machine`: as fitted; `entries`:
/// those of `fit`, in its order.
double band_of_prints(const Machine& machine, const std::vector<Material>& materials,
                      const std::vector<PrintEntry>& entries, const FitProblem& problem,
                      const RobustFit& fit);

}  // namespace platetally::calibrate
