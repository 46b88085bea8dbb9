/// @file
/// A year of plates on two machines: does the dearer one pay, and when?
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "platetally/made_from.hpp"
#include "platetally/page_stamp.hpp"
#include "platetally/range.hpp"
#include "platetally/variant.hpp"

namespace platetally {

/// One plate on one machine, running costs only (the machine's price is counted apart).
struct PlateRun {
  Range hours;                 ///< of machine time
  double waste_g = 0.0;        ///< purge and start-up
  double energy_kwh = 0.0;     ///< from the wall
  double filament_cost = 0.0;  ///< part and waste
  double waste_cost = 0.0;     ///< of that, waste
  double energy_cost = 0.0;    ///< at the prices given
  double hourly_cost = 0.0;    ///< maintenance
  double other_cost = 0.0;     ///< labour, failures
  /// Adds a share of another run.
  void add(const PlateRun& run, double share) {
    hours += share * run.hours;
    waste_g += share * run.waste_g;
    energy_kwh += share * run.energy_kwh;
    filament_cost += share * run.filament_cost;
    waste_cost += share * run.waste_cost;
    energy_cost += share * run.energy_cost;
    hourly_cost += share * run.hourly_cost;
    other_cost += share * run.other_cost;
  }
};

/// A plate that is printed again and again.
struct PaybackPlate {
  std::string name;              ///< for the report
  double weekly = 0.0;           ///< how often; 0 .. 10000
  std::array<PlateRun, 2> runs;  ///< on the first and the second machine
};

/// Half widths of what is uncertain, as shares: 0.2 is 20 % up and down. 0 .. 1, so that no figure
/// turns negative.
struct PaybackSpread {
  double plates = 0.2;           ///< how many are printed
  double filament_price = 0.15;  ///< of a kilogram
  double energy_price = 0.3;     ///< of a kilowatt-hour
  double waste = 0.1;            ///< of purged grams, on each machine apart
};

/// A year of plates, two machines, and what money costs.
struct PaybackInput {
  std::array<std::string, 2> machines;  ///< their names
  std::array<double, 2> price{};        ///< of one machine
  std::string currency;                 ///< a word for the reports; may be empty
  /// Plates that a machine cannot print as they are: then nothing is said to pay.
  std::array<std::vector<std::string>, 2> cannot_print;
  double uptime = 0.5;  ///< share of a year's 8,760 hours that a machine prints; > 0 .. 1
  double years = 5.0;   ///< 1 .. 50
  double rate = 0.05;   ///< discount a year; 0 .. 1
  std::vector<PaybackPlate> plates;  ///< of a week
  PaybackSpread spread;              ///< of what is uncertain
  std::uint64_t seed = 1;            ///< of the samples
  std::vector<std::string> notes;    ///< said in the report
  MadeFrom made_from;                ///< plates, machines, and the file by its hash
};

/// A year of the plates on one machine.
struct YearOnMachine {
  double hours_needed = 0.0;     ///< for the plates
  double hours_available = 0.0;  ///< of one machine
  int machines = 1;              ///< that the hours ask for
  double waste_kg = 0.0;         ///< purge and start-up
  double energy_kwh = 0.0;       ///< from the wall
  double running_cost = 0.0;     ///< all but the price of the machines
  double price = 0.0;            ///< of all the machines that are needed
};

/// Years until the second choice has paid; low to high: an input at its ends, the others as
/// expected.
struct PaybackCause {
  std::string input;              ///< its name
  std::optional<double> at_low;   ///< absent: never
  std::optional<double> at_high;  ///< absent: never
};

/// Whether the second machine pays, and when.
struct PaybackReport {
  PaybackInput input;                      ///< as given
  std::array<YearOnMachine, 2> year;       ///< on the first and the second machine
  double extra_price = 0.0;                ///< second less first
  double saving_a_year = 0.0;              ///< first less second
  std::optional<double> simple_years;      ///< 0: it costs no more; absent: never
  std::optional<double> discounted_years;  ///< the same with the discount rate
  double net_present_value = 0.0;          ///< of choosing the second, over `years`
  /// 5 %, 50 %, 95 % of the simple payback in 2,000 samples; absent where so many never pay.
  std::array<std::optional<double>, 3> quantile_years;
  double never_share = 0.0;          ///< of the samples
  std::vector<PaybackCause> causes;  ///< widest first
};

/// Throws std::invalid_argument, with one line, for an input without sense.
PaybackReport plan_payback(const PaybackInput& input);

/// Reads a payback file (docs/payback-file.md) and compares each of its plates on its two machines,
/// the first of which is the one that the plates were sliced for; what is otherwise
/// (AnalyzeOptions) holds for all of them. Paths are relative to the file. Throws
/// std::invalid_argument with one line, "FILE:LINE:COLUMN: ..." where that is known.
PaybackInput read_payback(const std::string& path, const Variant& variant = {});

/// Kilograms a year that follow from grams and hours a cycle at an uptime.
double kg_a_year(double grams_a_cycle, double hours_a_cycle, double uptime);

/// For people. Ends with a newline.
std::string to_text(const PaybackReport& report);
/// Schema "platetally.payback/1".
std::string to_json(const PaybackReport& report);
/// One self-contained page: nothing fetched; names are escaped.
std::string to_html(const PaybackReport& report, const PageStamp& stamp = {});

}  // namespace platetally
