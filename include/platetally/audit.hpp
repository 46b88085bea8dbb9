/// @file
/// A folder of plates: each tallied, worst first, with limits, a history, and shares of the work
/// for several computers.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "platetally/account.hpp"
#include "platetally/advice.hpp"
#include "platetally/machine.hpp"
#include "platetally/made_from.hpp"
#include "platetally/material.hpp"
#include "platetally/page_stamp.hpp"
#include "platetally/prices.hpp"
#include "platetally/report.hpp"
#include "platetally/variant.hpp"

namespace platetally {

/// How far an audit has come.
struct AuditProgress {
  std::uint64_t files = 0;         ///< done
  std::uint64_t files_in_all = 0;  ///< known from the start
  std::uint64_t bytes = 0;         ///< of the files as they lie on the disk
  std::uint64_t bytes_in_all = 0;  ///< of all of them
  std::uint64_t from_history = 0;  ///< files that did not have to be read
};

struct AuditReport;
struct AuditRow;

/// What an audit looks at, counts and reports.
struct AuditOptions {
  std::vector<std::string> include;  ///< shell patterns; empty: the usual endings of G-code, .zip
  std::vector<std::string> exclude;  ///< shell patterns; they win
  int threads = 1;                   ///< plates at once; the results are the same
  std::vector<Material> materials;   ///< as in AnalyzeOptions
  std::vector<std::string> tool_colours;  ///< as in AnalyzeOptions
  std::optional<Prices> prices;           ///< absent: no money
  int copies = 1;                         ///< good parts on each plate
  Variant variant;                        ///< as in AnalyzeOptions
  bool partial = false;      ///< as in AnalyzeOptions; no limit passes on such a plate,
                             ///< and one that something was left out of passes
  bool strict = false;       ///< a plate with a warning does not pass
  std::optional<Aim> value;  ///< what findings are ranked by; absent: money where there are prices,
                             ///< else time, or as merged
  std::string sort;          ///< any key of a number, largest first; empty: purge_g, or as merged
  std::vector<std::pair<std::string, double>> limits;  ///< keys and highest values
  int shard = 1;        ///< this share of the work, 1 .. shards; shares are alike by bytes of files
  int shards = 1;       ///< 1 or more
  std::string history;  ///< an SQLite file that keeps what was tallied; empty: none
  std::string version;  ///< of the program: another one does not trust the history's figures
  /// Seconds since 1970 in UTC, for the history; must be given with one.
  std::function<std::int64_t()> now_s;
  /// Every record as a line of JSON, in the order of the input, as soon as it is known.
  std::function<void(std::string_view line)> on_record;
  std::size_t most_rows = 0;  ///< rows that the report keeps: the worst, and as many of those that
                              ///< failed, are over a limit or do not pass; 0: all
  /// Of merge_audits() alone: every row in the order of the report, once its sums are known.
  std::function<void(const AuditReport& sums, const AuditRow& row)> on_row;
  /// Now and then; from one thread at a time.
  std::function<void(const AuditProgress&)> on_progress;
  /// Every account that was read, from the thread that read it; then nothing is taken from the
  /// history, though it is kept there. `member`: of a zip, else empty.
  std::function<void(const std::string& path, const std::string& member, const Account&)>
      on_account;
};

/// What one finding of one plate would save.
struct AuditFinding {
  std::string code;                   ///< as in Finding
  bool spoils = false;                ///< a warning: the plate comes out worse, whatever it saves
  double saves_time_s = 0.0;          ///< expected
  double saves_purge_g = 0.0;         ///< expected
  double saves_energy_wh = 0.0;       ///< expected
  std::optional<double> saves_money;  ///< with prices only
};

/// One plate of the audit, or why there is none.
struct AuditRow {
  std::uint64_t index = 0;             ///< of its file in the whole input, before it was shared out
  std::string path;                    ///< of the file
  std::string member;                  ///< inside a zip
  std::string error;                   ///< one line; empty for a plate
  std::string verdict;                 ///< "ready", "look" or "cannot"; empty with an error
  std::vector<VerdictReason> reasons;  ///< of the verdict, worst first
  std::string machine;                 ///< that it was tallied on
  std::string machine_hash;            ///< of its description
  std::string content_hash;            ///< of its file; empty: not known
  std::string currency;                ///< of the cost; empty without prices
  std::vector<double> totals;          ///< by audit_keys(); NaN: not known
  std::optional<double> sort_value;    ///< absent: not known
  std::vector<double> purge_strip_g;   ///< purge along the plate, in at most 24 equal parts
  std::vector<AuditFinding> findings;  ///< of this plate
  std::vector<LimitBreach> breaches;   ///< limits that it exceeds
  std::vector<std::string> limit_errors;  ///< limits that could not be checked
  std::uint64_t left_out = 0;             ///< diagnostics that left something out
  std::uint64_t warnings = 0;             ///< diagnostics that are warnings
  std::uint64_t unknown_words = 0;        ///< command words without a meaning, repeats counted
  bool partial = false;                   ///< of a part of the plate
  std::string fails_because;              ///< why it does not pass, limits apart; empty: it does
  bool limits_fail = false;               ///< there is a reason in fails_because
};

/// A finding over all plates.
struct AuditFindingSum {
  AuditFinding sum;          ///< of what it would save on all of them
  std::uint64_t plates = 0;  ///< that have it
};

/// The plates that have most of a figure.
struct AuditLargest {
  /// One of them.
  struct Plate {
    std::string path;    ///< of the file
    std::string member;  ///< inside a zip
    double value = 0.0;  ///< of the figure, above 0
  };
  std::string key;            ///< of audit_keys()
  std::vector<Plate> plates;  ///< at most 4, the largest first
};

/// The plates of an audit, and their sums.
struct AuditReport {
  std::string machine;                    ///< its name
  std::string sort;                       ///< a key with its section
  std::string currency;                   ///< of costs; empty: no plate has one
  std::optional<Aim> value;               ///< what findings are ranked by; set by then
  std::vector<AuditRow> rows;             ///< plates worst first, then what failed, as given
  std::uint64_t rows_in_all = 0;          ///< rows, and those that were not kept
  std::vector<AuditLargest> largest;      ///< by figure
  std::vector<double> totals;             ///< sums by audit_keys(); NaN: of no plate known, or
                                          ///< a figure of which sums make no sense
  std::vector<AuditFindingSum> findings;  ///< what spoils something, then the largest saving
  std::vector<std::pair<std::string, std::string>> faults;  ///< places not looked into, and why
  std::vector<std::string> notes;                           ///< doubts about the audit as a whole
  std::uint64_t plates = 0;                                 ///< rows without an error
  std::uint64_t failed = 0;                                 ///< rows with an error, and faults
  std::uint64_t exceeded = 0;                               ///< plates over a limit
  std::uint64_t not_passed = 0;  ///< plates over no limit that do not pass: AuditRow::fails_because
  std::uint64_t cannot = 0;      ///< plates with that verdict
  std::uint64_t look = 0;        ///< plates with that verdict
  std::uint64_t passed_over = 0;   ///< files that no pattern includes
  std::uint64_t from_history = 0;  ///< in no report: it differs from run to run
  bool history_failed = false;     ///< said in notes
  MadeFrom made_from;              ///< machines and options; the plates' hashes are in the rows
};

/// The keys of AuditRow::totals: every number of the section "totals", without that word.
const std::vector<std::string>& audit_keys();

/// Tallies every plate below the paths. A bad one is a row with its error and stops nothing.
/// Deterministic but for what other programs do to the files meanwhile, whatever the threads.
/// Throws UnreadablePlate where machine or materials are unsound, std::invalid_argument for an
/// unknown key, std::runtime_error where the history cannot be opened and where there is nothing to
/// audit.
AuditReport audit(const std::vector<std::string>& paths, const Machine& machine,
                  const AuditOptions& options);

/// The audit whose records lie in files of JSON lines, such as the shares of several computers; the
/// same report as of a single one. Sort, value, limits, most_rows, on_record and on_row of the
/// options are obeyed; with a history the records are kept there, all or none, as if they had been
/// tallied here. With most_rows memory does not grow with the records but for some bytes of each.
/// Throws std::runtime_error, "FILE:LINE: ...", for what is no such file, lacks its end, or does
/// not belong with the others, and where files that were listed are in no share.
AuditReport merge_audits(const std::vector<std::string>& files, const AuditOptions& options);

/// Tallies that may be added up: of one machine as it was described, one version and one set of
/// options.
struct HistoryGroup {
  std::string machine;         ///< its name; empty: not known
  std::string machine_hash;    ///< of its description; empty: not known
  std::string version;         ///< of the program; empty: not known
  std::string options;         ///< those that change figures, in words; empty: none, or not known
  std::string currency;        ///< of its costs; empty: it has none
  std::uint64_t plates = 0;    ///< rows without an error
  std::vector<double> totals;  ///< as in AuditReport
};

/// A week of a history: plates first tallied in it.
struct HistoryWeek {
  std::string monday;        ///< "2026-11-23"
  std::size_t group = 0;     ///< index in HistoryReport::groups
  std::uint64_t plates = 0;  ///< first tallied in it
  std::uint64_t swaps = 0;   ///< of all of them
  double hours = 0.0;        ///< of machine time
  double part_g = 0.0;       ///< of all of them
  double purge_g = 0.0;      ///< of all of them
  double energy_kwh = 0.0;   ///< of all of them
};

/// A week of a history: what was printed in it on machines of one name. A failed print counts what
/// it used: the whole plate, unless its share was given.
struct PrintedWeek {
  std::string monday;              ///< "2026-11-23"; prints ended in that week
  std::string machine;             ///< its name
  std::string currency;            ///< of the cost; empty: it has none
  std::uint64_t prints = 0;        ///< failed ones included
  std::uint64_t failed = 0;        ///< of them
  std::uint64_t good_parts = 0;    ///< of those prints that tell
  std::uint64_t without_good = 0;  ///< prints that do not tell
  double swaps = 0.0;              ///< of all of them
  double hours = 0.0;              ///< of machine time
  double part_g = 0.0;             ///< of all of them
  double purge_g = 0.0;            ///< of all of them
  double energy_kwh = 0.0;         ///< of all of them
  std::optional<double> cost;      ///< of all of them; absent: tallied without prices
};

/// What a history holds: its plates, and weeks of them.
struct HistoryReport {
  /// Of the plates first tallied since then. With several groups it has neither totals nor
  /// findings: they do not add up.
  AuditReport audit;
  std::vector<HistoryGroup> groups;  ///< by machine, version, options
  std::vector<HistoryWeek> weeks;    ///< by week, then group; weeks without any plate are left out
  std::vector<PrintedWeek> printed;  ///< by week, machine and currency, of the log of prints
};

/// What a history holds since a moment, for plates at or below the paths (all, if there are none).
/// A content tallied on two machines, by two versions or with two sets of options is two rows, in
/// two groups, of the week in which it was first tallied at all. With a machine, all of them must
/// have been tallied on it as it is now. The file is only read. Throws std::runtime_error.
HistoryReport read_history(const std::string& file, std::int64_t since_s,
                           const std::vector<std::string>& paths, const AuditOptions& options,
                           const Machine* machine = nullptr);

/// For people: the `most` worst rows (0: all).
std::string to_text(const AuditReport& report, std::size_t most = 20);
/// The same, and the weeks.
std::string to_text(const HistoryReport& report, std::size_t most = 20);
/// Schema "platetally.audit/1".
std::string to_json(const AuditReport& report);
/// The same schema, and the weeks.
std::string to_json(const HistoryReport& report);
/// Plates and errors, one a row.
std::string to_csv(const AuditReport& report);

/// The same two in parts, for rows that come one by one: head, every row, tail.
std::string json_head(const AuditReport& report);
/// See json_head().
std::string json_row(const AuditRow& row, bool is_first);
/// See json_head().
std::string json_tail(const AuditReport& report, bool has_rows);
/// See json_head().
std::string csv_head();
/// See json_head().
std::string csv_row(const AuditRow& row);
/// See json_head().
std::string csv_tail(const AuditReport& report);
/// One self-contained page: nothing fetched; names are escaped.
std::string to_html(const AuditReport& report, const PageStamp& stamp = {});

/// "2026-11-25", or the same with THH:MM:SS, as seconds since 1970 in UTC; nothing if it is
/// neither.
std::optional<std::int64_t> parse_utc(std::string_view text);

}  // namespace platetally
