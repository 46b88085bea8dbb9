/// @file
/// A plate's prediction against what a plug and a scale measured.
#pragma once

#include <limits>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "platetally/machine.hpp"
#include "platetally/made_from.hpp"
#include "platetally/meter.hpp"
#include "platetally/options.hpp"
#include "platetally/page_stamp.hpp"

namespace platetally {

struct Account;

/// What goes with a reconciliation.
struct ReconcileOptions {
  AnalyzeOptions analyze;  ///< for the prediction
  /// What was weighed or timed besides: any number of the totals, such as {"purge_g", 184}.
  std::vector<std::pair<std::string, double>> weighed;
};

/// A part of the print, predicted and measured.
struct ReconciledPhase {
  std::string name;           ///< "heat-up", "first layer", "layers with swaps", "other layers",
                              ///< "cool-down"; or "all of it"
  double predicted_s = 0.0;   ///< how long
  double measured_s = 0.0;    ///< how long
  double predicted_wh = 0.0;  ///< from the wall
  double measured_wh = 0.0;   ///< from the wall
};

/// A number of the totals, predicted and measured.
struct ReconciledValue {
  std::string key;         ///< "time_s", "energy_wh", "mean_power_w", or what was weighed
  std::string unit;        ///< of both
  double predicted = 0.0;  ///< NaN: not known
  double measured = 0.0;   ///< by plug, clock or scale
  /// Of what was weighed: the band that was predicted; NaN where there is none.
  double low = std::numeric_limits<double>::quiet_NaN();
  double high = std::numeric_limits<double>::quiet_NaN();  ///< its upper end
};

/// An entry of the machine file that would make the difference smaller.
struct Explanation {
  std::string key;        ///< of the machine file
  double value = 0.0;     ///< as it is
  double would_be = 0.0;  ///< where it alone explains most
  double explains = 0.0;  ///< share of the squared difference that goes away
};

/// A prediction against what was measured.
struct ReconcileReport {
  std::string path;          ///< of the plate
  std::string machine;       ///< its name
  std::string log_path;      ///< as given; empty: there was none
  std::string log_hash;      ///< of its bytes
  double offset_s = 0.0;     ///< where in the log the plate begins
  double drift = 0.0;        ///< of the log's clock against the prediction's
  double correlation = 0.0;  ///< of measured and predicted watts, -1 .. 1
  double smoothed_s = 0.0;   ///< of means over so long; 0: as they are, or windows of some seconds
  std::vector<ReconciledPhase> phases;  ///< in order
  std::vector<ReconciledValue> values;  ///< in order
  double time_error_wh = 0.0;   ///< of the difference in energy: from lasting longer or shorter
  double power_error_wh = 0.0;  ///< from drawing more or less
  std::vector<Explanation> explanations;  ///< best first
  std::vector<std::string> doubts;        ///< a sentence each
  std::vector<double>
      overlay_s;  ///< windows of the prediction's clock, their beginnings and the end
  std::vector<double> overlay_predicted_w;  ///< mean of each window
  std::vector<double> overlay_measured_w;   ///< NaN: not known
  MadeFrom made_from;                       ///< plate, machine, the log by its hash, options
};

/// Throws UnreadablePlate, UnreadableLog, std::invalid_argument (a key that is no number of the
/// totals, a log that goes with the plate nowhere).
ReconcileReport reconcile(const std::string& path, const Machine& machine, const MeterLog& log,
                          const ReconcileOptions& options = {});

/// The same without a log, of what was weighed or timed alone: values, and nothing else. Throws
/// UnreadablePlate, std::invalid_argument (nothing is weighed, a key that is no number of the
/// totals).
ReconcileReport reconcile_weighed(const std::string& path, const Machine& machine,
                                  const ReconcileOptions& options);

/// Mean and spread of past errors, measured over predicted less one.
struct AccuracyEntry {
  std::string key;         ///< of the totals, or what was weighed
  std::size_t plates = 0;  ///< that the entry stands on
  double mean = 0.0;       ///< of measured over predicted less one
  double spread = 0.0;     ///< standard deviation; 0 for one plate
};
/// By key.
using AccuracyBook = std::vector<AccuracyEntry>;

/// So many plates at least make a spread.
inline constexpr std::size_t kLeastPlatesOfBook = 2;

/// Keeps a reconciliation in a history, by the plate's content, the machine as it is described,
/// what it was predicted with, and the program's version. Throws std::runtime_error.
void keep_reconciliation(const std::string& history, const std::string& plate_path,
                         const ReconcileReport& report, const Machine& machine,
                         const AnalyzeOptions& options, const std::string& version,
                         std::int64_t now_s);
/// Of the machine of that name; the latest of each plate counts. `of_unknown`: measurements that
/// were kept before their machine was; they are left out. Throws std::runtime_error.
AccuracyBook read_accuracy(const std::string& history, const std::string& machine,
                           std::size_t* of_unknown = nullptr);

/// Widens the bands of time (cause "past-errors"), energy and purge by what past predictions were
/// off: mean and two spreads. What is in the book of fewer than two plates is left as it is.
void widen_by_past(Account& account, const AccuracyBook& book);

/// For people. Ends with a newline.
std::string to_text(const ReconcileReport& report);
/// Schema "platetally.reconcile/1".
std::string to_json(const ReconcileReport& report);
/// One self-contained page: nothing fetched; names are escaped.
std::string to_html(const ReconcileReport& report, const PageStamp& stamp = {});
/// For people. Ends with a newline.
std::string to_text(const AccuracyBook& book);

}  // namespace platetally
