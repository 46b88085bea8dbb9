/// @file
/// Fitting a machine file to what a metering plug saw.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "platetally/machine.hpp"
#include "platetally/made_from.hpp"
#include "platetally/material.hpp"
#include "platetally/meter.hpp"
#include "platetally/page_stamp.hpp"
#include "platetally/prints.hpp"

namespace platetally {

/// One log and what the machine did meanwhile: "idle"; "bed=60" or "nozzle=215": heated up from the
/// room's temperature and held; "fan=1": the part fan at that duty; "plate=FILE": the G-code that
/// ran, such as the measuring plan; "logged": set points, temperatures and duties of bed and nozzle
/// that the log holds itself, session by session. A bed may name its zones: "bed=60,zones=0.0+0.1"
/// (row.column).
struct CalibrationLog {
  MeterLog log;            ///< as read
  std::string experiment;  ///< what the machine did
};

/// What goes with a calibration.
struct CalibrationOptions {
  std::vector<Material> materials;    ///< as in AnalyzeOptions
  double window_s = 10.0;             ///< residuals are means over at least this long
  double day_spread = 0.05;           ///< what a machine differs by from day to day, as a share
  std::optional<double> start_bed_c;  ///< of the bed where experiments begin; absent: the room's
};

/// An entry of the machine file that the logs told.
struct FittedParameter {
  std::string key;        ///< of the machine file
  std::string unit;       ///< of the values
  double before = 0.0;    ///< as the machine file had it
  double value = 0.0;     ///< as the logs have it
  double low = 0.0;       ///< 95 % interval, from logs played over (docs/methods-meter.md)
  double high = 0.0;      ///< of the same interval
  bool at_bound = false;  ///< the fit ended at a bound of the entry's range
  /// Finished prints tell it only together with other entries: the interval is nearly as wide as
  /// what was known before.
  bool told_together = false;
};

/// An entry of the machine file that the logs do not tell.
struct UnfittedParameter {
  std::string key;         ///< of the machine file
  double value = 0.0;      ///< stays about as it was
  std::string settled_by;  ///< the experiment that would tell it
  std::string unit;        ///< of the values
  double before = 0.0;     ///< as the machine file had it
  double low = 0.0;        ///< 95 % interval: mostly what such figures are off by
  double high = 0.0;       ///< of the same interval
};

/// A window of one log: measured against predicted, before and after the fit.
struct CalibrationWindow {
  double from_s = 0.0;      ///< of the experiment
  double to_s = 0.0;        ///< its end
  double measured_w = 0.0;  ///< mean
  double before_w = 0.0;    ///< predicted by the machine as it was, mean
  double after_w = 0.0;     ///< predicted by the fitted one, mean
};

/// A log as it was understood and fitted.
struct CalibratedExperiment {
  std::string experiment;                  ///< as given
  std::string log_path;                    ///< as given
  std::string log_hash;                    ///< of its bytes
  double offset_s = 0.0;                   ///< where in the log it begins
  double measured_wh = 0.0;                ///< of all of the log; 0: no watts, or idling
  double before_wh = 0.0;                  ///< predicted by the machine as it was
  double after_wh = 0.0;                   ///< predicted by the fitted one
  std::vector<CalibrationWindow> windows;  ///< in order
  std::vector<std::string> doubts;         ///< a sentence each
};

/// What the logs told of the machine.
struct CalibrationReport {
  Machine machine;                                  ///< with the fitted values
  std::vector<FittedParameter> fitted;              ///< one by one
  std::vector<UnfittedParameter> not_identifiable;  ///< stay as they are
  std::size_t rank = 0;                             ///< of the Jacobian over all parameters
  double condition = 0.0;                           ///< of what was fitted, columns scaled to one
  double rms_before_w = 0.0;  ///< residual of the windows, with the machine as it was
  double rms_after_w = 0.0;   ///< the same with the fitted one
  std::vector<CalibratedExperiment> experiments;  ///< in the order given
  std::vector<std::string> notes;                 ///< a sentence each
  bool converged = false;  ///< false: said in the notes, values are the best that were found
  std::optional<PrintsFit> prints;     ///< what finished prints told, if there were any
  std::optional<ChangesFile> changes;  ///< counted changes that went in, if there were any
  MadeFrom made_from;                  ///< plates, the machine as it was, files by their hashes
};

/// All that a machine can be fitted to; any part may be missing.
struct CalibrationEvidence {
  std::vector<CalibrationLog> logs;      ///< of a metering plug
  std::optional<FinishedPrints> prints;  ///< their seconds and watt-hours
  std::optional<ChangesFile> changes;    ///< seconds of changes
};

/// Fits all entries to the logs and to what the machine file says of them, which counts as much as
/// such figures are known; so what the logs do not tell stays. Throws UnreadablePlate or
/// std::invalid_argument, with one line, for an experiment that makes no sense or does not fit its
/// log.
CalibrationReport calibrate_machine(const Machine& machine, const std::vector<CalibrationLog>& logs,
                                    const CalibrationOptions& options = {});

/// One machine for all that is known: seconds of changes as they were counted; motion, start and
/// changes from the prints' seconds; what a plug tells from the logs; and what is then left of
/// energy from the prints' watt-hours, each entry held as firmly as the logs told it. What is said
/// of a plate that was left out comes from a fit without its prints. Throws as above, and
/// std::invalid_argument where there is no evidence at all.
CalibrationReport calibrate_machine(const Machine& machine, const CalibrationEvidence& evidence,
                                    const CalibrationOptions& options = {});

/// G-code of least hours that identifies all that a plug can tell without printing: heat, wait and
/// off only. Comments carry the cautions.
std::string measuring_plan(const Machine& machine);

/// The fitted machine file: values, and as comments the 95 % intervals, the values before, the
/// date as given, and hashes of the logs.
std::string to_toml(const CalibrationReport& report, const std::string& date);

/// For people. Ends with a newline.
std::string to_text(const CalibrationReport& report);
/// Schema "platetally.calibrate/1".
std::string to_json(const CalibrationReport& report);
/// One self-contained page with the residuals.
std::string to_html(const CalibrationReport& report, const PageStamp& stamp = {});

/// A change of colour whose purge was found by trial: the least that was judged clean.
struct MeasuredPair {
  std::string from;           ///< as given: a colour, or a tool number of the machine
  std::string to;             ///< the same
  double measured_mm3 = 0.0;  ///< as given
  double before_mm3 = 0.0;    ///< by the machine as it was
  double after_mm3 = 0.0;     ///< by the fitted one
};

/// What measured pairs told of the purge that a machine needs.
struct NeedCalibration {
  Machine machine;                  ///< with the fitted need
  Need before;                      ///< as the machine had it
  std::vector<MeasuredPair> pairs;  ///< in the order given
  std::vector<std::string> notes;   ///< a sentence each
  MadeFrom made_from;               ///< the machine as it was, and the pairs by their hash
};

/// Fits need.washout_mm3 and need.dead_mm3 to pairs: lines "from,to,mm3", each a colour ("black",
/// "#1e1e20") or a tool number of the machine, and mm3; '#' and a blank begin a comment, a line
/// with "from" a heading. Two pairs are met exactly, more with least squares. `path` is for
/// messages. Throws UnreadablePlate, with one line, where a line makes no sense or the pairs fit no
/// model.
NeedCalibration calibrate_need(const Machine& machine, std::string_view pairs,
                               const std::string& path);

/// The machine file with the fitted need, the pairs and the date as given in comments.
std::string to_toml(const NeedCalibration& report, const std::string& date);

/// For people. Ends with a newline.
std::string to_text(const NeedCalibration& report);
/// Schema "platetally.calibrate-pairs/1".
std::string to_json(const NeedCalibration& report);
/// One self-contained page.
std::string to_html(const NeedCalibration& report, const PageStamp& stamp = {});

}  // namespace platetally
