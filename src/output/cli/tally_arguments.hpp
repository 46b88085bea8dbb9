// What the user asks of `tally`, as given and as understood.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "output/cli/variant_options.hpp"
#include "platetally/advice.hpp"
#include "platetally/machine.hpp"
#include "platetally/material.hpp"
#include "platetally/prices.hpp"
#include "platetally/report.hpp"

namespace platetally::cli {

struct TallyArguments {
  std::string plate;
  std::string member;
  std::string machine;
  std::string materials;
  std::string colours;
  std::string prices;
  std::string book;
  std::string door;
  std::string format = "text";
  std::string date;
  std::string output;
  std::string picture;  ///< empty: none
  std::optional<double> picture_at_mm;
  std::vector<std::string> get;
  std::vector<std::string> limits;
  std::vector<std::string> beside;
  std::string colour = "auto";
  std::string value;    ///< empty: the usual
  std::string require;  ///< empty: nothing is
  VariantArguments what_if;
  std::optional<double> start_bed_c;
  std::string start;    ///< empty: no clock
  std::string reserve;  ///< empty: that of the prices
  int copies = 1;
  int threads = 2;
  bool json = false;
  bool list_keys = false;
  bool json_schema = false;
  bool progress = false;
  bool no_progress = false;
  bool verbose = false;
  bool all = false;
  bool partial = false;
  bool strict = false;
  bool full = false;
  bool objects = false;
};

/// "0=black,1=#f0c814": by tool number, empty where none is given. Throws UsageError.
std::vector<std::string> parse_colours(const std::string& text, const Machine& machine);

/// Empty for an empty path. Throws RunError, naming line and column, for a file with faults.
std::vector<Material> load_materials_argument(const std::string& path);

/// Nothing for an empty path. Throws RunError, naming line and column, for a file with faults.
std::optional<Prices> load_prices_argument(const std::string& path);

/// "5%" or "0.05". Throws UsageError.
double parse_reserve(const std::string& text);

/// "purge_g=50". Throws UsageError.
std::pair<std::string, double> parse_limit(const std::string& text);

/// --value. Throws UsageError for money without prices.
std::optional<Aim> parse_value(const std::string& word, bool has_prices);

/// Throws UsageError for a key that no plate can have.
void require_key(const std::string& key);

}  // namespace platetally::cli
