// The log of prints.
#include <fmt/format.h>
#include <sqlite3.h>

#include "meter/history/bind.hpp"
#include "meter/history/store.hpp"

namespace platetally::history {

namespace {

constexpr const char* kColumns =
    "content, member, machine, unit, finished_s, origin, path, machine_hash, version, options,"
    " logged_s, failed, share_used, good_parts, time_s, swaps, part_g, purge_g, energy_wh, cost,"
    " currency";

constexpr double kSameMoment_s = 60.0;

std::string select(const char* rest) {
  return fmt::format("SELECT {} FROM prints {}", kColumns, rest);
}

Print print_at(sqlite3_stmt* row) {
  Print print;
  print.content = bytes_at(row, 0);
  print.member = bytes_at(row, 1);
  print.setting = {"", bytes_at(row, 2), bytes_at(row, 7), bytes_at(row, 8), bytes_at(row, 9)};
  print.unit = bytes_at(row, 3);
  print.finished_s = sqlite3_column_int64(row, 4);
  print.origin = bytes_at(row, 5);
  print.path = bytes_at(row, 6);
  print.logged_s = sqlite3_column_int64(row, 10);
  print.failed = sqlite3_column_int(row, 11) != 0;
  print.share_used = sqlite3_column_double(row, 12);
  if (sqlite3_column_type(row, 13) != SQLITE_NULL)
    print.good_parts = static_cast<std::uint64_t>(sqlite3_column_int64(row, 13));
  print.time_s = number_at(row, 14);
  print.swaps = number_at(row, 15);
  print.part_g = number_at(row, 16);
  print.purge_g = number_at(row, 17);
  print.energy_wh = number_at(row, 18);
  print.cost = number_at(row, 19);
  print.currency = bytes_at(row, 20);
  return print;
}

}  // namespace

void Store::keep_print(const Print& print) {
  const Statement row = prepare(
      fmt::format("INSERT INTO prints({}) VALUES(?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)",
                  kColumns)
          .c_str());
  sqlite3_stmt* const to = row.get();
  bind_text(to, 1, print.content);
  bind_text(to, 2, print.member);
  bind_text(to, 3, print.setting.machine);
  bind_text(to, 4, print.unit);
  bind_number(to, 5, print.finished_s);
  bind_text(to, 6, print.origin);
  bind_path(to, 7, print.path);
  bind_known(to, 8, print.setting.machine_hash);
  bind_known(to, 9, print.setting.version);
  bind_text(to, 10, print.setting.options);
  bind_number(to, 11, print.logged_s);
  bind_number(to, 12, print.failed ? 1 : 0);
  sqlite3_bind_double(to, 13, print.share_used);
  if (print.good_parts)
    bind_number(to, 14, static_cast<std::int64_t>(*print.good_parts));
  sqlite3_bind_double(to, 15, print.time_s);
  sqlite3_bind_double(to, 16, print.swaps);
  sqlite3_bind_double(to, 17, print.part_g);
  sqlite3_bind_double(to, 18, print.purge_g);
  sqlite3_bind_double(to, 19, print.energy_wh);
  sqlite3_bind_double(to, 20, print.cost);
  bind_known(to, 21, print.currency);
  step(to, "writing");
}

std::optional<Print> Store::first_print(sqlite3_stmt* statement) {
  return step(statement, "reading") ? std::optional(print_at(statement)) : std::nullopt;
}

std::optional<Print> Store::same_print(const Print& print) {
  // One machine cannot end the same plate twice within the time that it takes; half of it leaves
  // room for predictions that are off. A failed one may have ended at once, and so may the next: by
  // the share that it used, else only the same minute is the same print.
  const Statement found =
      prepare(select("WHERE content=?1 AND member=?2 AND machine=?3 AND unit=?4"
                     " AND abs(finished_s-?5) <= min(CASE WHEN failed AND share_used >= 1 THEN ?8"
                     " ELSE coalesce(0.5 * share_used * time_s, 0) END, ?6)"
                     " AND NOT (origin<>?7 AND origin LIKE 'folder %' AND ?7 LIKE 'folder %')"
                     " ORDER BY abs(finished_s-?5), origin LIMIT 1")
                  .c_str());
  bind_text(found.get(), 1, print.content);
  bind_text(found.get(), 2, print.member);
  bind_text(found.get(), 3, print.setting.machine);
  bind_text(found.get(), 4, print.unit);
  bind_number(found.get(), 5, print.finished_s);
  sqlite3_bind_double(found.get(), 6,
                      print.failed && print.share_used >= 1.0 ? kSameMoment_s
                      : print.time_s > 0.0 ? 0.5 * print.share_used * print.time_s
                                           : 0.0);
  bind_text(found.get(), 7, print.origin);
  sqlite3_bind_double(found.get(), 8, kSameMoment_s);
  return first_print(found.get());
}

std::optional<Print> Store::print_from(const Print& print) {
  const Statement found = prepare(
      select("WHERE content=? AND member=? AND origin=? ORDER BY finished_s LIMIT 1").c_str());
  bind_text(found.get(), 1, print.content);
  bind_text(found.get(), 2, print.member);
  bind_text(found.get(), 3, print.origin);
  return first_print(found.get());
}

void Store::prints_since(std::int64_t since_s, const std::function<void(const Print&)>& take) {
  const Statement rows = prepare(
      select("WHERE finished_s>=? ORDER BY finished_s, machine, unit, path, origin").c_str());
  bind_number(rows.get(), 1, since_s);
  while (step(rows.get(), "reading"))
    take(print_at(rows.get()));
}

}  // namespace platetally::history
