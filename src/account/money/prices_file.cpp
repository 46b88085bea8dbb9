// Prices from TOML.
#include <algorithm>
#include <cstdio>

#include "base/toml_reader.hpp"
#include "base/units.hpp"
#include "platetally/prices.hpp"

namespace platetally {

namespace {

constexpr std::size_t kHoursADay = 24;
constexpr std::int64_t kLastTool = 31;

class Reader {
 public:
  explicit Reader(PricesLoad& load) : prices_(load.prices), reader_(load.diagnostics) {}

  void read(const toml::table& root) {
    Prices& p = prices_;
    base::TomlReader& r = reader_;
    r.keys(root, "",
           {r.text_key("currency", p.currency),
            r.number_key("filament_per_kg", 0, 1e5, p.filament_per_kg),
            r.number_key("spool_remainder_share", 0, 0.9, p.spool_remainder_share),
            r.number_key("energy_per_kwh", -10, 1000, p.energy_per_kwh),
            {"energy_per_kwh_by_hour",
             [this](const toml::node& value, const std::string& path) { hours(value, path); }},
            r.number_key("start_hour", 0, 24, p.start_hour),
            r.number_key("machine_price", 0, 1e7, p.machine_price),
            r.number_key("machine_salvage", 0, 1e7, p.machine_salvage),
            r.number_key("machine_life_h", 1, 1e6, p.machine_life_h),
            r.number_key("maintenance_per_h", 0, 1e4, p.maintenance_per_h),
            r.number_key("labour_per_plate", 0, 1e5, p.labour_per_plate),
            r.number_key("labour_per_intervention", 0, 1e5, p.labour_per_intervention),
            r.number_key("failure_per_swap", 0, 0.5, p.failure_per_swap),
            r.number_key("failure_per_h", 0, 10, p.failure_per_h),
            r.number_key("carbon_g_per_kwh", 0, 5000, p.carbon_g_per_kwh),
            r.number_key("drying_per_kg", 0, 1e5, p.drying_per_kg),
            r.number_key("wear_per_kg", 0, 1e5, p.wear_per_kg),
            r.number_key("spool_g", 1, 1e5, p.spool_g),
            r.number_key("reserve_share", 0, 1, p.reserve_share),
            {"attended",
             [this](const toml::node& value, const std::string& path) { attended(value, path); }},
            {"filament",
             [this](const toml::node& value, const std::string& path) { filament(value, path); }}});
  }

 private:
  void hours(const toml::node& value, const std::string& path) {
    const toml::array* hours = value.as_array();
    if (hours == nullptr || hours->size() != kHoursADay)
      return reader_.wrong_type(value, path, "24 numbers, from midnight on");
    for (const toml::node& hour : *hours)
      if (const auto price = reader_.number(hour, path, -10, 1000))
        prices_.energy_per_kwh_by_hour.push_back(*price);
  }

  /// "08:00-18:00"
  void attended(const toml::node& value, const std::string& path) {
    const std::string text = reader_.text(value, path).value_or("");
    int from_h = 0, from_min = 0, to_h = 0, to_min = 0, read = 0;
    const bool fits = std::sscanf(text.c_str(), "%2d:%2d-%2d:%2d%n", &from_h, &from_min, &to_h,
                                  &to_min, &read) == 4 &&
                      static_cast<std::size_t>(read) == text.size() && from_h >= 0 &&
                      from_h <= 24 && to_h >= 0 && to_h <= 24 && from_min >= 0 && from_min < 60 &&
                      to_min >= 0 && to_min < 60;
    if (!fits)
      return reader_.fault(value.source(), "key-type",
                           path + ": expected hours such as \"08:00-18:00\"");
    prices_.attended = {from_h + from_min / base::kMinutesPerHour,
                        to_h + to_min / base::kMinutesPerHour};
  }

  void filament(const toml::node& value, const std::string& path) {
    for (const toml::table* row : reader_.tables(value, path)) {
      std::optional<std::int64_t> tool;
      std::optional<double> per_kg;
      const auto read_tool = [&](const toml::node& number, const std::string& name) {
        tool = reader_.whole_number(number, name, 0, kLastTool);
      };
      reader_.keys(*row, path + ".",
                   {{"tool", read_tool, "0 to 31"},
                    reader_.number_key("per_kg", 0, 1e5, per_kg, "a price")});
      if (!tool || !per_kg)
        continue;
      const auto index = static_cast<std::size_t>(*tool);
      prices_.tool_per_kg.resize(std::max(prices_.tool_per_kg.size(), index + 1));
      prices_.tool_per_kg[index] = *per_kg;
    }
  }

  Prices& prices_;
  base::TomlReader reader_;
};

}  // namespace

bool PricesLoad::ok() const {
  return diagnostics.empty();
}

PricesLoad parse_prices(std::string_view toml_text, const std::string& origin) {
  PricesLoad load;
  if (const auto root = base::parse_toml(toml_text, origin, "prices", load.diagnostics))
    Reader(load).read(*root);
  return load;
}

PricesLoad load_prices(const std::string& path) {
  PricesLoad load;
  if (const auto root = base::load_toml(path, "prices", load.diagnostics))
    Reader(load).read(*root);
  return load;
}

}  // namespace platetally
