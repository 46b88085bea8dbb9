// What a history holds, by week.
#include <fmt/chrono.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <map>
#include <numeric>
#include <set>
#include <tuple>

#include "base/units.hpp"
#include "meter/history/store.hpp"
#include "output/audit/record.hpp"
#include "output/audit/setting.hpp"
#include "output/audit/sums.hpp"
#include "output/report/lookup.hpp"
#include "platetally/audit.hpp"

namespace platetally {

namespace {

using namespace audit_stage;
using std::chrono::days;
using std::chrono::sys_days;

sys_days monday_of(std::int64_t at_s) {
  const auto day = std::chrono::floor<days>(std::chrono::sys_seconds(std::chrono::seconds(at_s)));
  return day - (std::chrono::weekday(day) - std::chrono::Monday);
}

double total(const AuditRow& row, std::string_view key) {
  const std::vector<std::string>& keys = audit_keys();
  for (std::size_t i = 0; i < keys.size() && i < row.totals.size(); ++i)
    if (keys[i] == key)
      return std::isnan(row.totals[i]) ? 0.0 : row.totals[i];
  return 0.0;
}

bool lies_below(const std::string& path, const std::vector<std::string>& roots) {
  for (const std::string& root : roots) {
    if (path == root)
      return true;
    const bool slash = !root.empty() && root.back() == '/';
    if (path.starts_with(slash ? root : root + "/"))
      return true;
  }
  return roots.empty();
}

void add(const AuditRow& row, HistoryWeek& week) {
  ++week.plates;
  week.swaps += static_cast<std::uint64_t>(total(row, "swaps"));
  week.hours += base::h_from_s(total(row, "time_s"));
  week.part_g += total(row, "part_g");
  week.purge_g += total(row, "purge_g");
  week.energy_kwh += base::kwh_from_wh(total(row, "energy_wh"));
}

/// Rows of another machine than the one that is asked for, if one is.
class OtherMachines {
 public:
  OtherMachines(const std::string& file, const Machine* machine)
      : file_(file), machine_(machine), hash_(machine == nullptr ? "" : machine_hash(*machine)) {}
  void add(const AuditRow& row) {
    ++rows_;
    if (machine_ == nullptr || row.machine_hash == hash_ || others_++ > 0)
      return;
    path_ = row.path;
    on_ = row.machine.empty()             ? "by a version that did not keep on which machine"
          : row.machine == machine_->name ? "with another machine file of that name"
                                          : fmt::format("on '{}'", row.machine);
  }
  void require_none() const {
    if (others_ > 0)
      throw std::runtime_error(fmt::format(
          "{}: {} of {} tallies are not of '{}' as it is now; {} was tallied {}; leave out "
          "--machine to see them as they were tallied, or audit the folders again",
          file_, others_, rows_, machine_->name, path_, on_));
  }

 private:
  std::string file_;
  const Machine* machine_;
  std::string hash_;
  std::uint64_t rows_ = 0;
  std::uint64_t others_ = 0;
  std::string path_;  // of the first
  std::string on_;
};

/// Gathers what may be added up, group by group.
class Groups {
 public:
  std::size_t index_of(const history::Setting& setting) {
    const auto key = std::tuple(setting.machine, setting.machine_hash, setting.version,
                                setting.options, setting.version.empty() ? setting.hash : "");
    const auto [place, is_new] = index_.try_emplace(key, groups_.size());
    if (is_new)
      groups_.push_back({setting.machine, setting.machine_hash, setting.version, setting.options,
                         "", 0, std::vector<double>(audit_keys().size(), std::nan(""))});
    return place->second;
  }
  void add(const AuditRow& row, std::size_t group, std::int64_t first_s) {
    HistoryGroup& to = groups_[group];
    to.plates += row.error.empty();
    if (to.currency.empty())
      to.currency = row.currency;
    add_to_totals(row, to.totals);
    HistoryWeek& week = weeks_[{monday_of(first_s), group}];
    week.group = group;
    platetally::add(row, week);
  }
  void hand_over(HistoryReport& report) const;

 private:
  std::map<std::tuple<std::string, std::string, std::string, std::string, std::string>, std::size_t>
      index_;
  std::vector<HistoryGroup> groups_;
  std::map<std::pair<sys_days, std::size_t>, HistoryWeek> weeks_;
};

void Groups::hand_over(HistoryReport& report) const {
  // By machine, so that a report does not hang on hashes.
  std::vector<std::size_t> order(groups_.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::ranges::stable_sort(order, {}, [this](std::size_t at) {
    const HistoryGroup& group = groups_[at];
    return std::tie(group.machine, group.version, group.options);
  });
  std::vector<std::size_t> place(order.size());
  for (std::size_t i = 0; i < order.size(); ++i) {
    place[order[i]] = i;
    report.groups.push_back(groups_[order[i]]);
  }
  for (const auto& [at, week] : weeks_) {
    report.weeks.push_back(week);
    report.weeks.back().group = place[at.second];
    report.weeks.back().monday = fmt::format("{:%Y-%m-%d}", at.first);
  }
  std::ranges::stable_sort(
      report.weeks, {}, [](const HistoryWeek& week) { return std::tie(week.monday, week.group); });
}

double known(double value) {
  return std::isnan(value) ? 0.0 : value;
}

void add(const history::Print& print, PrintedWeek& week) {
  ++week.prints;
  week.failed += print.failed;
  week.good_parts += print.good_parts.value_or(0);
  week.without_good += !print.good_parts;
  week.swaps += print.share_used * known(print.swaps);
  week.hours += base::h_from_s(print.share_used * known(print.time_s));
  week.part_g += print.share_used * known(print.part_g);
  week.purge_g += print.share_used * known(print.purge_g);
  week.energy_kwh += base::kwh_from_wh(print.share_used * known(print.energy_wh));
  if (!std::isnan(print.cost))
    week.cost = week.cost.value_or(0.0) + print.share_used * print.cost;
}

std::vector<PrintedWeek> printed_weeks(history::Store& store, std::int64_t since_s,
                                       const std::vector<std::string>& paths,
                                       const Machine* machine) {
  std::map<std::tuple<sys_days, std::string, std::string>, PrintedWeek> weeks;
  store.prints_since(since_s, [&](const history::Print& print) {
    if (!lies_below(print.path, paths) ||
        (machine != nullptr && print.setting.machine != machine->name))
      return;
    const sys_days monday = monday_of(print.finished_s);
    PrintedWeek& week = weeks[{monday, print.setting.machine, print.currency}];
    week.monday = fmt::format("{:%Y-%m-%d}", monday);
    week.machine = print.setting.machine;
    week.currency = print.currency;
    add(print, week);
  });
  std::vector<PrintedWeek> all;
  for (auto& [key, week] : weeks)
    all.push_back(std::move(week));
  return all;
}

/// What several groups amount to together, nobody asked.
void leave_unsummed(HistoryReport& report) {
  std::set<std::string> machines;
  std::set<std::string> currencies;
  for (const HistoryGroup& group : report.groups) {
    machines.insert(group.machine);
    currencies.insert(group.currency);
  }
  const bool one = machines.size() == 1 && !machines.begin()->empty();
  report.audit.machine = one ? *machines.begin() : "the machines that they were tallied on";
  if (report.groups.size() < 2)
    return;
  std::ranges::fill(report.audit.totals, std::nan(""));
  report.audit.findings.clear();
  if (currencies.size() > 1)
    report.audit.currency.clear();
  report.audit.notes.push_back(
      fmt::format("not added up: tallies of {} groups (machine as described, version, options)",
                  report.groups.size()));
}

}  // namespace

HistoryReport read_history(const std::string& file, std::int64_t since_s,
                           const std::vector<std::string>& paths, const AuditOptions& options,
                           const Machine* machine) {
  if (!source::state_of(file))
    throw history::HistoryError(fmt::format("{}: there is no such history", file));
  history::Store store(file, history::Access::read);
  Wanted wanted;
  wanted.sort = report::full_key(options.sort.empty() ? "purge_g" : options.sort);
  for (const auto& [key, limit] : options.limits)
    wanted.limits.emplace_back(report::full_key(key), limit);
  wanted.partial = options.partial;
  wanted.strict = options.strict;
  HistoryReport report;
  report.audit.sort = wanted.sort;
  report.audit.value = options.value;
  Groups groups;
  OtherMachines others(file, machine);
  Summing summing(options.most_rows);
  std::uint64_t index = 0;
  store.since(since_s, [&](const history::Kept& kept) {
    if (!lies_below(kept.path, paths))
      return;
    const std::size_t group = groups.index_of(kept.setting);
    for (const std::string& body : kept.records)
      if (auto row = row_of(line_of(index, kept.path, kept.content, body), wanted)) {
        groups.add(*row, group, kept.first_s);
        if (!row->machine_hash.empty())
          report.audit.made_from.add(MachineUsed{row->machine, row->machine_hash});
        others.add(*row);
        summing.add(std::move(*row));
      }
    ++index;
  });
  groups.hand_over(report);
  report.printed = printed_weeks(store, since_s, paths, machine);
  others.require_none();
  summing.finish(report.audit);
  leave_unsummed(report);
  return report;
}

std::optional<std::int64_t> parse_utc(std::string_view text) {
  const auto digits = [&](std::size_t from, std::size_t count) -> std::optional<int> {
    int value = 0;
    for (std::size_t i = from; i < from + count; ++i) {
      if (i >= text.size() || text[i] < '0' || text[i] > '9')
        return std::nullopt;
      value = 10 * value + (text[i] - '0');
    }
    return value;
  };
  const auto year = digits(0, 4);
  const auto month = digits(5, 2);
  const auto day = digits(8, 2);
  if (!year || !month || !day || text[4] != '-' || text[7] != '-')
    return std::nullopt;
  const std::chrono::year_month_day date{std::chrono::year(*year),
                                         std::chrono::month(static_cast<unsigned>(*month)),
                                         std::chrono::day(static_cast<unsigned>(*day))};
  if (!date.ok())
    return std::nullopt;
  const std::int64_t midnight_s =
      std::chrono::sys_seconds(sys_days(date)).time_since_epoch().count();
  if (text.size() == 10)
    return midnight_s;
  const auto hour = digits(11, 2);
  const auto minute = digits(14, 2);
  const auto second = digits(17, 2);
  const bool shaped = (text.size() == 19 || (text.size() == 20 && text[19] == 'Z')) &&
                      text[10] == 'T' && text[13] == ':' && text[16] == ':';
  if (!shaped || !hour || !minute || !second || *hour > 23 || *minute > 59 || *second > 59)
    return std::nullopt;
  const int of_day_s = *hour * 3600 + *minute * 60 + *second;
  return midnight_s + of_day_s;
}

}  // namespace platetally
