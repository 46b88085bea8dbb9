// What a history holds, by week.
#include <fmt/chrono.h>

#include <chrono>
#include <cmath>
#include <map>

#include "base/units.hpp"
#include "meter/history/store.hpp"
#include "output/audit/record.hpp"
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

}  // namespace

HistoryReport read_history(const std::string& file, std::int64_t since_s,
                           const std::vector<std::string>& paths, const AuditOptions& options) {
  if (!source::state_of(file))
    throw history::HistoryError(fmt::format("{}: there is no such history", file));
  history::Store store(file);
  Wanted wanted;
  wanted.sort = report::full_key(options.sort.empty() ? "purge_g" : options.sort);
  for (const auto& [key, limit] : options.limits)
    wanted.limits.emplace_back(report::full_key(key), limit);
  HistoryReport report;
  report.audit.machine = "as each plate was tallied";
  report.audit.sort = wanted.sort;
  std::map<sys_days, HistoryWeek> weeks;
  std::uint64_t index = 0;
  for (const history::Kept& kept : store.since(since_s)) {
    if (!lies_below(kept.path, paths))
      continue;
    for (const std::string& body : kept.records)
      if (auto row = row_of(line_of(index, kept.path, body), wanted)) {
        add(*row, weeks[monday_of(kept.first_s)]);
        report.audit.rows.push_back(std::move(*row));
      }
    ++index;
  }
  for (auto& [monday, week] : weeks) {
    week.monday = fmt::format("{:%Y-%m-%d}", monday);
    report.weeks.push_back(std::move(week));
  }
  sum_up(report.audit);
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
