#include "meter/history/store.hpp"

#include <fmt/format.h>
#include <sqlite3.h>

#include <algorithm>
#include <limits>
#include <vector>

#include "meter/history/bind.hpp"
#include "meter/history/steps.hpp"

namespace platetally::history {

namespace {

constexpr int kApplication = 0x706c7479;  // marks the file as ours
constexpr int kWaitForOthers_ms = 30'000;

static_assert(std::size(kSteps) == Store::kSchema);

/// The name by which SQLite opens a file that does not change, without a log.
std::string unchanging(const std::string& file) {
  std::string name = "file:";
  for (const char c : file)
    name += c == '%' || c == '?' || c == '#' ? fmt::format("%{:02X}", static_cast<unsigned char>(c))
                                             : std::string(1, c);
  return name + "?immutable=1";
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::size_t from = 0;
  while (from < text.size()) {
    const std::size_t end = std::min(text.find('\n', from), text.size());
    lines.push_back(text.substr(from, end - from));
    from = end + 1;
  }
  return lines;
}

}  // namespace

void Store::Finish::operator()(sqlite3_stmt* statement) const {
  sqlite3_finalize(statement);
}
void Store::Close::operator()(sqlite3* database) const {
  sqlite3_close(database);
}

void Store::fail(const char* doing) const {
  throw HistoryError(
      fmt::format("{}: {} the history failed: {}", file_, doing, sqlite3_errmsg(database_.get())));
}

void Store::run(const char* sql, const char* doing) {
  if (sqlite3_exec(database_.get(), sql, nullptr, nullptr, nullptr) != SQLITE_OK) {
    const std::string message = sqlite3_errmsg(database_.get());
    if (sqlite3_get_autocommit(database_.get()) == 0)
      sqlite3_exec(database_.get(), "ROLLBACK", nullptr, nullptr, nullptr);
    throw HistoryError(fmt::format("{}: {} the history failed: {}", file_, doing, message));
  }
}

Store::Statement Store::prepare(const char* sql) {
  sqlite3_stmt* statement = nullptr;
  if (sqlite3_prepare_v2(database_.get(), sql, -1, &statement, nullptr) != SQLITE_OK)
    fail("reading");
  return Statement(statement);
}

/// Whether there is a row.
bool Store::step(sqlite3_stmt* statement, const char* doing) {
  const int result = sqlite3_step(statement);
  if (result != SQLITE_ROW && result != SQLITE_DONE)
    fail(doing);
  return result == SQLITE_ROW;
}

void Store::open(const std::string& name, int flags) {
  sqlite3* opened = nullptr;
  const int result = sqlite3_open_v2(name.c_str(), &opened, flags | SQLITE_OPEN_NOMUTEX, nullptr);
  database_.reset(opened);
  if (result != SQLITE_OK)
    throw HistoryError(fmt::format("{}: opening the history failed: {}", file_,
                                   opened == nullptr ? "out of memory" : sqlite3_errmsg(opened)));
  sqlite3_busy_timeout(opened, kWaitForOthers_ms);
}

Store::Store(const std::string& file, Access access) : file_(file) {
  if (access == Access::read) {
    open_to_read();
    return;
  }
  open(file, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE);
  run("BEGIN", "opening");
  const bool current = schema() == kSchema;  // before anything is changed in the file
  run("COMMIT", "opening");
  write_ahead();
  if (!current)
    migrate();
  // Safe against a program's death; a power cut can lose the last records, never the file.
  run("PRAGMA synchronous=NORMAL", "opening");
}

/// Whether a first look into the file works; it makes SQLite look for the log beside it.
bool Store::can_be_read() {
  const int result =
      sqlite3_exec(database_.get(), "SELECT 1 FROM sqlite_master", nullptr, nullptr, nullptr);
  return result != SQLITE_CANTOPEN && result != SQLITE_READONLY;
}

void Store::open_to_read() {
  open(file_, SQLITE_OPEN_READONLY);
  if (!can_be_read()) {
    // SQLite makes its log where a folder may be written to. Elsewhere nobody else writes either;
    // but what lies in a log already would be missed.
    const auto log = source::state_of(file_ + "-wal");
    if (log && log->size_bytes > 0)
      throw HistoryError(
          fmt::format("{}: its last records lie in {}-wal, and the folder cannot be written to; "
                      "open it once where it can be",
                      file_, file_));
    open(unchanging(file_), SQLITE_OPEN_READONLY | SQLITE_OPEN_URI);
  }
  run("BEGIN", "opening");
  const int version = schema();
  run("COMMIT", "opening");
  if (version < kSchema)
    copy_to_memory();
}

void Store::copy_to_memory() {
  const std::unique_ptr<sqlite3, Close> old = std::move(database_);
  open(":memory:", SQLITE_OPEN_READWRITE);
  sqlite3_backup* copy = sqlite3_backup_init(database_.get(), "main", old.get(), "main");
  if (copy == nullptr || sqlite3_backup_step(copy, -1) != SQLITE_DONE) {
    sqlite3_backup_finish(copy);
    fail("reading");
  }
  sqlite3_backup_finish(copy);
  migrate();
}

Store::~Store() = default;

/// While another program opens the file too, SQLite refuses this at once instead of waiting.
void Store::write_ahead() {
  constexpr int kPause_ms = 20;
  for (int waited_ms = 0;; waited_ms += kPause_ms) {
    const int result =
        sqlite3_exec(database_.get(), "PRAGMA journal_mode=WAL", nullptr, nullptr, nullptr);
    if (result == SQLITE_OK)
      return;
    if ((result != SQLITE_BUSY && result != SQLITE_LOCKED) || waited_ms > kWaitForOthers_ms)
      fail("opening");
    sqlite3_sleep(kPause_ms);
  }
}

/// The file's, 0 for a new one. Only inside a transaction, or another program may come between.
int Store::schema() {
  const auto number = [&](const char* sql) {
    const Statement statement = prepare(sql);
    step(statement.get(), "opening");
    return sqlite3_column_int(statement.get(), 0);
  };
  const int objects = number("SELECT count(*) FROM sqlite_master");  // begins the reading
  const int application = number("PRAGMA application_id");
  const int version = number("PRAGMA user_version");
  if (application != kApplication && (application != 0 || version != 0 || objects != 0))
    throw HistoryError(
        fmt::format("{}: is a database of something else; expected a history", file_));
  if (version > kSchema)
    throw HistoryError(
        fmt::format("{}: was written by a newer platetally (schema {}; this one knows {})", file_,
                    version, kSchema));
  return version;
}

void Store::migrate() {
  run("BEGIN IMMEDIATE", "opening");
  for (int version = schema(); version < kSchema; ++version)  // another program may have been first
    run(kSteps[version], "bringing up to date");
  run(fmt::format("PRAGMA application_id={}; PRAGMA user_version={}; COMMIT", kApplication, kSchema)
          .c_str(),
      "bringing up to date");
}

std::optional<std::string> Store::content_at(const std::string& path,
                                             const source::FileState& state) {
  const Statement statement =
      prepare("SELECT content FROM files WHERE path=? AND size_bytes=? AND modified_ns=?");
  bind_path(statement.get(), 1, path);
  bind_number(statement.get(), 2, state.size_bytes);
  bind_number(statement.get(), 3, state.modified_ns);
  if (!step(statement.get(), "reading"))
    return std::nullopt;
  return bytes_at(statement.get(), 0);
}

std::optional<std::vector<std::string>> Store::find(const std::string& content,
                                                    const std::string& setting) {
  const Statement statement = prepare("SELECT records FROM tallies WHERE content=? AND setting=?");
  bind_text(statement.get(), 1, content);
  bind_text(statement.get(), 2, setting);
  if (!step(statement.get(), "reading"))
    return std::nullopt;
  return lines_of(bytes_at(statement.get(), 0));
}

Store::Transaction::Transaction(Store& store) : store_(store) {
  store_.run("BEGIN IMMEDIATE", "writing");
}

Store::Transaction::~Transaction() {
  if (open_)
    sqlite3_exec(store_.database_.get(), "ROLLBACK", nullptr, nullptr, nullptr);
}

void Store::Transaction::commit() {
  store_.run("COMMIT", "writing");
  open_ = false;
}

void Store::keep(const std::string& path, const source::FileState& state,
                 const std::string& content, const Setting& setting,
                 const std::vector<std::string>& records, std::int64_t now_s) {
  Transaction transaction(*this);
  const Statement file = prepare("INSERT OR REPLACE INTO files VALUES(?,?,?,?)");
  bind_path(file.get(), 1, path);
  bind_number(file.get(), 2, state.size_bytes);
  bind_number(file.get(), 3, state.modified_ns);
  bind_text(file.get(), 4, content);
  step(file.get(), "writing");
  put(path, content, setting, records, now_s);
  transaction.commit();
}

void Store::put(const std::string& path, const std::string& content, const Setting& setting,
                const std::vector<std::string>& records, std::int64_t now_s) {
  std::string joined;
  for (const std::string& record : records)
    joined += record + '\n';
  const Statement named = prepare(
      "INSERT INTO settings VALUES(?1,?2,?3,?4,?5) ON CONFLICT(setting) DO UPDATE SET"
      " version=excluded.version, options=excluded.options"
      " WHERE version IS NOT excluded.version OR options IS NOT excluded.options");
  bind_text(named.get(), 1, setting.hash);
  bind_known(named.get(), 2, setting.machine);
  bind_known(named.get(), 3, setting.machine_hash);
  bind_known(named.get(), 4, setting.version);
  bind_text(named.get(), 5, setting.options);
  step(named.get(), "writing");
  const Statement tally = prepare(
      "INSERT INTO tallies VALUES(?1,?2,?3,?4,?4,?5) ON CONFLICT(content, setting) DO UPDATE SET"
      " path=excluded.path, last_s=excluded.last_s, records=excluded.records"
      " WHERE records<>excluded.records");
  bind_text(tally.get(), 1, content);
  bind_text(tally.get(), 2, setting.hash);
  bind_path(tally.get(), 3, path);
  bind_number(tally.get(), 4, now_s);
  bind_text(tally.get(), 5, joined);
  step(tally.get(), "writing");
}

void Store::since(std::int64_t since_s, const std::function<void(const Kept&)>& take) {
  // The records are fetched one by one: sorting must not carry them along.
  const Statement places = prepare(
      "SELECT content, setting, path, first, machine, machine_hash, version, options FROM"
      " (SELECT content, setting, path, min(first_s) OVER (PARTITION BY content) AS first"
      " FROM tallies) LEFT JOIN settings USING(setting) WHERE first>=? ORDER BY path, setting");
  bind_number(places.get(), 1, since_s);
  const Statement records = prepare("SELECT records FROM tallies WHERE content=? AND setting=?");
  while (step(places.get(), "reading")) {
    bind_text(records.get(), 1, bytes_at(places.get(), 0));
    bind_text(records.get(), 2, bytes_at(places.get(), 1));
    if (step(records.get(), "reading"))
      take({bytes_at(places.get(), 2),
            sqlite3_column_int64(places.get(), 3),
            {bytes_at(places.get(), 1), bytes_at(places.get(), 4), bytes_at(places.get(), 5),
             bytes_at(places.get(), 6), bytes_at(places.get(), 7)},
            lines_of(bytes_at(records.get(), 0)),
            bytes_at(places.get(), 0)});
    sqlite3_reset(records.get());
  }
}

std::optional<Kept> Store::last_tally(const std::string& content, const std::string& machine_hash) {
  const Statement statement = prepare(
      "SELECT path, first_s, records, setting, machine, machine_hash, version, options FROM tallies"
      " LEFT JOIN settings USING(setting) WHERE content=?1 AND (?2='' OR machine_hash=?2)"
      " ORDER BY last_s DESC, first_s DESC, setting LIMIT 1");
  bind_text(statement.get(), 1, content);
  bind_text(statement.get(), 2, machine_hash);
  if (!step(statement.get(), "reading"))
    return std::nullopt;
  return Kept{
      bytes_at(statement.get(), 0),
      sqlite3_column_int64(statement.get(), 1),
      {bytes_at(statement.get(), 3), bytes_at(statement.get(), 4), bytes_at(statement.get(), 5),
       bytes_at(statement.get(), 6), bytes_at(statement.get(), 7)},
      lines_of(bytes_at(statement.get(), 2)),
      content};
}

std::size_t Store::machines_of(const std::string& content) {
  const Statement statement = prepare(
      "SELECT count(DISTINCT coalesce(machine_hash, '')) FROM tallies LEFT JOIN settings"
      " USING(setting) WHERE content=?");
  bind_text(statement.get(), 1, content);
  step(statement.get(), "reading");
  return static_cast<std::size_t>(sqlite3_column_int64(statement.get(), 0));
}

void Store::keep_measured(const Measurement& measurement) {
  const Statement statement =
      prepare("INSERT OR REPLACE INTO measurements VALUES(?,?,?,?,?,?,?,?,?,?)");
  bind_text(statement.get(), 1, measurement.content);
  bind_known(statement.get(), 2, measurement.setting.machine);
  bind_known(statement.get(), 3, measurement.setting.machine_hash);
  bind_known(statement.get(), 4, measurement.setting.version);
  bind_text(statement.get(), 5, measurement.setting.options);
  bind_text(statement.get(), 6, measurement.key);
  bind_number(statement.get(), 7, measurement.measured_s);
  sqlite3_bind_double(statement.get(), 8, measurement.predicted);  // NaN becomes NULL
  sqlite3_bind_double(statement.get(), 9, measurement.measured);
  bind_text(statement.get(), 10, measurement.origin);
  step(statement.get(), "writing");
}

std::vector<Measured> Store::measured(const std::string& machine, std::size_t& of_unknown) {
  const Statement unknown = prepare("SELECT count(*) FROM measurements WHERE machine IS NULL");
  step(unknown.get(), "reading");
  of_unknown = static_cast<std::size_t>(sqlite3_column_int64(unknown.get(), 0));
  const Statement statement = prepare(
      "SELECT content, key, predicted, measured FROM (SELECT *, row_number() OVER (PARTITION BY"
      " content, key ORDER BY measured_s DESC, machine_hash, version, options) AS age"
      " FROM measurements WHERE machine=?) WHERE age=1 ORDER BY key, content");
  bind_text(statement.get(), 1, machine);
  std::vector<Measured> all;
  while (step(statement.get(), "reading"))
    all.push_back({bytes_at(statement.get(), 0), bytes_at(statement.get(), 1),
                   number_at(statement.get(), 2), number_at(statement.get(), 3)});
  return all;
}

}  // namespace platetally::history
