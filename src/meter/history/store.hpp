// The history: an SQLite file that keeps the record of every plate that was tallied.
//
// Every record is committed before it is reported, so a killed run loses nothing that it said.
// Several programs may use one file at once (write-ahead log, with waiting).
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

#include "reading/source/content.hpp"

struct sqlite3;
struct sqlite3_stmt;

namespace platetally::history {

/// what() is one line with the file's name.
class HistoryError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// A file that was tallied: its plates' records, in order.
struct Kept {
  std::string path;
  std::int64_t first_s = 0;  ///< when its content was first tallied, seconds since 1970
  std::vector<std::string> records;
};

/// What a plate really took: the latest of each content and key.
struct Measured {
  std::string content;
  std::string key;
  double predicted = 0.0;  ///< NaN: not known
  double measured = 0.0;
};

class Store {
 public:
  /// Opens or creates; an older schema is brought up to date. Throws HistoryError, also for a file
  /// of a newer schema and for one that is no history.
  explicit Store(const std::string& file);
  ~Store();
  Store(const Store&) = delete;
  Store& operator=(const Store&) = delete;

  /// The content that the path had when it was last in that state.
  std::optional<std::string> content_at(const std::string& path, const source::FileState& state);
  /// Records of that content under that setting (machine, materials, version).
  std::optional<std::vector<std::string>> find(const std::string& content,
                                               const std::string& setting);
  /// Keeps both, in one transaction. `now_s`: seconds since 1970.
  void keep(const std::string& path, const source::FileState& state, const std::string& content,
            const std::string& setting, const std::vector<std::string>& records,
            std::int64_t now_s);
  /// Every content first tallied at `since_s` or later, as last tallied, in the order of paths.
  std::vector<Kept> since(std::int64_t since_s);

  void keep_measured(const std::string& content, const std::string& key, std::int64_t now_s,
                     double predicted, double measured, const std::string& origin);
  std::vector<Measured> measured();

  static constexpr int kSchema = 2;

 private:
  struct Finish {
    void operator()(sqlite3_stmt* statement) const;
  };
  struct Close {
    void operator()(sqlite3* database) const;
  };
  using Statement = std::unique_ptr<sqlite3_stmt, Finish>;

  [[noreturn]] void fail(const char* doing) const;
  void run(const char* sql, const char* doing);
  int schema();
  void write_ahead();
  void migrate();
  Statement prepare(const char* sql);
  bool step(sqlite3_stmt* statement, const char* doing);

  std::string file_;
  std::unique_ptr<sqlite3, Close> database_;
};

}  // namespace platetally::history
