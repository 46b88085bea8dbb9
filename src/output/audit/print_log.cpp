// What was really printed, into a history: by hand, or from a folder of finished plates.
#include "platetally/print_log.hpp"

#include <fmt/chrono.h>

#include <algorithm>
#include <chrono>
#include <cmath>

#include "meter/history/store.hpp"
#include "output/audit/print_entry.hpp"
#include "output/audit/record.hpp"
#include "output/audit/setting.hpp"
#include "reading/source/content.hpp"
#include "reading/source/folder.hpp"

namespace platetally {

namespace {

using namespace audit_stage;

double total(const AuditRow& row, std::string_view key) {
  const std::vector<std::string>& keys = audit_keys();
  const auto place = static_cast<std::size_t>(std::ranges::find(keys, key) - keys.begin());
  return place < row.totals.size() ? row.totals[place] : std::nan("");
}

/// The last tally of the content that the entry may stand on.
std::optional<history::Kept> known_tally(history::Store& store, const std::string& content,
                                         const PrintEntry& entry, const Machine* machine,
                                         const AuditOptions& options) {
  if (machine == nullptr) {
    if (store.machines_of(content) > 1)
      throw std::runtime_error(fmt::format(
          "{}: was tallied on several machines; --machine says which printed it", entry.path));
    auto tally = store.last_tally(content, "");
    if (!tally)
      throw std::runtime_error(
          fmt::format("{}: is not in the history; --machine says what printed it", entry.path));
    return tally;
  }
  const history::Setting setting = setting_of(*machine, options);
  if (setting.options.empty())
    return store.last_tally(content, setting.machine_hash);
  auto records = store.find(content, setting.hash);
  return records ? std::optional(history::Kept{entry.path, 0, setting, std::move(*records), {}})
                 : std::nullopt;
}

/// The same; a plate without one is tallied now.
history::Kept tally_of(const std::string& content, const PrintEntry& entry, const Machine* machine,
                       const AuditOptions& options) {
  {
    history::Store store(options.history);
    if (auto known = known_tally(store, content, entry, machine, options))
      return *known;
  }
  AuditOptions once = options;
  once.threads = 1;
  const AuditReport report = audit({entry.path}, *machine, once);
  for (const AuditRow& row : report.rows)
    if (!row.error.empty())
      throw std::runtime_error(fmt::format("{}: {}", entry.path, row.error));
  history::Store store(options.history);
  if (auto known = known_tally(store, content, entry, machine, options))
    return *known;
  throw std::runtime_error(
      fmt::format("{}: {}", entry.path,
                  report.notes.empty() ? "was changed while it was read" : report.notes.front()));
}

/// The row of the plate that was printed.
AuditRow row_of_entry(const history::Kept& tally, const PrintEntry& entry) {
  std::vector<AuditRow> rows;
  for (const std::string& body : tally.records)
    if (auto row = row_of(line_of(0, entry.path, "", body), {"totals.purge_g", {}}))
      if (entry.member.empty() || row->member == entry.member)
        rows.push_back(std::move(*row));
  if (rows.empty())
    throw std::runtime_error(fmt::format("{}: holds no plate '{}'", entry.path, entry.member));
  if (rows.size() > 1)
    throw std::runtime_error(fmt::format("{}: holds {} plates; --member says which was printed",
                                         entry.path, rows.size()));
  return rows.front();
}

bool is_alike(const history::Print& a, const history::Print& b) {
  return a.failed == b.failed && a.share_used == b.share_used &&
         (a.good_parts == b.good_parts || !a.good_parts || !b.good_parts);
}

std::string outcome_of(const history::Print& print) {
  return fmt::format("{}{}{}", print.failed ? "failed" : "not failed",
                     print.share_used < 1.0 ? fmt::format(", {} of it used", print.share_used) : "",
                     print.good_parts ? fmt::format(", {} good", *print.good_parts) : "");
}

}  // namespace

namespace audit_stage {

LoggedPrint count_print(history::Store& store, const history::Print& print, bool counts_once) {
  LoggedPrint logged;
  logged.path = print.path;
  logged.machine = print.setting.machine;
  logged.unit = print.unit;
  logged.finished_s = print.finished_s;
  const auto used = [&](double of_plate) {
    return std::isnan(of_plate) ? std::nullopt : std::optional(print.share_used * of_plate);
  };
  logged.purge_g = used(print.purge_g);
  logged.energy_wh = used(print.energy_wh);
  history::Store::Transaction transaction(store);
  auto same = store.same_print(print);
  if (!same && counts_once)
    same = store.print_from(print);
  if (same) {
    const std::string there =
        fmt::format("is in the log as finished {:%Y-%m-%dT%H:%M:%SZ} ({}; {})",
                    std::chrono::sys_seconds(std::chrono::seconds(same->finished_s)), same->origin,
                    outcome_of(*same));
    if (!is_alike(*same, print))
      throw std::runtime_error(
          fmt::format("{}: {}, and now as {}", print.path, there, outcome_of(print)));
    logged.why = there + "; it counts once";
    return logged;
  }
  store.keep_print(print);
  transaction.commit();
  logged.counted = true;
  return logged;
}

}  // namespace audit_stage

LoggedPrint log_print(const PrintEntry& entry, const Machine* machine,
                      const AuditOptions& options) {
  const auto content = source::hash_of_file(entry.path);
  if (!content)
    throw std::runtime_error(fmt::format("{}: cannot be read", entry.path));
  if (machine == nullptr && !source::state_of(options.history))
    throw std::runtime_error(fmt::format("{}: there is no such history", options.history));
  const history::Kept tally = tally_of(*content, entry, machine, options);
  const AuditRow row = row_of_entry(tally, entry);
  history::Print print;
  print.content = *content;
  print.member = row.member;
  print.setting = tally.setting;
  if (print.setting.machine.empty())
    throw std::runtime_error(fmt::format(
        "{}: was tallied before machines were kept; --machine says what printed it", entry.path));
  print.unit = entry.unit;
  print.logged_s = options.now_s ? options.now_s() : 0;
  print.finished_s = entry.finished_s.value_or(print.logged_s);
  print.origin = entry.origin;
  print.path = entry.path;
  print.failed = entry.failed;
  print.share_used = entry.share;
  print.good_parts = entry.good_parts;
  if (entry.failed && !entry.good_parts)
    print.good_parts = 0;
  print.time_s = total(row, "time_s");
  print.swaps = total(row, "swaps");
  print.part_g = total(row, "part_g");
  print.purge_g = total(row, "purge_g");
  print.energy_wh = total(row, "energy_wh");
  print.cost = total(row, "cost");
  print.currency = row.currency;
  history::Store store(options.history);
  return count_print(store, print, entry.counts_once);
}

std::vector<LoggedPrint> log_finished_folder(const std::string& folder, const Machine* machine,
                                             const AuditOptions& options) {
  const source::FoundPlates found =
      source::find_plates({folder}, {options.include, options.exclude, options.history});
  for (const source::FolderFault& fault : found.faults)
    throw std::runtime_error(fmt::format("{}: {}", fault.path, fault.message));
  std::vector<LoggedPrint> all;
  for (const std::string& path : found.paths) {
    PrintEntry entry;
    entry.path = path;
    entry.origin = "folder " + path;
    entry.counts_once = true;
    try {
      all.push_back(log_print(entry, machine, options));
    } catch (const std::runtime_error& error) {
      LoggedPrint fault;
      fault.path = path;
      fault.why = error.what();
      fault.is_fault = true;
      all.push_back(std::move(fault));
    }
  }
  return all;
}

}  // namespace platetally
