// Finished prints and the machine: times, then watt-hours.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "account/join/heat_input.hpp"
#include "meter/calibrate/timed_plate.hpp"
#include "platetally/calibrate.hpp"
#include "platetally/prints.hpp"

namespace platetally::calibrate {

/// One measured number of one print.
struct MeasuredPrint {
  const FinishedPrint* print = nullptr;
  std::size_t plate = 0;  ///< which of the plates
  double before = 0.0;    ///< predicted by the machine as it was; s, Wh or g
};

/// What prints told in one respect.
struct PrintStage {
  Machine machine;
  std::vector<FittedParameter> fitted;
  std::vector<UnfittedParameter> not_told;
  std::vector<PrintOutcome> outcomes;
  PrintErrors errors;
  std::vector<std::string> notes;
  bool converged = true;
};

/// `plates`: as read for this machine; `paths`: where they are, to read them for another corner
/// model. `wait_s`: heat waits of each plate, on the machine as it is. `step_s`: how finely seconds
/// are written.
PrintStage fit_times(const Machine& machine, const std::vector<TimedPlate>& plates,
                     const std::vector<std::string>& paths, const std::vector<double>& wait_s,
                     const std::vector<MeasuredPrint>& measured, double step_s);

/// `heat`: what each plate gives the heat model, on this machine. `logs`: what logs told before, or
/// null.
PrintStage fit_energies(const Machine& machine, const std::vector<HeatInput>& heat,
                        const std::vector<MeasuredPrint>& measured, double step_wh,
                        const CalibrationReport* logs);

/// Grams of one plate, and what each mm3 more of hidden purge adds to them.
struct PlateWeight {
  double grams = 0.0;  ///< without hidden purge
  double grams_per_mm3 = 0.0;
};

/// What the machine purges by itself, not in the file.
PrintStage fit_weights(const Machine& machine, const std::vector<PlateWeight>& plates,
                       const std::vector<MeasuredPrint>& measured);

/// Of each plate, on all cores.
std::vector<double> heat_waits_s(const Machine& machine, const std::vector<HeatInput>& heat);

}  // namespace platetally::calibrate
