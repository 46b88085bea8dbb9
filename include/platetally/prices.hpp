/// @file
/// What things cost, as the user states it: nothing is built in. docs/prices-file.md lists every
/// key.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "platetally/diagnostic.hpp"

namespace platetally {

struct Account;
struct PlateCost;

/// Hours of every day, by the wall clock; the day's end is 24. From above to: over midnight.
struct AttendedHours {
  double from_h = 0.0;  ///< 0 .. 24
  double to_h = 24.0;   ///< 0 .. 24
  /// Member by member.
  bool operator==(const AttendedHours&) const = default;
};

/// Absent: not stated, and then not counted, which the report says.
struct Prices {
  std::string currency = "money";                  ///< a word for the reports
  std::optional<double> filament_per_kg;           ///< of tools without a price of their own
  std::vector<std::optional<double>> tool_per_kg;  ///< by tool number
  double spool_remainder_share = 0.0;              ///< of every spool that cannot be used; 0 .. 0.9
  std::optional<double> energy_per_kwh;            ///< at any hour
  std::vector<double> energy_per_kwh_by_hour;      ///< 24, from midnight; empty: the flat price
  double start_hour = 8.0;                         ///< when the plate starts; 0 .. 24
  std::optional<double> machine_price;             ///< when it is bought
  double machine_salvage = 0.0;                    ///< what it is still worth behind its life
  double machine_life_h = 5000.0;                  ///< > 0
  double maintenance_per_h = 0.0;                  ///< of printing
  double labour_per_plate = 0.0;                   ///< to start and clear it
  double labour_per_intervention = 0.0;            ///< a pause, a manual change, or a failure
  double failure_per_swap = 0.0;           ///< probability that a swap ends the plate; 0 .. 0.5
  double failure_per_h = 0.0;              ///< expected failures an hour of printing; 0 .. 10
  std::optional<double> carbon_g_per_kwh;  ///< of the local mains
  double drying_per_kg = 0.0;              ///< of filament, before it is printed
  double wear_per_kg = 0.0;                ///< of what goes through a nozzle
  std::optional<double> spool_g;           ///< of filament on a spool
  double reserve_share = 0.0;              ///< to have at hand above what is printed; 0 .. 1
  std::optional<AttendedHours> attended;   ///< when somebody is there
  /// Member by member.
  bool operator==(const Prices&) const = default;
};

/// Prices with what was said while reading them; usable only if no diagnostic is an error.
struct PricesLoad {
  Prices prices;                        ///< as far as they were read
  std::vector<Diagnostic> diagnostics;  ///< in the order of the text
  /// No diagnostic is an error.
  bool ok() const;
};

/// Reads prices from TOML text. Unknown keys are errors that name the nearest known key; every
/// error carries line and column. Never throws on bad text.
PricesLoad parse_prices(std::string_view toml_text, const std::string& origin);
/// The same from a file.
PricesLoad load_prices(const std::string& path);

/// `copies`: good parts that a plate yields.
/// Failures: an attempt fails with p = 1 - (1 - failure_per_swap)^swaps exp(-failure_per_h hours);
/// the expected number of failed attempts before a good one is p / (1 - p), and each is taken to
/// end halfway (assumed) and to need an intervention.
PlateCost cost_of_plate(const Account& account, const Prices& prices, int copies = 1);

/// What one more second of the machine costs, with what it draws in the mean.
double cost_per_s(const PlateCost& cost, double mean_power_w);

/// Puts what to have at hand of every tool's filament into the account: Prices::reserve_share and
/// spool_g.
void add_spools(Account& account, const Prices& prices);

/// Puts the cost into the account, what to have at hand of every filament, and the money that each
/// finding saves.
void add_prices(Account& account, const Prices& prices, int copies = 1);

}  // namespace platetally
