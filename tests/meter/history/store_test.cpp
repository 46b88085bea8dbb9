// The history file: what it keeps, its schema, several writers.
#include "meter/history/store.hpp"

#include <gtest/gtest.h>
#include <sqlite3.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <thread>

#include "support/temp_folder.hpp"

namespace platetally::history {
namespace {

class History : public testing::Test {
 protected:
  void sql(const std::string& text) const {
    sqlite3* database = nullptr;
    ASSERT_EQ(sqlite3_open(file_.c_str(), &database), SQLITE_OK);
    EXPECT_EQ(sqlite3_exec(database, text.c_str(), nullptr, nullptr, nullptr), SQLITE_OK)
        << sqlite3_errmsg(database);
    sqlite3_close(database);
  }
  /// The first value of a query's first row.
  std::string value(const std::string& query) const {
    sqlite3* database = nullptr;
    sqlite3_stmt* statement = nullptr;
    std::string text = "nothing";
    EXPECT_EQ(sqlite3_open(file_.c_str(), &database), SQLITE_OK);
    EXPECT_EQ(sqlite3_prepare_v2(database, query.c_str(), -1, &statement, nullptr), SQLITE_OK)
        << sqlite3_errmsg(database);
    if (sqlite3_step(statement) == SQLITE_ROW && sqlite3_column_text(statement, 0) != nullptr)
      text = reinterpret_cast<const char*>(sqlite3_column_text(statement, 0));
    sqlite3_finalize(statement);
    sqlite3_close(database);
    return text;
  }
  std::string refusal() const {
    try {
      const Store store(file_);
    } catch (const HistoryError& error) {
      return error.what();
    }
    return "";
  }

  test::TempFolder temp_;
  std::string folder_ = temp_.path().string();
  std::string file_ = folder_ + "/h.sqlite";
};

constexpr source::FileState kState{100, 5};

/// The setting of that hash, of a machine of its own.
Setting setting(const std::string& hash) {
  return {hash, "machine of " + hash, "described " + hash, "1.0", ""};
}

std::vector<Kept> kept_since(Store& store, std::int64_t since_s) {
  std::vector<Kept> all;
  store.since(since_s, [&](const Kept& kept) { all.push_back(kept); });
  return all;
}

TEST_F(History, KeepsRecordsByContentAndSetting) {
  {
    Store store(file_);
    store.keep("a.gcode", kState, "c1", setting("s1"), {"{\"one\"}", "{\"two\"}"}, 1000);
    store.keep("b\xff.gcode", kState, "c1", setting("s2"), {"{\"other\"}"}, 1001);
  }
  Store store(file_);
  EXPECT_EQ(store.content_at("a.gcode", kState), "c1");
  EXPECT_EQ(store.content_at("b\xff.gcode", kState), "c1");
  EXPECT_FALSE(store.content_at("a.gcode", {100, 6}));
  EXPECT_FALSE(store.content_at("a.gcode", {101, 5}));
  EXPECT_EQ(store.find("c1", "s1"), (std::vector<std::string>{"{\"one\"}", "{\"two\"}"}));
  EXPECT_FALSE(store.find("c1", "s3"));
  EXPECT_FALSE(store.find("c2", "s1"));
}

TEST_F(History, ASettingIsPartOfTheKey) {
  Store store(file_);
  store.keep("old.gcode", kState, "c0", setting("s1"), {"old"}, 10);
  store.keep("a.gcode", kState, "c1", setting("s1"), {"first"}, 100);
  store.keep("moved.gcode", kState, "c1", setting("s2"), {"second"}, 200);
  const std::vector<Kept> kept = kept_since(store, 50);
  ASSERT_EQ(kept.size(), 2U) << "two machines, two records";
  EXPECT_EQ(kept[0].path, "a.gcode");
  EXPECT_EQ(kept[0].setting, setting("s1"));
  EXPECT_EQ(kept[0].records, std::vector<std::string>{"first"});
  EXPECT_EQ(kept[1].path, "moved.gcode");
  EXPECT_EQ(kept[1].setting, setting("s2"));
  EXPECT_EQ(kept[1].first_s, 100) << "the content was known before";
  EXPECT_EQ(kept[1].records, std::vector<std::string>{"second"});
  EXPECT_EQ(kept_since(store, 0).size(), 3U);
  EXPECT_TRUE(kept_since(store, 150).empty()) << "its content was known before";
}

TEST_F(History, PuttingTheSameAgainChangesNothing) {
  Store store(file_);
  for (const std::int64_t now_s : {10, 20}) {
    Store::Transaction transaction(store);
    store.put("a.gcode", "c1", setting("s1"), {"one"}, now_s);
    transaction.commit();
  }
  EXPECT_EQ(value("SELECT count(*) || ' ' || max(last_s) FROM tallies"), "1 10");
  {
    Store::Transaction dropped(store);
    store.put("b.gcode", "c2", setting("s1"), {"two"}, 30);
  }
  EXPECT_EQ(kept_since(store, 0).size(), 1U) << "what was not committed is not there";
}

TEST_F(History, ErrorsAreOfAMachine) {
  Store store(file_);
  const auto measure = [&](const std::string& hash, double measured, std::int64_t at_s) {
    store.keep_measured({"c1", setting(hash), "time_s", 100.0, measured, at_s, "scale"});
  };
  measure("s1", 110.0, 10);
  measure("s2", 150.0, 10);
  measure("s1", 120.0, 20);
  std::size_t unknown = 9;
  const std::vector<Measured> one = store.measured("machine of s1", unknown);
  ASSERT_EQ(one.size(), 1U);
  EXPECT_EQ(one[0].measured, 120.0) << "the latest";
  EXPECT_EQ(store.measured("machine of s2", unknown)[0].measured, 150.0);
  EXPECT_EQ(unknown, 0U);
}

/// What root may do everywhere, others may not: in a folder of this kind no test needs to be one.
class AsSomebody {
 public:
  AsSomebody() : was_(::geteuid()) {
    if (was_ == 0) {
      EXPECT_EQ(::seteuid(65534), 0);
    }
  }
  ~AsSomebody() { EXPECT_EQ(::seteuid(was_), 0); }
  AsSomebody(const AsSomebody&) = delete;
  AsSomebody& operator=(const AsSomebody&) = delete;

 private:
  uid_t was_;
};

Print print(const std::string& unit, std::int64_t finished_s, const std::string& origin) {
  Print print;
  print.content = "c1";
  print.setting = setting("s1");
  print.unit = unit;
  print.finished_s = finished_s;
  print.origin = origin;
  print.path = "a.gcode";
  print.time_s = 1000.0;
  print.purge_g = 4.0;
  print.cost = std::nan("");
  return print;
}

TEST_F(History, OneMachineDoesNotEndAPlateTwiceInItsTime) {
  Store store(file_);
  store.keep_print(print("1", 10'000, "by hand"));
  EXPECT_TRUE(store.same_print(print("1", 10'500, "log plug")));
  EXPECT_TRUE(store.same_print(print("1", 9'500, "log plug")));
  EXPECT_FALSE(store.same_print(print("1", 10'501, "log plug")));
  EXPECT_FALSE(store.same_print(print("2", 10'000, "by hand"))) << "another of the machines";
  Print failed = print("1", 10'300, "by hand");
  failed.share_used = 0.5;
  EXPECT_FALSE(store.same_print(failed)) << "it ran half of the time";
  store.keep_print(print("1", 20'000, "folder a"));
  EXPECT_FALSE(store.same_print(print("1", 20'000, "folder b"))) << "two files are two prints";
  EXPECT_TRUE(store.same_print(print("1", 20'000, "folder a")));
  EXPECT_TRUE(store.print_from(print("1", 99'000, "folder a")));
  EXPECT_FALSE(store.print_from(print("1", 99'000, "folder c")));
}

// Two that fail early end minutes apart, and a good one may follow an early failure.
TEST_F(History, AFailedPrintIsHeldAgainstOthersByTheShareThatItUsed) {
  Store store(file_);
  Print failed = print("1", 10'000, "by hand");
  failed.failed = true;
  store.keep_print(failed);
  const auto known = [&](std::int64_t finished_s, bool is_failed, double share) {
    Print other = print("1", finished_s, "log plug");
    other.failed = is_failed;
    other.share_used = share;
    return store.same_print(other).has_value();
  };
  EXPECT_TRUE(known(10'060, true, 1.0)) << "the same moment";
  EXPECT_TRUE(known(9'940, false, 1.0)) << "the same moment";
  EXPECT_FALSE(known(10'061, true, 1.0));
  EXPECT_FALSE(known(10'400, false, 1.0)) << "a good one after a failure whose share is not known";
  failed.finished_s = 20'000;
  failed.share_used = 0.4;
  store.keep_print(failed);
  EXPECT_TRUE(known(20'200, true, 0.4));
  EXPECT_FALSE(known(20'201, true, 0.4));
  EXPECT_TRUE(known(20'200, false, 1.0));
  EXPECT_FALSE(known(20'201, false, 1.0));
  EXPECT_FALSE(known(20'061, true, 1.0)) << "another that failed, when is not known";
}

TEST_F(History, PrintsComeBackAsTheyWereAndForPeople) {
  Store store(file_);
  Print kept = print("", 1'795'619'832, "by hand");  // 2026-11-25, a Wednesday
  kept.share_used = 0.25;
  kept.failed = true;
  store.keep_print(kept);
  std::vector<Print> all;
  store.prints_since(1'795'619'832, [&](const Print& one) { all.push_back(one); });
  ASSERT_EQ(all.size(), 1U);
  EXPECT_EQ(all[0].setting.machine, "machine of s1");
  EXPECT_EQ(all[0].purge_g, 4.0);
  EXPECT_FALSE(all[0].good_parts);
  EXPECT_TRUE(std::isnan(all[0].cost));
  EXPECT_TRUE(all[0].failed);
  store.prints_since(1'795'619'833, [&](const Print&) { FAIL(); });
  EXPECT_EQ(value("SELECT finished_utc || ' ' || week_from || ' ' || purge_g || ' ' ||"
                  " coalesce(cost, 'NULL') || ' ' || coalesce(unit, 'NULL') || ' ' || plate"
                  " FROM v_prints"),
            "2026-11-25T15:17:12Z 2026-11-23 1.0 NULL NULL a.gcode");
}

TEST_F(History, WhoOnlyReadsNeedsNeitherFileNorFolderWritable) {
  namespace fs = std::filesystem;
  Store(file_).keep("a.gcode", kState, "c1", setting("s1"), {"one"}, 10);
  fs::rename(file_, folder_ + "/100%?#.sqlite");  // what SQLite's names of files would take apart
  file_ = folder_ + "/100%?#.sqlite";
  fs::permissions(file_, fs::perms(0444));
  fs::permissions(folder_, fs::perms(0555));
  {
    const AsSomebody somebody;
    EXPECT_NE(refusal(), "") << "to write";
    Store store(file_, Access::read);
    EXPECT_EQ(kept_since(store, 0).size(), 1U);
    EXPECT_THROW(store.keep("b.gcode", kState, "c2", setting("s1"), {"two"}, 20), HistoryError);
  }
  fs::permissions(folder_, fs::perms(0755));
  EXPECT_EQ(std::distance(fs::directory_iterator(folder_), {}), 1) << "nothing was left beside it";
  file_ = folder_ + "/none";
  EXPECT_THROW(Store(file_, Access::read), HistoryError);
  EXPECT_FALSE(fs::exists(file_));
}

TEST_F(History, WhoReadsSeesWhatAnotherWrites) {
  Store writer(file_);
  Store reader(file_, Access::read);
  writer.keep("a.gcode", kState, "c1", setting("s1"), {"one"}, 10);
  EXPECT_EQ(kept_since(reader, 0).size(), 1U);
}

/// The first schema with one tally in it.
constexpr const char* kFirstSchema =
    "CREATE TABLE files(path BLOB PRIMARY KEY, size_bytes INTEGER NOT NULL,"
    " modified_ns INTEGER NOT NULL, content TEXT NOT NULL) WITHOUT ROWID;"
    "CREATE TABLE tallies(content TEXT NOT NULL, setting TEXT NOT NULL, path BLOB NOT NULL,"
    " first_s INTEGER NOT NULL, last_s INTEGER NOT NULL, records TEXT NOT NULL,"
    " PRIMARY KEY(content, setting)) WITHOUT ROWID;"
    "INSERT INTO tallies VALUES('c1','s1',x'61',7,8,"
    "'{\"machine\": \"bench\", \"machine_hash\": \"h\"}' || char(10) || '{\"more\": 1}' || "
    "char(10));"
    "PRAGMA application_id=0x706c7479; PRAGMA user_version=1";
const Setting kOfFirst{"s1", "bench", "h", "", ""};

TEST_F(History, AnOlderSchemaIsBroughtUpToDateWithAllItHolds) {
  sql(kFirstSchema);
  {
    Store store(file_);
    EXPECT_EQ(store.find("c1", "s1")->back(), "{\"more\": 1}");
    ASSERT_EQ(kept_since(store, 0).size(), 1U);
    EXPECT_EQ(kept_since(store, 0)[0].setting, kOfFirst) << "by what the record says";
  }
  for (const char* what : {"measurements", "prints", "v_prints", "v_errors"})
    EXPECT_EQ(value(std::string("SELECT count(*) FROM ") + what), "0") << what;
  EXPECT_EQ(value("SELECT plate || ' ' || machine || ' ' || first_tallied_utc || ' ' || "
                  "coalesce(version, 'NULL') FROM v_tallies LIMIT 1"),
            "a bench 1970-01-01T00:00:07Z NULL");
}

TEST_F(History, MeasurementsOfTheSecondSchemaAreOfNoKnownMachine) {
  sql(kFirstSchema);
  sql("CREATE INDEX tallies_by_first ON tallies(first_s);"
      "CREATE TABLE measured(content TEXT NOT NULL, key TEXT NOT NULL, measured_s INTEGER NOT NULL,"
      " predicted REAL, measured REAL NOT NULL, origin TEXT NOT NULL,"
      " PRIMARY KEY(content, key, measured_s)) WITHOUT ROWID;"
      "INSERT INTO measured VALUES('c1','purge_g',9,1.0,2.0,'scale'); PRAGMA user_version=2");
  std::size_t unknown = 0;
  EXPECT_TRUE(Store(file_).measured("bench", unknown).empty());
  EXPECT_EQ(unknown, 1U);
}

TEST_F(History, AnOlderSchemaIsReadWithoutBeingChanged) {
  sql(kFirstSchema);
  const auto bytes = [&] {
    std::ifstream in(file_, std::ios::binary);
    return std::string(std::istreambuf_iterator<char>(in), {});
  };
  const std::string before = bytes();
  Store store(file_, Access::read);
  ASSERT_EQ(kept_since(store, 0).size(), 1U);
  EXPECT_EQ(kept_since(store, 0)[0].setting, kOfFirst);
  EXPECT_EQ(bytes(), before);
}

TEST_F(History, RefusesWhatIsNoHistoryOrANewerOne) {
  sql("CREATE TABLE seeds(name TEXT)");
  EXPECT_NE(refusal().find("something else"), std::string::npos) << refusal();
  std::filesystem::remove(file_);
  sql("PRAGMA application_id=0x706c7479; PRAGMA user_version=99");
  EXPECT_NE(refusal().find("newer"), std::string::npos) << refusal();
  std::ofstream(file_) << std::string(5000, 'x');
  EXPECT_NE(refusal().find(file_), std::string::npos) << refusal();
  file_ = folder_ + "/no/such/folder.sqlite";
  EXPECT_NE(refusal().find("opening"), std::string::npos) << refusal();
}

TEST_F(History, TwoWritersLoseNothing) {
  constexpr int kRecords = 200;
  const auto write = [&](const std::string& who) {
    Store store(file_);
    for (int i = 0; i < kRecords; ++i)
      store.keep(who + std::to_string(i), kState, who + std::to_string(i), setting("s"), {who}, i);
  };
  std::thread other([&] { write("b"); });
  write("a");
  other.join();
  Store store(file_);
  EXPECT_EQ(kept_since(store, 0).size(), 2U * kRecords);
}

TEST_F(History, ManyMayCreateItAtOnce) {
  for (int round = 0; round < 20; ++round) {
    file_ = folder_ + "/" + std::to_string(round);
    std::vector<std::thread> threads;
    for (int i = 0; i < 4; ++i)
      threads.emplace_back([&, i] {
        Store(file_).keep(std::to_string(i), kState, std::to_string(i), setting("s"), {"r"}, i);
      });
    for (std::thread& thread : threads)
      thread.join();
    Store store(file_);
    EXPECT_EQ(kept_since(store, 0).size(), 4U);
  }
}

}  // namespace
}  // namespace platetally::history
