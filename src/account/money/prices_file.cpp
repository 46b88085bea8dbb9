// Prices from TOML.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <functional>
#include <sstream>

#include "base/toml.hpp"
#include "platetally/prices.hpp"

namespace platetally {

namespace {

constexpr std::size_t kMostText = 1 << 20;
constexpr std::size_t kHoursADay = 24;

struct Key {
  const char* name;
  double low;
  double high;
  std::function<void(Prices&, double)> set;
};

const std::vector<Key>& number_keys() {
  static const std::vector<Key> keys{
      {"filament_per_kg", 0, 1e5, [](Prices& p, double v) { p.filament_per_kg = v; }},
      {"spool_remainder_share", 0, 0.9, [](Prices& p, double v) { p.spool_remainder_share = v; }},
      {"energy_per_kwh", -10, 1000, [](Prices& p, double v) { p.energy_per_kwh = v; }},
      {"start_hour", 0, 24, [](Prices& p, double v) { p.start_hour = v; }},
      {"machine_price", 0, 1e7, [](Prices& p, double v) { p.machine_price = v; }},
      {"machine_salvage", 0, 1e7, [](Prices& p, double v) { p.machine_salvage = v; }},
      {"machine_life_h", 1, 1e6, [](Prices& p, double v) { p.machine_life_h = v; }},
      {"maintenance_per_h", 0, 1e4, [](Prices& p, double v) { p.maintenance_per_h = v; }},
      {"labour_per_plate", 0, 1e5, [](Prices& p, double v) { p.labour_per_plate = v; }},
      {"labour_per_intervention", 0, 1e5,
       [](Prices& p, double v) { p.labour_per_intervention = v; }},
      {"failure_per_swap", 0, 0.5, [](Prices& p, double v) { p.failure_per_swap = v; }},
      {"failure_per_h", 0, 10, [](Prices& p, double v) { p.failure_per_h = v; }},
      {"carbon_g_per_kwh", 0, 5000, [](Prices& p, double v) { p.carbon_g_per_kwh = v; }}};
  return keys;
}

class Reader {
 public:
  explicit Reader(PricesLoad& load) : load_(load) {}

  void fault(const toml::source_region& at, const char* code, std::string message) {
    load_.diagnostics.push_back(base::toml_fault(at, code, std::move(message)));
  }

  void read(const toml::table& root) {
    for (const auto& [key, node] : root) {
      const std::string name(key.str());
      const auto known = std::ranges::find(number_keys(), name, &Key::name);
      if (known != number_keys().end()) {
        if (const auto value = number(node, name, known->low, known->high))
          known->set(load_.prices, *value);
      } else if (name == "currency") {
        if (const auto text = node.value_exact<std::string>())
          load_.prices.currency = *text;
        else
          fault(node.source(), "key-type", "currency: expected a text such as \"EUR\"");
      } else if (name == "energy_per_kwh_by_hour") {
        read_hours(node);
      } else if (name == "filament") {
        read_filament(node);
      } else {
        fault(key.source(), "key-unknown",
              fmt::format("{}: no such key; expected one like '{}'", name, nearest(name)));
      }
    }
  }

 private:
  std::optional<double> number(const toml::node& node, const std::string& name, double low,
                               double high) {
    const auto value = node.value<double>();
    if (!value || !node.is_number()) {
      fault(node.source(), "key-type", fmt::format("{}: expected a number", name));
      return std::nullopt;
    }
    if (!std::isfinite(*value) || *value < low || *value > high) {
      fault(node.source(), "key-range",
            fmt::format("{}: found {}; expected {} to {}", name, *value, low, high));
      return std::nullopt;
    }
    return value;
  }

  void read_hours(const toml::node& node) {
    const toml::array* hours = node.as_array();
    if (hours == nullptr || hours->size() != kHoursADay)
      return fault(node.source(), "key-type",
                   "energy_per_kwh_by_hour: expected 24 numbers, from midnight on");
    for (const toml::node& hour : *hours)
      if (const auto value = number(hour, "energy_per_kwh_by_hour", -10, 1000))
        load_.prices.energy_per_kwh_by_hour.push_back(*value);
  }

  void read_filament(const toml::node& node) {
    const toml::array* rows = node.as_array();
    if (rows == nullptr)
      return fault(node.source(), "key-type", "filament: expected tables in double brackets");
    for (const toml::node& entry : *rows) {
      const toml::table* row = entry.as_table();
      const auto tool = row == nullptr ? std::nullopt : (*row)["tool"].value<std::int64_t>();
      const auto per_kg = row == nullptr ? std::nullopt : (*row)["per_kg"].value<double>();
      if (!tool || !per_kg || *tool < 0 || *tool > 31 || !(*per_kg >= 0.0 && *per_kg <= 1e5) ||
          row->size() != 2) {
        fault(entry.source(), "filament-row",
              "filament: expected a tool from 0 to 31 and its per_kg, and nothing else");
        continue;
      }
      auto& by_tool = load_.prices.tool_per_kg;
      by_tool.resize(std::max(by_tool.size(), static_cast<std::size_t>(*tool) + 1));
      by_tool[static_cast<std::size_t>(*tool)] = *per_kg;
    }
  }

  /// The known key that shares most letters in order from the front and the back.
  static std::string nearest(const std::string& name) {
    std::string best = "filament_per_kg";
    std::size_t most = 0;
    for (const Key& key : number_keys()) {
      const std::string candidate = key.name;
      std::size_t front = 0;
      while (front < std::min(name.size(), candidate.size()) && name[front] == candidate[front])
        ++front;
      std::size_t back = 0;
      while (back < std::min(name.size(), candidate.size()) - front &&
             name[name.size() - 1 - back] == candidate[candidate.size() - 1 - back])
        ++back;
      if (front + back > most) {
        most = front + back;
        best = candidate;
      }
    }
    return best;
  }

  PricesLoad& load_;
};

PricesLoad refused(const char* code, const toml::source_region& at, std::string message) {
  PricesLoad load;
  load.diagnostics.push_back(base::toml_fault(at, code, std::move(message)));
  return load;
}

}  // namespace

bool PricesLoad::ok() const {
  return diagnostics.empty();
}

PricesLoad parse_prices(std::string_view toml_text, const std::string& origin) {
  // Deep nesting only tests the parser's stack: no prices file nests at all.
  if (toml_text.size() > kMostText || std::ranges::count(toml_text, '[') > 200)
    return refused("prices-file-hostile", {},
                   "found more than 1 MiB, or more than 200 brackets; expected a prices file");
  const toml::parse_result parsed = toml::parse(toml_text, origin);
  if (!parsed)
    return refused("toml-syntax", parsed.error().source(),
                   std::string(parsed.error().description()));
  PricesLoad load;
  Reader(load).read(parsed.table());
  return load;
}

PricesLoad load_prices(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  if (!file)
    return refused("file-unreadable", {}, fmt::format("{}: cannot be read", path));
  std::ostringstream text;
  text << file.rdbuf();
  return parse_prices(text.str(), path);
}

}  // namespace platetally
