#include "meter/history/store.hpp"

#include <fmt/format.h>
#include <sqlite3.h>

#include <algorithm>
#include <limits>
#include <vector>

namespace platetally::history {

namespace {

constexpr int kApplication = 0x706c7479;  // marks the file as ours
constexpr int kWaitForOthers_ms = 30'000;

// Each step brings a file from one schema to the next; never change one that was released.
constexpr const char* kSteps[] = {
    // Paths are bytes: they need not be UTF-8.
    "CREATE TABLE files(path BLOB PRIMARY KEY, size_bytes INTEGER NOT NULL,"
    " modified_ns INTEGER NOT NULL, content TEXT NOT NULL) WITHOUT ROWID;"
    "CREATE TABLE tallies(content TEXT NOT NULL, setting TEXT NOT NULL, path BLOB NOT NULL,"
    " first_s INTEGER NOT NULL, last_s INTEGER NOT NULL, records TEXT NOT NULL,"
    " PRIMARY KEY(content, setting)) WITHOUT ROWID;",
    "CREATE INDEX tallies_by_first ON tallies(first_s);"
    "CREATE TABLE measured(content TEXT NOT NULL, key TEXT NOT NULL, measured_s INTEGER NOT NULL,"
    " predicted REAL, measured REAL NOT NULL, origin TEXT NOT NULL,"
    " PRIMARY KEY(content, key, measured_s)) WITHOUT ROWID;",
};
static_assert(std::size(kSteps) == Store::kSchema);

void bind(sqlite3_stmt* statement, int at, const std::string& text) {
  sqlite3_bind_text64(statement, at, text.data(), text.size(), SQLITE_TRANSIENT, SQLITE_UTF8);
}
void bind_path(sqlite3_stmt* statement, int at, const std::string& path) {
  sqlite3_bind_blob64(statement, at, path.data(), path.size(), SQLITE_TRANSIENT);
}
void bind(sqlite3_stmt* statement, int at, std::int64_t number) {
  sqlite3_bind_int64(statement, at, number);
}

std::string bytes_at(sqlite3_stmt* statement, int column) {
  const void* bytes = sqlite3_column_blob(statement, column);
  const auto count = static_cast<std::size_t>(sqlite3_column_bytes(statement, column));
  return bytes == nullptr ? "" : std::string(static_cast<const char*>(bytes), count);
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

Store::Store(const std::string& file) : file_(file) {
  sqlite3* opened = nullptr;
  const int result =
      sqlite3_open_v2(file.c_str(), &opened,
                      SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX, nullptr);
  database_.reset(opened);
  if (result != SQLITE_OK)
    throw HistoryError(fmt::format("{}: opening the history failed: {}", file,
                                   opened == nullptr ? "out of memory" : sqlite3_errmsg(opened)));
  sqlite3_busy_timeout(opened, kWaitForOthers_ms);
  run("BEGIN", "opening");
  const bool current = schema() == kSchema;  // before anything is changed in the file
  run("COMMIT", "opening");
  write_ahead();
  if (!current)
    migrate();
  // Safe against a program's death; a power cut can lose the last records, never the file.
  run("PRAGMA synchronous=NORMAL", "opening");
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
  bind(statement.get(), 2, state.size_bytes);
  bind(statement.get(), 3, state.modified_ns);
  if (!step(statement.get(), "reading"))
    return std::nullopt;
  return bytes_at(statement.get(), 0);
}

std::optional<std::vector<std::string>> Store::find(const std::string& content,
                                                    const std::string& setting) {
  const Statement statement = prepare("SELECT records FROM tallies WHERE content=? AND setting=?");
  bind(statement.get(), 1, content);
  bind(statement.get(), 2, setting);
  if (!step(statement.get(), "reading"))
    return std::nullopt;
  return lines_of(bytes_at(statement.get(), 0));
}

void Store::keep(const std::string& path, const source::FileState& state,
                 const std::string& content, const std::string& setting,
                 const std::vector<std::string>& records, std::int64_t now_s) {
  std::string joined;
  for (const std::string& record : records)
    joined += record + '\n';
  run("BEGIN IMMEDIATE", "writing");
  try {
    const Statement file = prepare("INSERT OR REPLACE INTO files VALUES(?,?,?,?)");
    bind_path(file.get(), 1, path);
    bind(file.get(), 2, state.size_bytes);
    bind(file.get(), 3, state.modified_ns);
    bind(file.get(), 4, content);
    step(file.get(), "writing");
    const Statement tally = prepare(
        "INSERT INTO tallies VALUES(?1,?2,?3,?4,?4,?5) ON CONFLICT(content, setting) DO UPDATE SET"
        " path=excluded.path, last_s=excluded.last_s, records=excluded.records");
    bind(tally.get(), 1, content);
    bind(tally.get(), 2, setting);
    bind_path(tally.get(), 3, path);
    bind(tally.get(), 4, now_s);
    bind(tally.get(), 5, joined);
    step(tally.get(), "writing");
  } catch (const HistoryError&) {
    sqlite3_exec(database_.get(), "ROLLBACK", nullptr, nullptr, nullptr);
    throw;
  }
  run("COMMIT", "writing");
}

std::vector<Kept> Store::since(std::int64_t since_s) {
  // Of each content the last tally; its age is that of the first one.
  const Statement statement = prepare(
      "SELECT path, first, records FROM (SELECT path, records, min(first_s) OVER (PARTITION BY"
      " content) AS first, row_number() OVER (PARTITION BY content ORDER BY last_s DESC, setting)"
      " AS age FROM tallies) WHERE age=1 AND first>=? ORDER BY path");
  bind(statement.get(), 1, since_s);
  std::vector<Kept> kept;
  while (step(statement.get(), "reading"))
    kept.push_back({bytes_at(statement.get(), 0), sqlite3_column_int64(statement.get(), 1),
                    lines_of(bytes_at(statement.get(), 2))});
  return kept;
}

void Store::keep_measured(const std::string& content, const std::string& key, std::int64_t now_s,
                          double predicted, double measured, const std::string& origin) {
  const Statement statement = prepare("INSERT OR REPLACE INTO measured VALUES(?,?,?,?,?,?)");
  bind(statement.get(), 1, content);
  bind(statement.get(), 2, key);
  bind(statement.get(), 3, now_s);
  sqlite3_bind_double(statement.get(), 4, predicted);  // NaN becomes NULL
  sqlite3_bind_double(statement.get(), 5, measured);
  bind(statement.get(), 6, origin);
  step(statement.get(), "writing");
}

std::vector<Measured> Store::measured() {
  const Statement statement = prepare(
      "SELECT content, key, predicted, measured FROM (SELECT *, row_number() OVER (PARTITION BY"
      " content, key ORDER BY measured_s DESC) AS age FROM measured) WHERE age=1"
      " ORDER BY key, content");
  std::vector<Measured> all;
  while (step(statement.get(), "reading"))
    all.push_back({bytes_at(statement.get(), 0), bytes_at(statement.get(), 1),
                   sqlite3_column_type(statement.get(), 2) == SQLITE_NULL
                       ? std::numeric_limits<double>::quiet_NaN()
                       : sqlite3_column_double(statement.get(), 2),
                   sqlite3_column_double(statement.get(), 3)});
  return all;
}

}  // namespace platetally::history
