#include "meter/reconcile/weighed.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <limits>
#include <stdexcept>

#include "output/report/fields.hpp"
#include "platetally/analyze.hpp"
#include "platetally/report.hpp"

namespace platetally {

namespace reconciling {

namespace {

constexpr double kNotKnown = std::numeric_limits<double>::quiet_NaN();

double number_of(const Account& account, const std::string& key) {
  return get_number(account, key).value_or(kNotKnown);
}

/// "purge_g" and "low": "purge_low_g"; NaN where there is no such number.
double end_of_band(const Account& account, const std::string& key, const char* end) {
  const std::size_t unit = key.rfind('_');
  if (unit == std::string::npos)
    return kNotKnown;
  const std::string name = key.substr(0, unit) + "_" + end + key.substr(unit);
  for (const report::Field& field : report::section("totals").fields)
    if (field.key == name)
      return number_of(account, "totals." + name);
  return kNotKnown;
}

}  // namespace

void require_keys(const Weighed& weighed) {
  for (const auto& [key, value] : weighed)
    if (const auto fault = fault_of_limit(key))
      throw std::invalid_argument(*fault);
}

std::vector<ReconciledValue> weighed_values(const Account& account, const Weighed& weighed) {
  std::vector<ReconciledValue> values;
  for (const auto& [key, measured] : weighed) {
    ReconciledValue value;
    value.key = key.starts_with("totals.") ? key.substr(7) : key;
    for (const report::Field& field : report::section("totals").fields)
      if (field.key == value.key)
        value.unit = field.unit;
    value.predicted = number_of(account, key);
    value.measured = measured;
    value.low = end_of_band(account, value.key, "low");
    value.high = end_of_band(account, value.key, "high");
    values.push_back(std::move(value));
  }
  return values;
}

MadeFrom made_from(const Account& account, const ReconcileOptions& options) {
  MadeFrom made = account.made_from;
  std::vector<std::string> weighed;
  for (const auto& [key, measured] : options.weighed)
    weighed.push_back(fmt::format("{}={}", key, measured));
  if (!weighed.empty())
    made.set("weighed", fmt::format("{}", fmt::join(weighed, ",")));
  return made;
}

}  // namespace reconciling

ReconcileReport reconcile_weighed(const std::string& path, const Machine& machine,
                                  const ReconcileOptions& options) {
  if (options.weighed.empty())
    throw std::invalid_argument("expected a log, or something that was weighed or timed");
  reconciling::require_keys(options.weighed);
  AnalyzeOptions analyze = options.analyze;
  analyze.findings = false;
  const Account account = analyze_file(path, machine, analyze);
  ReconcileReport report;
  report.path = account.path;
  report.machine = machine.name;
  report.made_from = reconciling::made_from(account, options);
  report.values = reconciling::weighed_values(account, options.weighed);
  return report;
}

}  // namespace platetally
