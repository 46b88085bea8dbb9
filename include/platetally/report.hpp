/// @file
/// An account as text, JSON or CSV, and single values of it by key.
///
/// Every key, unit and title comes from one table (src/output/report/fields.cpp); docs/json.md
/// lists it.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "platetally/advice.hpp"
#include "platetally/diagnostic.hpp"
#include "platetally/made_from.hpp"

namespace platetally {

struct Account;

/// The name under which the JSON states its form; a change that breaks readers raises the number.
inline constexpr std::string_view kTallySchema = "platetally.tally/1";

/// The member "made_from" of every report: an object on one line.
std::string to_json(const MadeFrom& made_from);

/// JSON Schema (2020-12) of to_json(Account), from the same table.
std::string tally_json_schema();

/// JSON Schema (2020-12) of a report: "tally", "tallies" (of one container), "order", "compare",
/// "payback", "audit", "audit-line", "calibrate", "calibrate-pairs", "reconcile", "circuit",
/// "plan". Empty for any other name.
std::string json_schema(std::string_view report);
/// Those names.
std::vector<std::string> json_schema_names();

/// How a report for people looks.
struct TextOptions {
  bool colour = false;           ///< escape sequences; meaning is never in them alone
  int width = 100;               ///< columns to wrap prose at; at least 60
  bool all_diagnostics = false;  ///< every diagnostic and every word that is not accounted for
  bool verbose = false;          ///< adds the residual of the energy book
  bool full = false;             ///< all tables, instead of one screen of at most 40 lines
  std::optional<Aim> aim{};      ///< that findings are shown by; absent: money, or time without it
};

/// All of the account, keys in a fixed order, UTF-8, shortest numbers that read back exactly.
/// A value that is not known (or not finite) is null. Ends with a newline.
std::string to_json(const Account& account);

/// For people. Ends with a newline.
std::string to_text(const Account& account, const TextOptions& options = {});

/// The layers, one a row, with a heading row; nested keys are joined by a dot.
std::string to_csv(const Account& account);
/// The same of the objects; the heading row alone where none were asked for.
std::string objects_to_csv(const Account& account);

/// One diagnostic as "path:line:column: code (severity): message"; then, each on a line of its own,
/// "line:" and the text with ">>" at the place, "mend:" and what can be done, and how many more.
std::string to_text(const Diagnostic& diagnostic, std::string_view path,
                    const TextOptions& options = {});

/// One value that a report holds.
struct FieldInfo {
  std::string key;    ///< "totals.energy_wh"; a part in capitals stands for a number or name:
                      ///< "tools.T.part_g", "bed_zones.ROW.COLUMN.peak_c", "layers.INDEX.z_mm"
  std::string unit;   ///< "g"; "" for counts, names and lists
  std::string title;  ///< a few words
  std::string note;   ///< what it is made of; may be empty
};

/// Every value of a report, in the order of the JSON.
std::vector<FieldInfo> list_fields();

/// Why `key` can never name a value, with the nearest key that does; nothing if it can.
/// Keys of totals may go without "totals.".
std::optional<std::string> fault_of_key(std::string_view key);

/// The same for a key that is to have a limit: it must also name a number.
std::optional<std::string> fault_of_limit(std::string_view key);

/// The value as the JSON would show it, strings without quotes. Nothing where the key is unknown
/// or this plate has no such tool, pair, zone, layer, finding, diagnostic or word.
std::optional<std::string> get_field(const Account& account, std::string_view key);

/// The same as a number. Nothing also where it is no number or not known.
std::optional<double> get_number(const Account& account, std::string_view key);

/// Rows of "layers", "tools", ... that the account has; 0 for an unknown name.
std::size_t count_rows(const Account& account, std::string_view section);

/// One number of every row, key without the row: "layers.purge_g", "layers.time_by.print". NaN
/// where not known; nothing for a key that is no column of numbers.
std::optional<std::vector<double>> get_column(const Account& account, std::string_view key);

/// A limit that the account exceeds.
struct LimitBreach {
  std::string key;     ///< as asked
  double value = 0.0;  ///< of the account
  double limit = 0.0;  ///< that it exceeds
};

/// What came of holding an account against limits.
struct LimitCheck {
  std::vector<LimitBreach> breaches;  ///< in the order of the limits
  std::vector<std::string> errors;    ///< limits that could not be checked, one sentence each
  bool partial = false;  ///< the account is of a part of its plate: no limit passes on it
};

/// Compares `account` with upper limits, where there are any. A tool, pair, layer, ... that this
/// plate has not counts as zero; a value that is not known cannot be checked and is an error.
LimitCheck check_limits(const Account& account,
                        const std::vector<std::pair<std::string, double>>& limits);

}  // namespace platetally
