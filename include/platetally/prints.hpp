/// @file
/// What people write down of finished prints and of changes of filament, and what it tells of a
/// machine.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "platetally/diagnostic.hpp"
#include "platetally/machine.hpp"
#include "platetally/range.hpp"

namespace platetally {

/// What the seconds of a finished print cover.
enum class PrintSpan : std::uint8_t {
  start,            ///< from the first line to the end, heat waits and homing included
  first_extrusion,  ///< from the first extrusion to the end, as totals.time_of_print_s
};

/// "start" or "first-extrusion".
std::string_view name_of(PrintSpan span);

/// A line of a file of finished prints.
struct FinishedPrint {
  std::string plate;                  ///< path: as written, or below the file's folder
  PrintSpan span = PrintSpan::start;  ///< of the seconds
  std::optional<double> seconds;      ///< > 0, pauses left out
  std::optional<double> energy_wh;    ///< > 0; from the wall, of the whole print
  std::optional<double> grams;        ///< > 0; all filament that left the spools
  std::uint64_t line = 0;             ///< from 1
};

/// A file of finished prints, as it was understood.
struct FinishedPrints {
  std::string path;                   ///< as given
  std::string hash;                   ///< of its bytes
  std::vector<FinishedPrint> prints;  ///< in the order of the file
  std::vector<std::string> readings;  ///< how columns were understood
  std::vector<Diagnostic> faults;     ///< what was left out, each with its line and column
  double seconds_step_s = 1.0;        ///< how finely seconds are written
  double energy_step_wh = 1.0;        ///< the same of energy: 10 for hundredths of a kWh
};

/// Reads a CSV with a heading: plate, and any of seconds (also 1:23:45 or 1h 23m 45s), span
/// (first-extrusion or start), kwh or wh, grams. What cannot be read is left out and said. Throws
/// UnreadableLog: no heading, no column of plates, no print.
FinishedPrints parse_finished_prints(std::string_view text, const std::string& path);
/// The same from a file.
FinishedPrints load_finished_prints(const std::string& path);

/// What counters of changes say of one kind of change.
struct CountedChanges {
  SwapKind kind = SwapKind::filament_change;  ///< of the changes
  std::uint64_t machines = 0;                 ///< that were counted; 0: the file does not say
  std::uint64_t changes = 0;                  ///< whose seconds are known
  Range seconds;            ///< tenth, mean (or median of the machines), nine tenths; no stops
  std::uint64_t stops = 0;  ///< among them or beside them
  std::optional<double> stop_share;  ///< of changes
  std::optional<double> stop_s;      ///< how much longer a stop takes
};

/// A file of counters, as it was understood.
struct ChangesFile {
  std::string path;                     ///< as given
  std::string hash;                     ///< of its bytes
  std::vector<CountedChanges> counted;  ///< by kind
  std::vector<std::string> readings;    ///< how columns were understood
  std::vector<Diagnostic> faults;       ///< what was left out
};

/// Reads a CSV with a heading: one change a line (seconds; kind: filament or head; purge_s: of its
/// seconds, those that the plate's file holds as moves), or one counter a line (changes,
/// seconds_a_change; stops, stop_s_in_all, changes_in_all; machine). Throws UnreadableLog.
ChangesFile parse_changes(std::string_view text, const std::string& path);
/// The same from a file.
ChangesFile load_changes(const std::string& path);

/// The machine with those seconds and stops.
Machine with_changes(Machine machine, const ChangesFile& changes);

/// One number of one finished print, measured against predicted.
struct PrintOutcome {
  std::string plate;        ///< as written
  std::string key;          ///< "time_s", "time_of_print_s", "energy_wh" or "grams"
  std::uint64_t line = 0;   ///< of the file
  double measured = 0.0;    ///< s, Wh or g
  double before = 0.0;      ///< predicted by the machine as it was
  double after = 0.0;       ///< by the fitted one
  double left_out = 0.0;    ///< by one fitted to all other plates
  double weight = 1.0;      ///< 0 .. 1: how much it counts beside one that agrees
  bool is_outlier = false;  ///< disagrees with the others by far
};

/// How far predictions were off, as a share of what was measured.
struct PrintErrors {
  std::string key;               ///< "time", "energy" or "weight"
  std::size_t prints = 0;        ///< that were compared
  std::size_t plates = 0;        ///< that differ
  double before_median = 0.0;    ///< with the machine as it was
  double before_mean = 0.0;      ///< the same
  double after_median = 0.0;     ///< with the fitted one
  double after_mean = 0.0;       ///< the same
  double left_out_median = 0.0;  ///< each plate by a machine fitted to the others
  double left_out_mean = 0.0;    ///< the same
};

/// What finished prints told.
struct PrintsFit {
  std::string path;                    ///< of the file
  std::string hash;                    ///< of its bytes
  std::vector<PrintErrors> errors;     ///< time, energy, weight: what there is
  std::vector<PrintOutcome> outcomes;  ///< in the order of the file, times first
};

}  // namespace platetally
