// The history file: what it keeps, its schema, several writers.
#include "meter/history/store.hpp"

#include <gtest/gtest.h>
#include <sqlite3.h>

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

TEST_F(History, KeepsRecordsByContentAndSetting) {
  {
    Store store(file_);
    store.keep("a.gcode", kState, "c1", "s1", {"{\"one\"}", "{\"two\"}"}, 1000);
    store.keep("b\xff.gcode", kState, "c1", "s2", {"{\"other\"}"}, 1001);
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

TEST_F(History, SinceCountsEachContentOnceAsLastTallied) {
  Store store(file_);
  store.keep("old.gcode", kState, "c0", "s1", {"old"}, 10);
  store.keep("a.gcode", kState, "c1", "s1", {"first"}, 100);
  store.keep("moved.gcode", kState, "c1", "s2", {"second"}, 200);
  const std::vector<Kept> kept = store.since(50);
  ASSERT_EQ(kept.size(), 1U);
  EXPECT_EQ(kept[0].path, "moved.gcode");
  EXPECT_EQ(kept[0].first_s, 100);
  EXPECT_EQ(kept[0].records, std::vector<std::string>{"second"});
  EXPECT_EQ(store.since(0).size(), 2U);
  EXPECT_TRUE(store.since(150).empty()) << "its content was known before";
}

TEST_F(History, AnOlderSchemaIsBroughtUpToDateWithAllItHolds) {
  sql("CREATE TABLE files(path BLOB PRIMARY KEY, size_bytes INTEGER NOT NULL,"
      " modified_ns INTEGER NOT NULL, content TEXT NOT NULL) WITHOUT ROWID;"
      "CREATE TABLE tallies(content TEXT NOT NULL, setting TEXT NOT NULL, path BLOB NOT NULL,"
      " first_s INTEGER NOT NULL, last_s INTEGER NOT NULL, records TEXT NOT NULL,"
      " PRIMARY KEY(content, setting)) WITHOUT ROWID;"
      "INSERT INTO tallies VALUES('c1','s1',x'61',7,8,'kept');"
      "PRAGMA application_id=0x706c7479; PRAGMA user_version=1");
  {
    Store store(file_);
    EXPECT_EQ(store.find("c1", "s1"), std::vector<std::string>{"kept"});
  }
  sql("INSERT INTO measured VALUES('c1','purge_g',9,1.0,2.0,'scale')");  // new in schema 2
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
      store.keep(who + std::to_string(i), kState, who + std::to_string(i), "s", {who}, i);
  };
  std::thread other([&] { write("b"); });
  write("a");
  other.join();
  EXPECT_EQ(Store(file_).since(0).size(), 2U * kRecords);
}

TEST_F(History, ManyMayCreateItAtOnce) {
  for (int round = 0; round < 20; ++round) {
    file_ = folder_ + "/" + std::to_string(round);
    std::vector<std::thread> threads;
    for (int i = 0; i < 4; ++i)
      threads.emplace_back([&, i] {
        Store(file_).keep(std::to_string(i), kState, std::to_string(i), "s", {"r"}, i);
      });
    for (std::thread& thread : threads)
      thread.join();
    EXPECT_EQ(Store(file_).since(0).size(), 4U);
  }
}

}  // namespace
}  // namespace platetally::history
