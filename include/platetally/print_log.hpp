/// @file
/// The log of prints in a history: what was really printed, beside what was tallied.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "platetally/audit.hpp"
#include "platetally/machine.hpp"

namespace platetally {

/// A plate that was printed.
struct PrintEntry {
  std::string path;                         ///< of the plate, which must still be there
  std::string member;                       ///< of a container with several plates
  std::string unit;                         ///< which of the machines that are alike; may be empty
  std::optional<std::int64_t> finished_s;   ///< seconds since 1970, UTC; absent: now
  std::optional<std::uint64_t> good_parts;  ///< that came out; absent: not known, or none of a
                                            ///< failed print
  bool failed = false;                      ///< it came to nothing
  double share = 1.0;                       ///< of the plate that was used, 0 .. 1
  std::string origin = "by hand";           ///< how it is known
  bool counts_once = false;                 ///< the origin tells of one print of a plate, no more
};

/// What became of an entry.
struct LoggedPrint {
  std::string path;                 ///< of the plate
  std::string machine;              ///< its name
  std::string unit;                 ///< which of those that are alike
  std::int64_t finished_s = 0;      ///< seconds since 1970, UTC
  bool counted = false;             ///< false: it was in the log already
  std::string why;                  ///< it was not counted, or could not be; one line
  bool is_fault = false;            ///< it could not be logged
  std::optional<double> purge_g;    ///< used by it
  std::optional<double> energy_wh;  ///< used by it
};

/// Logs a print in options.history with the figures of the last tally of its content on that
/// machine; without a machine, on the only one that the history knows of it. A plate without such a
/// tally, and one that is logged with options that change figures, is tallied now, as by audit().
/// A print of the same plate on the same machine and unit whose end lies within half of its time
/// (times the share used; a minute for a failed one without a share) is the same print: it counts
/// once. Throws std::runtime_error where it cannot be logged, or is
/// logged already with another outcome.
LoggedPrint log_print(const PrintEntry& entry, const Machine* machine, const AuditOptions& options);

/// Logs every plate that lies below a folder into which plates are moved once they are printed. A
/// file counts once by its path and content. Throws std::runtime_error where the folder cannot be
/// looked into; what goes wrong with a plate is in its entry, and one that is not there is a plate
/// that cannot be read.
std::vector<LoggedPrint> log_finished_folder(const std::string& folder, const Machine* machine,
                                             const AuditOptions& options);

/// What of a plan was printed.
struct PlanPrints {
  std::int64_t until_s = 0;   ///< on the workshop's clock: runs that ended by then are printed
  double utc_offset_h = 0.0;  ///< of the workshop's clock
  std::vector<std::string> failed;  ///< runs that failed by then, besides those that the plan knows
};

/// Logs what is done of a plan, from its JSON, with the plan's own figures: a run may be a batch
/// that no file holds. Throws std::runtime_error, std::invalid_argument for what is no plan.
std::vector<LoggedPrint> log_plan_prints(std::string_view plan_json, const std::string& plan_path,
                                         const PlanPrints& prints, const AuditOptions& options);

}  // namespace platetally
