#include "output/audit/sums.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <tuple>

#include "account/advice/saved.hpp"

namespace platetally::audit_stage {

namespace {

/// Figures of which the sum over plates says nothing.
constexpr std::string_view kNoSum[] = {"mean_power_w",      "peak_power_w",   "peak_quarter_hour_w",
                                       "connected_load_w",  "bed_zones_used", "energy_residual",
                                       "cost_per_good_part"};

void add(const AuditFinding& finding, AuditFindingSum& sum) {
  ++sum.plates;
  sum.sum.spoils = sum.sum.spoils || finding.spoils;
  sum.sum.saves_time_s += finding.saves_time_s;
  sum.sum.saves_purge_g += finding.saves_purge_g;
  sum.sum.saves_energy_wh += finding.saves_energy_wh;
  if (finding.saves_money)
    sum.sum.saves_money = sum.sum.saves_money.value_or(0.0) + *finding.saves_money;
}

/// By audit_keys(): whether sums of the figure make sense.
const std::vector<bool>& summable() {
  static const std::vector<bool> all = [] {
    std::vector<bool> made;
    for (const std::string& key : audit_keys())
      made.push_back(std::find(std::begin(kNoSum), std::end(kNoSum), key) == std::end(kNoSum));
    return made;
  }();
  return all;
}

void sum_totals(AuditReport& report) {
  report.totals.assign(audit_keys().size(), std::numeric_limits<double>::quiet_NaN());
  for (const AuditRow& row : report.rows)
    add_to_totals(row, report.totals);
}

void sum_findings(AuditReport& report) {
  std::map<std::string, AuditFindingSum> by_code;
  for (const AuditRow& row : report.rows) {
    // A code that a plate has several times counts as one plate.
    std::map<std::string, AuditFindingSum> here;
    for (const AuditFinding& finding : row.findings)
      add(finding, here[finding.code]);
    for (const auto& [code, sum] : here)
      add(sum.sum, by_code[code]);
  }
  report.findings.clear();
  for (auto& [code, sum] : by_code) {
    sum.sum.code = code;
    report.findings.push_back(sum);
  }
  if (!report.value)
    report.value = report.currency.empty() ? Aim::time : Aim::money;
  std::ranges::stable_sort(report.findings, std::ranges::greater{},
                           [&](const AuditFindingSum& entry) {
                             const AuditFinding& sum = entry.sum;
                             return std::tuple(sum.spoils, advice::saving_of(sum, *report.value),
                                               sum.saves_money.value_or(0.0), sum.saves_purge_g,
                                               sum.saves_time_s, sum.saves_energy_wh);
                           });
}

}  // namespace

void add_to_totals(const AuditRow& row, std::vector<double>& totals) {
  const std::vector<bool>& makes_sense = summable();
  for (std::size_t i = 0; i < std::min(totals.size(), row.totals.size()); ++i)
    if (makes_sense[i] && !std::isnan(row.totals[i]))
      totals[i] = std::isnan(totals[i]) ? row.totals[i] : totals[i] + row.totals[i];
}

void sum_up(AuditReport& report) {
  report.plates = report.failed = report.exceeded = report.not_passed = 0;
  for (const AuditRow& row : report.rows) {
    report.plates += row.error.empty();
    report.failed += !row.error.empty() || !row.limit_errors.empty();
    report.exceeded += !row.breaches.empty();
    report.not_passed += row.breaches.empty() && row.limits_fail;
    if (report.currency.empty())
      report.currency = row.currency;
  }
  report.failed += report.faults.size();
  sum_totals(report);
  sum_findings(report);
  const auto rank = [](const AuditRow& row) {
    return std::pair(row.error.empty() ? 0 : 1, row.sort_value && !std::isnan(*row.sort_value)
                                                    ? -*row.sort_value
                                                    : std::numeric_limits<double>::infinity());
  };
  std::stable_sort(report.rows.begin(), report.rows.end(),
                   [&](const AuditRow& a, const AuditRow& b) { return rank(a) < rank(b); });
}

}  // namespace platetally::audit_stage
