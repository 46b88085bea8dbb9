// Plates that arrive in a folder: each state of a file is told once, when it has stayed the same
// for long enough. The clock is the test's own.
#include "platetally/watch.hpp"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

#include "support/temp_folder.hpp"

namespace platetally {
namespace {

namespace fs = std::filesystem;
using Paths = std::vector<std::string>;

class Watching : public testing::Test {
 protected:
  /// Sizes differ, so that a change shows whatever the clock of the file system.
  std::string put(const std::string& name, std::size_t bytes) const {
    const fs::path path = folder_.path() / name;
    fs::create_directories(path.parent_path());
    std::ofstream(path) << std::string(bytes, ';');
    return path.string();
  }
  FolderWatch watch(std::vector<std::string> include = {},
                    std::vector<std::string> exclude = {}) const {
    return {{folder_.path().string()}, std::move(include), std::move(exclude), 5.0};
  }
  const test::TempFolder folder_;
};

TEST_F(Watching, AFileIsToldOnceItHasStayedTheSame) {
  const std::string tag = put("tag.gcode", 10);
  FolderWatch watch = this->watch();
  EXPECT_EQ(watch.poll(100.0), Paths{});
  EXPECT_EQ(watch.poll(104.9), Paths{});
  EXPECT_EQ(watch.poll(105.0), Paths{tag}) << "five seconds";
  EXPECT_EQ(watch.poll(200.0), Paths{}) << "and no second time";
}

TEST_F(Watching, AFileThatGrowsWaitsAnew) {
  const std::string tag = put("tag.gcode", 10);
  FolderWatch watch = this->watch();
  watch.poll(100.0);
  put("tag.gcode", 20);
  EXPECT_EQ(watch.poll(105.0), Paths{});
  EXPECT_EQ(watch.poll(109.0), Paths{});
  EXPECT_EQ(watch.poll(110.0), Paths{tag});
}

TEST_F(Watching, AFileThatChangesLaterIsToldAgain) {
  const std::string tag = put("tag.gcode", 10);
  FolderWatch watch = this->watch();
  watch.poll(0.0);
  EXPECT_EQ(watch.poll(5.0), Paths{tag});
  put("tag.gcode", 30);
  EXPECT_EQ(watch.poll(50.0), Paths{});
  EXPECT_EQ(watch.poll(55.0), Paths{tag});
}

TEST_F(Watching, AFileThatWasAwayIsNew) {
  const std::string tag = put("tag.gcode", 10);
  FolderWatch watch = this->watch();
  watch.poll(0.0);
  EXPECT_EQ(watch.poll(5.0), Paths{tag});
  fs::remove(tag);
  EXPECT_EQ(watch.poll(6.0), Paths{});
  put("tag.gcode", 10);
  EXPECT_EQ(watch.poll(7.0), Paths{});
  EXPECT_EQ(watch.poll(12.0), Paths{tag});
}

TEST_F(Watching, WhatIsDoneIsSkippedUntilItChanges) {
  const std::string done = put("done.gcode", 10);
  const std::string fresh = put("new.gcode", 10);
  FolderWatch watch = this->watch();
  watch.skip([&](const std::string& path) { return path == done; });
  watch.poll(0.0);
  EXPECT_EQ(watch.poll(5.0), Paths{fresh});
  put("done.gcode", 11);
  watch.poll(6.0);
  EXPECT_EQ(watch.poll(11.0), Paths{done});
}

TEST_F(Watching, EachFileHasItsOwnTime) {
  const std::string first = put("a.gcode", 10);
  FolderWatch watch = this->watch();
  watch.poll(0.0);
  const std::string second = put("deep/b.gcode", 10);
  watch.poll(3.0);
  EXPECT_EQ(watch.poll(5.0), Paths{first});
  EXPECT_EQ(watch.poll(8.0), Paths{second});
}

TEST_F(Watching, PatternsAreThoseOfAnAudit) {
  put("notes.txt", 10);
  put("draft.gcode", 10);
  const std::string tag = put("tag.gcode", 10);
  FolderWatch usual = watch({}, {"draft*"});
  usual.poll(0.0);
  EXPECT_EQ(usual.poll(5.0), Paths{tag});
  FolderWatch texts = watch({"*.txt"});
  texts.poll(0.0);
  EXPECT_EQ(texts.poll(5.0).size(), 1U);
}

TEST_F(Watching, WithoutATimeToSettleAFileIsToldAtOnce) {
  const std::string tag = put("tag.gcode", 10);
  FolderWatch watch({folder_.path().string()}, {}, {}, 0.0);
  EXPECT_EQ(watch.poll(0.0), Paths{tag});
}

TEST_F(Watching, AnEmptyFolderTellsNothing) {
  FolderWatch watch = this->watch();
  EXPECT_EQ(watch.poll(0.0), Paths{});
  EXPECT_EQ(watch.poll(100.0), Paths{});
}

}  // namespace
}  // namespace platetally
