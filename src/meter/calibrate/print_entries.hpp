// The entries of a machine file that finished prints can say something about, and what is known of
// each beforehand.
#pragma once

#include <Eigen/Dense>
#include <string>
#include <vector>

#include "meter/calibrate/robust_fit.hpp"
#include "platetally/calibrate.hpp"
#include "platetally/machine.hpp"

namespace platetally::calibrate {

struct PrintEntry {
  std::vector<std::string> keys;  ///< of the machine file, all set alike
  std::string unit;
  bool by_logarithm = true;
  double low = 0.0;  ///< the fit stays inside, and so does the machine file
  double high = 0.0;
  double width = 0.0;  ///< standard deviation beforehand: of the logarithm, or in `unit`
  std::string settled_by;
  double (*get)(const Machine& machine) = nullptr;
  void (*set)(Machine& machine, double value) = nullptr;
  double like_the_last = 0.0;  ///< correlation beforehand with the entry before it

  double coordinate(double value) const;
  double value(double coordinate) const;
};

/// What a set of finished prints could tell.
struct PrintTraits {
  bool has_head_changes = false;
  bool has_filament_changes = false;
  bool has_starts = false;  ///< seconds from the first line on
};

/// Of time, for the machine's corner model.
std::vector<PrintEntry> time_entries(const Machine& machine, const PrintTraits& traits);

/// Of energy; what logs told already (`logs`, may be null) is known as well as they say.
std::vector<PrintEntry> energy_entries(const Machine& machine, const CalibrationReport* logs);

/// Of weight: what each change purges that no file holds.
std::vector<PrintEntry> weight_entries();

/// The machine with values in the fit's coordinates; what has to go together is kept together.
Machine machine_at(const Machine& machine, const std::vector<PrintEntry>& entries,
                   const Eigen::VectorXd& x);

/// As the fit takes them, beginning with the machine's values.
FitProblem problem_of(const Machine& machine, const std::vector<PrintEntry>& entries);

/// The same machine with a corner model that it does not have, with what is usual for that model.
Machine with_corner_model(Machine machine, CornerModel model);

}  // namespace platetally::calibrate
