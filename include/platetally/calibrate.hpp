// Fitting a machine file to what a metering plug saw.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "platetally/machine.hpp"
#include "platetally/material.hpp"
#include "platetally/meter.hpp"

namespace platetally {

/// One log and what the machine did meanwhile: "idle"; "bed=60" or "nozzle=215": heated up from the
/// room's temperature and held; "fan=1": the part fan at that duty; "plate=FILE": the G-code that
/// ran, such as the measuring plan. A bed may name its zones: "bed=60,zones=0.0+0.1" (row.column).
struct CalibrationLog {
  MeterLog log;
  std::string experiment;
};

struct CalibrationOptions {
  std::vector<Material> materials;
  double window_s = 10.0;  ///< residuals are means over at least this long
};

struct FittedParameter {
  std::string key;
  std::string unit;
  double before = 0.0;
  double value = 0.0;
  double low = 0.0;  ///< 95 % interval, from the sandwich covariance
  double high = 0.0;
  bool at_bound = false;
};

struct UnfittedParameter {
  std::string key;
  double value = 0.0;      ///< stays
  std::string settled_by;  ///< the experiment that would tell it
};

/// A window of one log: measured against predicted, before and after the fit.
struct CalibrationWindow {
  double from_s = 0.0;  ///< of the experiment
  double to_s = 0.0;
  double measured_w = 0.0;
  double before_w = 0.0;
  double after_w = 0.0;
};

struct CalibratedExperiment {
  std::string experiment;
  std::string log_path;
  std::string log_hash;
  double offset_s = 0.0;  ///< where in the log it begins
  std::vector<CalibrationWindow> windows;
  std::vector<std::string> doubts;
};

struct CalibrationReport {
  Machine machine;  ///< with the fitted values
  std::vector<FittedParameter> fitted;
  std::vector<UnfittedParameter> not_identifiable;
  std::size_t rank = 0;    ///< of the Jacobian over all parameters
  double condition = 0.0;  ///< of what was fitted, columns scaled to one
  double rms_before_w = 0.0;
  double rms_after_w = 0.0;
  std::vector<CalibratedExperiment> experiments;
  std::vector<std::string> notes;
  bool converged = false;
};

/// Fits the entries that the logs identify; the others stay. Throws UnreadablePlate or
/// std::invalid_argument, with one line, for an experiment that makes no sense or does not fit its
/// log.
CalibrationReport calibrate_machine(const Machine& machine, const std::vector<CalibrationLog>& logs,
                                    const CalibrationOptions& options = {});

/// G-code of least hours that identifies all that a plug can tell without printing: heat, wait and
/// off only. Comments carry the cautions.
std::string measuring_plan(const Machine& machine);

/// The fitted machine file: values, and as comments the 95 % intervals, the values before, the
/// date as given, and hashes of the logs.
std::string to_toml(const CalibrationReport& report, const std::string& date);

/// For people, as JSON (schema "platetally.calibrate/1") and as a page with residuals.
std::string to_text(const CalibrationReport& report);
std::string to_json(const CalibrationReport& report);
std::string to_html(const CalibrationReport& report);

}  // namespace platetally
