#include "output/report/audit_columns.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "output/report/fields.hpp"
#include "output/report/flat.hpp"
#include "output/report/strings.hpp"

namespace platetally::report {

namespace {

constexpr double kNotKnown = std::numeric_limits<double>::quiet_NaN();
constexpr std::string_view kUsual[] = {"purge_g", "time_s", "swaps", "part_g", "energy_wh", "cost"};

std::size_t place_of(std::string_view key) {
  const std::vector<std::string>& keys = audit_keys();
  const auto found = std::find(keys.begin(), keys.end(), key);
  return found == keys.end() ? AuditColumn::npos : static_cast<std::size_t>(found - keys.begin());
}

AuditColumn usual(std::string_view key) {
  const Field& about = field(section("totals"), key);
  return {std::string(about.title), std::string(about.unit), place_of(key)};
}

}  // namespace

std::vector<AuditColumn> audit_columns(const AuditReport& report) {
  std::vector<AuditColumn> columns;
  const std::string_view sort = report.sort;
  const bool of_totals = sort.starts_with("totals.");
  const std::string_view key = of_totals ? sort.substr(7) : sort;
  if (of_totals && place_of(key) != AuditColumn::npos)
    columns.push_back(usual(key));
  else
    columns.push_back({report.sort, "", AuditColumn::npos});
  for (const std::string_view other : kUsual) {
    const std::size_t place = place_of(other);
    if (other == key && of_totals)
      continue;
    const bool known =
        std::any_of(report.rows.begin(), report.rows.end(), [&](const AuditRow& row) {
          return place < row.totals.size() && !std::isnan(row.totals[place]);
        });
    if (known || other != "cost")
      columns.push_back(usual(other));
  }
  for (AuditColumn& column : columns)
    if (column.key == place_of("cost"))
      column.unit = report.currency;
  return columns;
}

double value_of(const AuditRow& row, const AuditColumn& column) {
  if (column.key == AuditColumn::npos)
    return row.sort_value.value_or(kNotKnown);
  return column.key < row.totals.size() ? row.totals[column.key] : kNotKnown;
}

std::vector<AuditSum> audit_sums(const AuditReport& report) {
  struct Named {
    std::string_view key;
    const char* meaning;
  };
  constexpr Named kSums[] = {
      {"time_s", "of machine time"}, {"swaps", "swaps"},      {"part_g", "part"},
      {"purge_g", "purge"},          {"energy_wh", "energy"}, {"cost", "cost"}};
  std::vector<AuditSum> sums;
  for (const auto& [key, meaning] : kSums) {
    const AuditColumn column = usual(key);
    const double sum = column.key < report.totals.size() ? report.totals[column.key] : kNotKnown;
    if (std::isnan(sum))
      continue;
    const std::string unit = key == "cost" ? printable(report.currency) : column.unit;
    const bool bare = unit.empty() || unit == "s";  // durations carry their units
    sums.push_back({fmt::format("{}{}", shown(sum, unit), bare ? "" : " " + unit), meaning});
  }
  return sums;
}

std::string shown(double value, std::string_view unit) {
  if (std::isnan(value))
    return "?";
  if (unit.empty() && value == std::floor(value))
    return fmt::format("{:.0f}", value);
  // What has none of these is money, or a figure that any key may name.
  constexpr std::string_view kRounded[] = {"s", "g", "Wh", "W"};
  return std::ranges::find(kRounded, unit) == std::end(kRounded) ? fmt::format("{:.2f}", value)
                                                                 : rounded(Value(value), unit);
}

std::string name_of(const AuditRow& row) {
  return printable(row.member.empty() ? row.path : fmt::format("{}:{}", row.path, row.member));
}

}  // namespace platetally::report

namespace platetally {

const std::vector<std::string>& audit_keys() {
  static const std::vector<std::string> keys = [] {
    std::vector<std::string> all;
    for (const std::string_view key : report::number_keys(report::section("totals")))
      all.emplace_back(key);
    return all;
  }();
  return keys;
}

}  // namespace platetally
