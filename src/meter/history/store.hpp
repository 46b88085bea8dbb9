// The history: an SQLite file that keeps the record of every plate that was tallied.
//
// Every record is committed before it is reported, so a killed run loses nothing that it said.
// Several programs may use one file at once (write-ahead log, with waiting). Who only reads opens
// it read-only: then neither the file nor its folder need be writable.
#pragma once

#include <cstdint>
#include <functional>
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

/// What figures depend on besides the content; tallies of two settings are never added up.
struct Setting {
  std::string hash;          ///< of all that follows, in full
  std::string machine;       ///< its name; empty: not known
  std::string machine_hash;  ///< of its description; empty: not known
  std::string version;       ///< of the program; empty: not known
  std::string options;       ///< those that change figures, in words; empty: none, or not known
  bool operator==(const Setting&) const = default;
};

/// A file that was tallied: its plates' records, in order.
struct Kept {
  std::string path;
  std::int64_t first_s = 0;  ///< when its content was first tallied, seconds since 1970
  Setting setting;
  std::vector<std::string> records;
  std::string content;  ///< a hash of the file's bytes
};

/// What a plate really took: the latest of each content and key.
struct Measured {
  std::string content;
  std::string key;
  double predicted = 0.0;  ///< NaN: not known
  double measured = 0.0;
};

/// What is written down of a measurement.
struct Measurement {
  std::string content;
  Setting setting;  ///< of the prediction; its hash is not used
  std::string key;
  double predicted = 0.0;  ///< NaN: not known
  double measured = 0.0;
  std::int64_t measured_s = 0;  ///< seconds since 1970
  std::string origin;
};

/// A print, with the figures of its whole plate; NaN: not known.
struct Print {
  std::string content;
  std::string member;
  Setting setting;  ///< of the figures; its hash is not used
  std::string unit;
  std::int64_t finished_s = 0;  ///< seconds since 1970
  std::string origin;
  std::string path;
  std::int64_t logged_s = 0;
  bool failed = false;
  double share_used = 1.0;
  std::optional<std::uint64_t> good_parts;
  double time_s = 0.0;
  double swaps = 0.0;
  double part_g = 0.0;
  double purge_g = 0.0;
  double energy_wh = 0.0;
  double cost = 0.0;
  std::string currency;
};

enum class Access : std::uint8_t { write, read };

class Store {
 public:
  /// To write: opens or creates; an older schema is brought up to date. To read: changes nothing in
  /// the file or its folder; an older schema is brought up to date in memory. Throws HistoryError,
  /// also for a file of a newer schema and for one that is no history.
  explicit Store(const std::string& file, Access access = Access::write);
  ~Store();
  Store(const Store&) = delete;
  Store& operator=(const Store&) = delete;

  /// All or nothing of what is put meanwhile.
  class Transaction {
   public:
    explicit Transaction(Store& store);
    ~Transaction();
    Transaction(const Transaction&) = delete;
    Transaction& operator=(const Transaction&) = delete;
    void commit();

   private:
    Store& store_;
    bool open_ = true;
  };

  /// The content that the path had when it was last in that state.
  std::optional<std::string> content_at(const std::string& path, const source::FileState& state);
  /// Records of that content under that setting, by its hash.
  std::optional<std::vector<std::string>> find(const std::string& content,
                                               const std::string& setting);
  /// Keeps both, in one transaction. `now_s`: seconds since 1970.
  void keep(const std::string& path, const source::FileState& state, const std::string& content,
            const Setting& setting, const std::vector<std::string>& records, std::int64_t now_s);
  /// The records alone, inside a transaction; the same again changes nothing.
  void put(const std::string& path, const std::string& content, const Setting& setting,
           const std::vector<std::string>& records, std::int64_t now_s);
  /// Every tally of a content that was first tallied at `since_s` or later, under whatever setting,
  /// in the order of paths.
  void since(std::int64_t since_s, const std::function<void(const Kept&)>& take);

  void keep_measured(const Measurement& measurement);
  /// On the machine of that name. `of_unknown`: how many were kept before machines were; they are
  /// left out.
  std::vector<Measured> measured(const std::string& machine, std::size_t& of_unknown);

  /// The last tally of a content, on the machine of that hash or, if that is empty, on any.
  std::optional<Kept> last_tally(const std::string& content, const std::string& machine_hash);
  /// On how many machines, as described, the content was tallied.
  std::size_t machines_of(const std::string& content);
  void keep_print(const Print& print);
  /// One of the same content, member, machine and unit whose end lies within half of its time,
  /// and of that of `print`: the time times the share used; of a failed one without a share, within
  /// the same minute. Two files of a folder of finished plates are two prints.
  std::optional<Print> same_print(const Print& print);
  /// One of the same content and member, known from the same origin.
  std::optional<Print> print_from(const Print& print);
  /// Every print that ended at `since_s` or later, in the order of their ends.
  void prints_since(std::int64_t since_s, const std::function<void(const Print&)>& take);

  static constexpr int kSchema = 4;

 private:
  struct Finish {
    void operator()(sqlite3_stmt* statement) const;
  };
  struct Close {
    void operator()(sqlite3* database) const;
  };
  using Statement = std::unique_ptr<sqlite3_stmt, Finish>;

  [[noreturn]] void fail(const char* doing) const;
  void open(const std::string& name, int flags);
  void open_to_read();
  bool can_be_read();
  void copy_to_memory();
  void run(const char* sql, const char* doing);
  int schema();
  void write_ahead();
  void migrate();
  Statement prepare(const char* sql);
  std::optional<Print> first_print(sqlite3_stmt* statement);
  bool step(sqlite3_stmt* statement, const char* doing);

  std::string file_;
  std::unique_ptr<sqlite3, Close> database_;
};

}  // namespace platetally::history
