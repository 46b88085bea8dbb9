// A payback file: machines, prices, and plates that are tallied on both machines.
#include <fmt/format.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <stdexcept>

#include "base/toml.hpp"
#include "platetally/analyze.hpp"
#include "platetally/compare.hpp"
#include "platetally/payback.hpp"
#include "reading/source/folder.hpp"

namespace platetally {

namespace {

constexpr std::size_t kMostText = 1 << 20;
constexpr std::ptrdiff_t kMostBrackets = 5000;
constexpr double kSameWithin = 0.05;

class Reader {
 public:
  explicit Reader(std::string path) : path_(std::move(path)) {}

  PaybackInput read();

 private:
  [[noreturn]] void fail(const toml::source_region& at, const std::string& message) const {
    throw std::invalid_argument(
        fmt::format("{}:{}:{}: {}", path_, at.begin.line, at.begin.column, message));
  }
  toml::table parsed() const;
  void only(const toml::table& table, const char* name,
            std::initializer_list<std::string_view> known) const;
  double number(const toml::table& table, const char* key, std::optional<double> otherwise) const;
  std::string text(const toml::table& table, const char* key, bool required) const;
  const toml::table& part(const toml::table& root, const char* name) const;
  std::string beside(const std::string& path) const {
    return (std::filesystem::path(path_).parent_path() / path).string();
  }
  Machine machine_of(const toml::table& table) const;
  void read_plates(const toml::table& root, const std::vector<Machine>& machines,
                   const Prices& prices, PaybackInput& input) const;
  void run_plate(const toml::source_region& at, const std::string& path,
                 const std::vector<Machine>& machines, CompareOptions options, PaybackPlate& plate,
                 PaybackInput& input) const;
  void run_folder(const toml::source_region& at, const std::vector<Machine>& machines,
                  const CompareOptions& options, PaybackPlate& folder, PaybackInput& input) const;
  void check_cycle(const toml::table& root, PaybackInput& input) const;

  std::string path_;
};

toml::table Reader::parsed() const {
  std::ifstream file(path_, std::ios::binary);
  if (!file)
    throw std::invalid_argument(fmt::format("{}: cannot be read", path_));
  std::ostringstream bytes;
  bytes << file.rdbuf();
  const std::string content = bytes.str();
  if (content.size() > kMostText || std::count(content.begin(), content.end(), '[') > kMostBrackets)
    throw std::invalid_argument(
        fmt::format("{}: more than 1 MiB, or more brackets than any payback file has", path_));
  toml::parse_result result = toml::parse(content, path_);
  if (!result)
    fail(result.error().source(), std::string(result.error().description()));
  return std::move(result).table();
}

void Reader::only(const toml::table& table, const char* name,
                  std::initializer_list<std::string_view> known) const {
  for (const auto& [key, node] : table)
    if (std::find(known.begin(), known.end(), key.str()) == known.end())
      fail(key.source(), fmt::format("{}{}: no such key; expected one of {}", name, key.str(),
                                     fmt::join(known, ", ")));
}

double Reader::number(const toml::table& table, const char* key,
                      std::optional<double> otherwise) const {
  const toml::node* node = table.get(key);
  if (node == nullptr && otherwise)
    return *otherwise;
  if (node == nullptr)
    fail(table.source(), fmt::format("expected a number '{}'", key));
  const auto value = node->is_number() ? node->value<double>() : std::nullopt;
  if (!value || !std::isfinite(*value) || *value < 0.0 || *value > 1e9)
    fail(node->source(), fmt::format("{}: expected a number from 0 to 1e9", key));
  return *value;
}

std::string Reader::text(const toml::table& table, const char* key, bool required) const {
  const toml::node* node = table.get(key);
  if (node == nullptr && !required)
    return "";
  const auto value = node == nullptr ? std::nullopt : node->value_exact<std::string>();
  if (!value)
    fail(node == nullptr ? table.source() : node->source(),
         fmt::format("expected a text '{}'", key));
  return *value;
}

const toml::table& Reader::part(const toml::table& root, const char* name) const {
  const toml::node* node = root.get(name);
  if (node == nullptr || !node->is_table())
    fail(node == nullptr ? root.source() : node->source(),
         fmt::format("expected a table [{}]", name));
  return *node->as_table();
}

Machine Reader::machine_of(const toml::table& table) const {
  only(table, "", {"machine", "price"});
  const std::string name = text(table, "machine", true);
  const bool is_file = name.find(".toml") != std::string::npos;
  MachineLoad load = load_machine(is_file ? beside(name) : name);
  if (!load.ok())
    fail(table.source(), fmt::format("machine '{}': {}", name, load.diagnostics.front().message));
  return std::move(load.machine);
}

PlateRun run_of(const ComparedMachine& compared) {
  const Totals& totals = compared.account.totals;
  const PlateCost& cost = *compared.account.cost;
  constexpr double kSecondsPerHour = 3600.0;
  PlateRun run;
  run.hours = (1.0 / kSecondsPerHour) * totals.time;
  run.waste_g = totals.purge_g + totals.start_up_g;
  run.energy_kwh = totals.energy_wh / 1000.0;
  run.filament_cost = cost.part_filament + cost.purge_filament;
  run.energy_cost = cost.energy;
  run.hourly_cost = cost.machine;
  run.other_cost = cost.labour + cost.failures;
  return run;
}

void Reader::run_plate(const toml::source_region& at, const std::string& path,
                       const std::vector<Machine>& machines, CompareOptions options,
                       PaybackPlate& plate, PaybackInput& input) const {
  std::vector<std::string>& notes = input.notes;
  options.analyze.display_path = plate.name;
  try {
    const Comparison comparison = compare_plate(path, machines, options);
    for (std::size_t i = 0; i < 2; ++i) {
      plate.runs[i] = run_of(comparison.machines[i]);
      if (comparison.machines[i].cannot())
        input.cannot_print[i].push_back(plate.name);
    }
    for (const ComparedMachine& compared : comparison.machines)
      for (const std::string& misfit : compared.misfits)
        notes.push_back(fmt::format("{} does not fit {}: {}", plate.name, compared.name, misfit));
  } catch (const UnreadablePlate& error) {
    fail(at, fmt::format("{}: {}", plate.name, error.what()));
  }
}

/// A folder stands for its mean plate. One that cannot be read is said and left out of the mean.
void Reader::run_folder(const toml::source_region& at, const std::vector<Machine>& machines,
                        const CompareOptions& options, PaybackPlate& folder,
                        PaybackInput& input) const {
  std::vector<std::string>& notes = input.notes;
  const std::string root = beside(folder.name);
  const source::FoundPlates found = source::find_plates({root}, {});
  for (const source::FolderFault& fault : found.faults)
    notes.push_back(fmt::format("{}: {}", fault.path, fault.message));
  std::vector<std::array<PlateRun, 2>> runs;
  for (const std::string& path : found.paths) {
    PaybackPlate plate;
    plate.name = folder.name + path.substr(root.size());
    try {
      run_plate(at, path, machines, options, plate, input);
      runs.push_back(plate.runs);
    } catch (const std::invalid_argument& error) {
      notes.push_back(fmt::format("left out: {}", error.what()));
    }
  }
  if (runs.empty())
    fail(at, fmt::format("{}: holds no plate that can be read", folder.name));
  for (const std::array<PlateRun, 2>& run : runs)
    for (std::size_t i = 0; i < 2; ++i)
      folder.runs[i].add(run[i], 1.0 / static_cast<double>(runs.size()));
  folder.name += fmt::format(" ({} plates, each as often)", runs.size());
}

void Reader::read_plates(const toml::table& root, const std::vector<Machine>& machines,
                         const Prices& prices, PaybackInput& input) const {
  const toml::node* node = root.get("plates");
  const toml::array* rows = node == nullptr ? nullptr : node->as_array();
  if (rows == nullptr || rows->empty())
    fail(node == nullptr ? root.source() : node->source(), "expected [[plates]]");
  for (const toml::node& entry : *rows) {
    const toml::table* row = entry.as_table();
    if (row == nullptr)
      fail(entry.source(), "plates: expected tables in double brackets");
    only(*row, "plates.", {"path", "weekly", "colours"});
    CompareOptions options;
    options.prices = prices;
    if (const toml::array* colours = (*row)["colours"].as_array())
      for (const toml::node& colour : *colours)
        options.analyze.tool_colours.push_back(colour.value<std::string>().value_or(""));
    PaybackPlate plate;
    plate.name = text(*row, "path", true);
    plate.weekly = number(*row, "weekly", std::nullopt);
    std::error_code error;
    if (std::filesystem::is_directory(beside(plate.name), error))
      run_folder(row->source(), machines, options, plate, input);
    else
      run_plate(row->source(), beside(plate.name), machines, options, plate, input);
    input.plates.push_back(std::move(plate));
  }
}

/// Grams and hours a cycle and kilograms a year, all three stated, have to agree with the uptime.
void Reader::check_cycle(const toml::table& root, PaybackInput& input) const {
  if (!root.contains("cycle"))
    return;
  const toml::table& cycle = part(root, "cycle");
  only(cycle, "cycle.", {"grams", "hours", "kg_per_year"});
  const double grams = number(cycle, "grams", std::nullopt);
  const double hours = number(cycle, "hours", std::nullopt);
  const double stated_kg = number(cycle, "kg_per_year", std::nullopt);
  if (hours <= 0.0 || stated_kg <= 0.0)
    fail(cycle.source(), "cycle: expected hours and kg_per_year above 0");
  const double kg = kg_a_year(grams, hours, input.uptime);
  if (std::abs(kg - stated_kg) > kSameWithin * stated_kg)
    input.notes.push_back(fmt::format(
        "the cycle does not agree with itself: {:.0f} g every {:.3g} h at an uptime of {:.0f} % "
        "are {:.0f} kg a year, not {:.0f}; that would take {:.1f} h a cycle",
        grams, hours, 100.0 * input.uptime, kg, stated_kg, hours * kg / stated_kg));
}

PaybackInput Reader::read() {
  const toml::table root = parsed();
  only(root, "",
       {"uptime", "years", "rate", "seed", "prices", "first", "second", "plates", "spread",
        "cycle"});
  PaybackInput input;
  input.uptime = number(root, "uptime", input.uptime);
  input.years = number(root, "years", input.years);
  input.rate = number(root, "rate", input.rate);
  input.seed = static_cast<std::uint64_t>(number(root, "seed", 1.0));
  if (root.contains("spread")) {
    const toml::table& spread = part(root, "spread");
    only(spread, "spread.", {"plates", "filament_price", "energy_price", "waste"});
    input.spread = {number(spread, "plates", input.spread.plates),
                    number(spread, "filament_price", input.spread.filament_price),
                    number(spread, "energy_price", input.spread.energy_price),
                    number(spread, "waste", input.spread.waste)};
  }
  std::vector<Machine> machines;
  for (const char* name : {"first", "second"}) {
    const toml::table& table = part(root, name);
    machines.push_back(machine_of(table));
    input.machines[machines.size() - 1] = machines.back().name;
    input.price[machines.size() - 1] = number(table, "price", std::nullopt);
  }
  Prices prices;
  if (const std::string file = text(root, "prices", false); !file.empty()) {
    PricesLoad load = load_prices(beside(file));
    if (!load.ok())
      fail(root.source(), fmt::format("{}: {}", file, load.diagnostics.front().message));
    prices = std::move(load.prices);
  }
  input.currency = prices.currency;
  prices.machine_price.reset();  // the machines' prices are counted once, not by the hour
  read_plates(root, machines, prices, input);
  check_cycle(root, input);
  return input;
}

}  // namespace

PaybackInput read_payback(const std::string& path) {
  return Reader(path).read();
}

}  // namespace platetally
