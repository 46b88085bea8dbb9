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

constexpr std::size_t kLargest =
    4;  // of each figure: a page shows three, and whether there are more

bool is_notable(const AuditRow& row) {
  return !row.error.empty() || !row.limit_errors.empty() || !row.breaches.empty() ||
         row.limits_fail;
}

/// What spoils something first, then the largest saving.
std::vector<AuditFindingSum> ranked(const std::map<std::string, AuditFindingSum>& by_code,
                                    Aim value) {
  std::vector<AuditFindingSum> findings;
  for (const auto& [code, sum] : by_code) {
    findings.push_back(sum);
    findings.back().sum.code = code;
  }
  std::ranges::stable_sort(findings, std::ranges::greater{}, [&](const AuditFindingSum& entry) {
    const AuditFinding& sum = entry.sum;
    return std::tuple(sum.spoils, advice::saving_of(sum, value), sum.saves_money.value_or(0.0),
                      sum.saves_purge_g, sum.saves_time_s, sum.saves_energy_wh);
  });
  return findings;
}

}  // namespace

void add_to_totals(const AuditRow& row, std::vector<double>& totals) {
  const std::vector<bool>& makes_sense = summable();
  for (std::size_t i = 0; i < std::min(totals.size(), row.totals.size()); ++i)
    if (makes_sense[i] && !std::isnan(row.totals[i]))
      totals[i] = std::isnan(totals[i]) ? row.totals[i] : totals[i] + row.totals[i];
}

Rank rank_of(const AuditRow& row, std::uint64_t at) {
  return {!row.error.empty(),
          row.sort_value && !std::isnan(*row.sort_value) ? -*row.sort_value
                                                         : std::numeric_limits<double>::infinity(),
          at};
}

void Summing::count(const AuditRow& row) {
  sums_.plates += row.error.empty();
  sums_.failed += !row.error.empty() || !row.limit_errors.empty();
  sums_.exceeded += !row.breaches.empty();
  sums_.not_passed += row.breaches.empty() && row.limits_fail;
  sums_.cannot += row.verdict == name_of(Grade::cannot);
  sums_.look += row.verdict == name_of(Grade::look);
  if (sums_.currency.empty())
    sums_.currency = row.currency;
  if (sums_.totals.empty())
    sums_.totals.assign(audit_keys().size(), std::numeric_limits<double>::quiet_NaN());
  add_to_totals(row, sums_.totals);
}

void Summing::add_findings(const AuditRow& row) {
  // A code that a plate has several times counts as one plate.
  std::map<std::string_view, AuditFindingSum> here;
  for (const AuditFinding& finding : row.findings)
    platetally::audit_stage::add(finding, here[finding.code]);
  for (const auto& [code, sum] : here)
    platetally::audit_stage::add(sum.sum, by_code_[std::string(code)]);
}

void Summing::add_largest(const AuditRow& row) {
  constexpr std::array<const char*, 5> kKeys{"time_s", "purge_g", "energy_wh", "cost", "swaps"};
  if (sums_.largest.empty())
    for (const char* key : kKeys)
      sums_.largest.push_back({key, {}});
  const std::vector<std::string>& keys = audit_keys();
  for (AuditLargest& largest : sums_.largest) {
    const auto place =
        static_cast<std::size_t>(std::ranges::find(keys, largest.key) - keys.begin());
    if (!row.error.empty() || place >= row.totals.size() || !(row.totals[place] > 0.0))
      continue;
    const auto behind = std::ranges::upper_bound(
        largest.plates, row.totals[place], std::ranges::greater{}, &AuditLargest::Plate::value);
    if (static_cast<std::size_t>(behind - largest.plates.begin()) >= kLargest)
      continue;
    largest.plates.insert(behind, {row.path, row.member, row.totals[place]});
    if (largest.plates.size() > kLargest)
      largest.plates.pop_back();
  }
}

/// The last of the ranks is one too many.
void Summing::leave(std::set<Rank>& ranks, bool Place::*flag) {
  if (most_ == 0 || ranks.size() <= most_)
    return;
  const auto place = rows_.find(*ranks.rbegin());
  ranks.erase(std::prev(ranks.end()));
  place->second.*flag = false;
  if (!place->second.is_worst && !place->second.is_notable)
    rows_.erase(place);
}

void Summing::keep(AuditRow row, const Rank& rank) {
  const auto within = [&](const std::set<Rank>& ranks) {
    return most_ == 0 || ranks.size() < most_ || rank < *ranks.rbegin();
  };
  const bool is_worst = row.error.empty() && within(worst_);
  const bool notable = is_notable(row) && within(notable_);
  if (!is_worst && !notable)
    return;
  rows_.emplace(rank, Place{std::move(row), is_worst, notable});
  if (is_worst)
    worst_.insert(rank);
  if (notable)
    notable_.insert(rank);
  leave(worst_, &Place::is_worst);
  leave(notable_, &Place::is_notable);
}

Rank Summing::add(AuditRow row) {
  const Rank rank = rank_of(row, at_++);
  count(row);
  add_findings(row);
  add_largest(row);
  keep(std::move(row), rank);
  return rank;
}

void Summing::finish(AuditReport& report) {
  report.plates = sums_.plates;
  report.failed = sums_.failed + report.faults.size();
  report.exceeded = sums_.exceeded;
  report.not_passed = sums_.not_passed;
  report.cannot = sums_.cannot;
  report.look = sums_.look;
  report.rows_in_all = at_;
  if (report.currency.empty())
    report.currency = sums_.currency;
  if (!report.value)
    report.value = report.currency.empty() ? Aim::time : Aim::money;
  report.totals = std::move(sums_.totals);
  report.totals.resize(audit_keys().size(), std::numeric_limits<double>::quiet_NaN());
  report.largest = std::move(sums_.largest);
  report.findings = ranked(by_code_, *report.value);
  report.rows.clear();
  for (auto& [rank, place] : rows_)
    report.rows.push_back(std::move(place.row));
  rows_.clear();
}

void sum_up(AuditReport& report) {
  Summing summing(0);
  for (AuditRow& row : report.rows)
    summing.add(std::move(row));
  summing.finish(report);
}

}  // namespace platetally::audit_stage
