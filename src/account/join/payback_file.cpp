// A payback file: machines, prices, and plates that are tallied on both machines.
#include <fmt/format.h>

#include <array>
#include <cmath>
#include <filesystem>
#include <stdexcept>
#include <utility>

#include "account/join/made_from.hpp"
#include "base/toml_reader.hpp"
#include "base/units.hpp"
#include "platetally/analyze.hpp"
#include "platetally/colour.hpp"
#include "platetally/compare.hpp"
#include "platetally/payback.hpp"
#include "reading/source/folder.hpp"

namespace platetally {

namespace {

constexpr double kSameWithin = 0.05;
constexpr double kMost = 1e9;        // of any number of the file
constexpr double kMostSpread = 1.0;  // above it a figure would turn negative

/// What the file says, before anything that it names is looked at.
struct MachineEntry {
  std::string machine;
  double price = 0.0;
  toml::source_region at;
};
struct PlateEntry {
  std::string path;
  double weekly = 0.0;
  std::vector<std::string> colours;
  toml::source_region at;
};
struct Cycle {
  double grams = 0.0;
  double hours = 0.0;
  double kg_per_year = 0.0;
  toml::source_region at;
};
struct PaybackFile {
  std::string prices;
  std::array<MachineEntry, 2> machines;
  std::vector<PlateEntry> plates;
  std::optional<Cycle> cycle;
  toml::source_region at;
};

class FileReader {
 public:
  FileReader(PaybackFile& file, PaybackInput& input, std::vector<Diagnostic>& faults)
      : file_(file), input_(input), reader_(faults) {}

  void read(const toml::table& root);

 private:
  /// A key whose value is a table.
  template <typename Read>
  base::TomlKey table_key(const char* name, Read read, const char* required = nullptr) {
    return {name,
            [this, read](const toml::node& value, const std::string& path) {
              if (const toml::table* table = reader_.table(value, path))
                read(*table, path + ".");
            },
            required};
  }
  base::TomlKey machine_key(const char* name, MachineEntry& machine) {
    const auto read = [this, &machine](const toml::table& table, const std::string& path) {
      machine.at = table.source();
      reader_.keys(table, path,
                   {reader_.text_key("machine", machine.machine, "a machine"),
                    reader_.number_key("price", 0, kMost, machine.price, "a number")});
    };
    return table_key(name, read, "a table with machine and price");
  }
  void read_plates(const toml::node& value, const std::string& path);
  void read_colours(const toml::node& value, const std::string& path, PlateEntry& plate);
  void read_cycle(const toml::table& table, const std::string& path);

  PaybackFile& file_;
  PaybackInput& input_;
  base::TomlReader reader_;
};

void FileReader::read(const toml::table& root) {
  file_.at = root.source();
  base::TomlReader& r = reader_;
  PaybackInput& in = input_;
  const auto spread = [this](const toml::table& table, const std::string& path) {
    PaybackSpread& s = input_.spread;
    reader_.keys(table, path,
                 {reader_.number_key("plates", 0, kMostSpread, s.plates),
                  reader_.number_key("filament_price", 0, kMostSpread, s.filament_price),
                  reader_.number_key("energy_price", 0, kMostSpread, s.energy_price),
                  reader_.number_key("waste", 0, kMostSpread, s.waste)});
  };
  const auto seed = [this](const toml::node& value, const std::string& path) {
    if (const auto found = reader_.whole_number(value, path, 0, static_cast<std::int64_t>(kMost)))
      input_.seed = static_cast<std::uint64_t>(*found);
  };
  const auto plates = [this](const toml::node& value, const std::string& path) {
    read_plates(value, path);
  };
  const auto cycle = [this](const toml::table& table, const std::string& path) {
    read_cycle(table, path);
  };
  r.keys(root, "",
         {r.number_key("uptime", 0, kMost, in.uptime),
          r.number_key("years", 0, kMost, in.years),
          r.number_key("rate", 0, kMost, in.rate),
          {"seed", seed},
          r.text_key("prices", file_.prices),
          machine_key("first", file_.machines[0]),
          machine_key("second", file_.machines[1]),
          {"plates", plates, "tables in double brackets"},
          table_key("spread", spread),
          table_key("cycle", cycle)});
}

void FileReader::read_plates(const toml::node& value, const std::string& path) {
  for (const toml::table* row : reader_.tables(value, path)) {
    PlateEntry plate;
    plate.at = row->source();
    const auto colours = [&](const toml::node& list, const std::string& name) {
      read_colours(list, name, plate);
    };
    reader_.keys(*row, path + ".",
                 {reader_.text_key("path", plate.path, "a plate or a folder"),
                  reader_.number_key("weekly", 0, kMost, plate.weekly, "a number"),
                  {"colours", colours}});
    file_.plates.push_back(std::move(plate));
  }
}

void FileReader::read_colours(const toml::node& value, const std::string& path, PlateEntry& plate) {
  const toml::array* colours = value.as_array();
  if (colours == nullptr)
    return reader_.wrong_type(value, path, "texts in brackets");
  for (const toml::node& entry : *colours) {
    const std::string colour = reader_.text(entry, path).value_or("");
    if (const auto fault = fault_of_colour(colour); fault && !colour.empty())
      reader_.fault(entry.source(), "key-choice", fmt::format("{}: {}", path, *fault));
    plate.colours.push_back(colour);
  }
}

void FileReader::read_cycle(const toml::table& table, const std::string& path) {
  Cycle cycle;
  cycle.at = table.source();
  reader_.keys(table, path,
               {reader_.number_key("grams", 0, kMost, cycle.grams, "a number"),
                reader_.number_key("hours", 0, kMost, cycle.hours, "a number"),
                reader_.number_key("kg_per_year", 0, kMost, cycle.kg_per_year, "a number")});
  file_.cycle = cycle;
}

/// Tallies what the file names.
class Reader {
 public:
  Reader(std::string path, const Variant& variant) : path_(std::move(path)), variant_(variant) {}

  PaybackInput read();

 private:
  [[noreturn]] void fail(std::uint64_t line, std::uint64_t column,
                         const std::string& message) const {
    throw std::invalid_argument(line == 0
                                    ? fmt::format("{}: {}", path_, message)
                                    : fmt::format("{}:{}:{}: {}", path_, line, column, message));
  }
  [[noreturn]] void fail(const toml::source_region& at, const std::string& message) const {
    fail(at.begin.line, at.begin.column, message);
  }
  void read_file(PaybackInput& input);
  std::string beside(const std::string& path) const {
    return (std::filesystem::path(path_).parent_path() / path).string();
  }
  Machine machine_of(const MachineEntry& entry) const;
  Prices prices() const;
  void run_plates(const std::vector<Machine>& machines, const Prices& prices,
                  PaybackInput& input) const;
  void run_plate(const toml::source_region& at, const std::string& path,
                 const std::vector<Machine>& machines, CompareOptions options, PaybackPlate& plate,
                 PaybackInput& input) const;
  void run_folder(const toml::source_region& at, const std::vector<Machine>& machines,
                  const CompareOptions& options, PaybackPlate& folder, PaybackInput& input) const;
  void check_cycle(PaybackInput& input) const;

  std::string path_;
  const Variant& variant_;
  PaybackFile file_;
};

void Reader::read_file(PaybackInput& input) {
  std::vector<Diagnostic> faults;
  const auto root = base::load_toml(path_, "payback", faults);
  if (root)
    FileReader(file_, input, faults).read(*root);
  if (!root && faults.front().code == "file-unreadable")
    throw std::invalid_argument(faults.front().message);
  if (!faults.empty())
    fail(faults.front().line, faults.front().column, faults.front().message);
}

Machine Reader::machine_of(const MachineEntry& entry) const {
  const bool is_file = entry.machine.find(".toml") != std::string::npos;
  MachineLoad load = load_machine(is_file ? beside(entry.machine) : entry.machine);
  if (!load.ok())
    fail(entry.at,
         fmt::format("machine '{}': {}", entry.machine, load.diagnostics.front().message));
  return std::move(load).machine();
}

Prices Reader::prices() const {
  Prices prices;
  if (!file_.prices.empty()) {
    PricesLoad load = load_prices(beside(file_.prices));
    if (!load.ok())
      fail(file_.at, fmt::format("{}: {}", file_.prices, load.diagnostics.front().message));
    prices = std::move(load.prices);
  }
  prices.machine_price.reset();  // the machines' prices are counted once, not by the hour
  return prices;
}

PlateRun run_of(const ComparedMachine& compared) {
  const Totals& totals = compared.account.totals;
  const PlateCost& cost = *compared.account.cost;
  PlateRun run;
  run.hours = (1.0 / base::kSecondsPerHour) * totals.time;
  run.waste_g = totals.purge_g + totals.start_up_g;
  run.energy_kwh = base::kwh_from_wh(totals.energy_wh);
  run.filament_cost = cost.part_filament + cost.purge_filament;
  run.waste_cost = cost.purge_filament;
  run.energy_cost = cost.energy;
  run.hourly_cost = cost.machine;
  run.other_cost = cost.labour + cost.failures + cost.drying + cost.wear;
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
      input.made_from.add_inputs_of(compared.account.made_from);
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

void Reader::run_plates(const std::vector<Machine>& machines, const Prices& prices,
                        PaybackInput& input) const {
  if (file_.plates.empty())
    fail(file_.at, "expected [[plates]]");
  for (const PlateEntry& entry : file_.plates) {
    CompareOptions options;
    options.prices = prices;
    options.analyze.tool_colours = entry.colours;
    options.analyze.variant = variant_;
    PaybackPlate plate;
    plate.name = entry.path;
    plate.weekly = entry.weekly;
    std::error_code error;
    if (std::filesystem::is_directory(beside(plate.name), error))
      run_folder(entry.at, machines, options, plate, input);
    else
      run_plate(entry.at, beside(plate.name), machines, options, plate, input);
    input.plates.push_back(std::move(plate));
  }
}

/// Grams and hours a cycle and kilograms a year, all three stated, have to agree with the uptime.
void Reader::check_cycle(PaybackInput& input) const {
  if (!file_.cycle)
    return;
  const auto& [grams, hours, stated_kg, at] = *file_.cycle;
  if (hours <= 0.0 || stated_kg <= 0.0)
    fail(at, "cycle: expected hours and kg_per_year above 0");
  const double kg = kg_a_year(grams, hours, input.uptime);
  if (std::abs(kg - stated_kg) > kSameWithin * stated_kg)
    input.notes.push_back(fmt::format(
        "the cycle does not agree with itself: {:.0f} g every {:.3g} h at an uptime of {:.0f} % "
        "are {:.0f} kg a year, not {:.0f}; that would take {:.1f} h a cycle",
        grams, hours, 100.0 * input.uptime, kg, stated_kg, hours * kg / stated_kg));
}

PaybackInput Reader::read() {
  PaybackInput input;
  read_file(input);
  std::vector<Machine> machines;
  for (std::size_t i = 0; i < 2; ++i) {
    machines.push_back(machine_of(file_.machines[i]));
    input.machines[i] = machines[i].name;
    input.price[i] = file_.machines[i].price;
  }
  const Prices shared = prices();
  input.currency = shared.currency;
  run_plates(machines, shared, input);
  check_cycle(input);
  input.made_from.set("payback_file", content_hash(path_).value_or(""));
  input.made_from.set("prices", prices_hash(shared));
  if (!variant_.is_as_it_is())
    input.made_from.set("variant", exact_text(variant_));
  return input;
}

}  // namespace

PaybackInput read_payback(const std::string& path, const Variant& variant) {
  return Reader(path, variant).read();
}

}  // namespace platetally
