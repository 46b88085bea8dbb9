// Values into SQLite's statements and out of them.
#pragma once

#include <sqlite3.h>

#include <cstdint>
#include <limits>
#include <string>

namespace platetally::history {

inline void bind_text(sqlite3_stmt* statement, int at, const std::string& text) {
  sqlite3_bind_text64(statement, at, text.data(), text.size(), SQLITE_TRANSIENT, SQLITE_UTF8);
}
inline void bind_path(sqlite3_stmt* statement, int at, const std::string& path) {
  sqlite3_bind_blob64(statement, at, path.data(), path.size(), SQLITE_TRANSIENT);
}
inline void bind_number(sqlite3_stmt* statement, int at, std::int64_t number) {
  sqlite3_bind_int64(statement, at, number);
}
/// NULL where it is empty: so SQL says what is not known.
inline void bind_known(sqlite3_stmt* statement, int at, const std::string& text) {
  if (!text.empty())
    bind_text(statement, at, text);
}

inline std::string bytes_at(sqlite3_stmt* statement, int column) {
  const void* bytes = sqlite3_column_blob(statement, column);
  const auto count = static_cast<std::size_t>(sqlite3_column_bytes(statement, column));
  return bytes == nullptr ? "" : std::string(static_cast<const char*>(bytes), count);
}
/// NaN where it is NULL; binding NaN makes it so.
inline double number_at(sqlite3_stmt* statement, int column) {
  return sqlite3_column_type(statement, column) == SQLITE_NULL
             ? std::numeric_limits<double>::quiet_NaN()
             : sqlite3_column_double(statement, column);
}

}  // namespace platetally::history
