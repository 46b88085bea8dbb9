// Finding plates below folders.
#include "reading/source/folder.hpp"

#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <fstream>

#include "support/temp_folder.hpp"

namespace platetally::source {
namespace {

namespace fs = std::filesystem;

class Folders : public testing::Test {
 protected:
  void put(const std::string& below) const {
    fs::create_directories(fs::path(root_ / below).parent_path());
    std::ofstream(root_ / below) << "G28\n";
  }
  /// Paths below the root.
  std::vector<std::string> found(const FolderOptions& options = {}) {
    result_ = find_plates({root_.string()}, options);
    std::vector<std::string> paths;
    for (const std::string& path : result_.paths)
      paths.push_back(path.substr(root_.string().size() + 1));
    return paths;
  }

  test::TempFolder temp_;
  fs::path root_ = temp_.path();
  FoundPlates result_;
};

using Paths = std::vector<std::string>;

TEST_F(Folders, UsualNamesInTheOrderOfBytesAndOthersCounted) {
  for (const char* name : {"b/tags.GCODE", "a.gcode.gz", "b/a.nc", "Z.g.zst", "notes.txt", "c.zip"})
    put(name);
  EXPECT_EQ(found(), (Paths{"Z.g.zst", "a.gcode.gz", "b/a.nc", "b/tags.GCODE", "c.zip"}));
  EXPECT_EQ(result_.passed_over, 1U);
  EXPECT_TRUE(result_.faults.empty());
}

TEST_F(Folders, FilesOfOurOwnAreNotPassedOver) {
  for (const char* name : {"a.gcode", "shop.db", "shop.db-wal", "shop.db.txt", "old/shop.db"})
    put(name);
  found({{}, {}, (root_ / "shop.db").string()});
  EXPECT_EQ(result_.passed_over, 2U);
}

TEST_F(Folders, PatternsChooseByNameOrByPath) {
  for (const char* name : {"a.gcode", "old/b.gcode", "old/deep/c.gcode", "d.txt"})
    put(name);
  EXPECT_EQ(found({{"*.txt"}, {}}), (Paths{"d.txt"}));
  EXPECT_EQ(found({{}, {"old"}}), (Paths{"a.gcode"}));
  EXPECT_EQ(found({{"old/*.gcode"}, {}}), (Paths{"old/b.gcode", "old/deep/c.gcode"}));
  EXPECT_EQ(found({{}, {"c.*"}}), (Paths{"a.gcode", "old/b.gcode"}));
}

TEST_F(Folders, ALinkThatLeadsBackIsWalkedOnce) {
  put("a/b/tags.gcode");
  fs::create_directory_symlink(root_, root_ / "a/b/up");
  fs::create_directory_symlink(root_ / "a", root_ / "c");
  const Paths paths = found();
  EXPECT_EQ(paths.size(), 1U);
}

TEST_F(Folders, WhatCannotBeLookedAtIsAFault) {
  put("a.gcode");
  fs::create_symlink("nowhere", root_ / "dangling.gcode");
  fs::create_symlink("loop.gcode", root_ / "loop.gcode");
  ASSERT_EQ(::mkfifo((root_ / "pipe.gcode").c_str(), 0600), 0);
  EXPECT_EQ(found(), (Paths{"a.gcode"}));
  ASSERT_EQ(result_.faults.size(), 3U);
  EXPECT_NE(result_.faults[2].message.find("regular"), std::string::npos);
}

TEST_F(Folders, AFolderWithoutPermissionIsAFault) {
  if (::geteuid() == 0)
    GTEST_SKIP() << "root may read everything";
  put("closed/a.gcode");
  fs::permissions(root_ / "closed", fs::perms::none);
  EXPECT_TRUE(found().empty());
  EXPECT_EQ(result_.faults.size(), 1U);
  fs::permissions(root_ / "closed", fs::perms::owner_all);
}

TEST_F(Folders, NamesMayHoldAnyBytes) {
  put("line\nend.gcode");
  put("\xff\xfe.gcode");
  const Paths paths = found();
  ASSERT_EQ(paths.size(), 2U);
  EXPECT_EQ(paths[0], "line\nend.gcode");
  EXPECT_EQ(paths[1], "\xff\xfe.gcode");
}

TEST_F(Folders, PlatesThatAreNamedAreTakenAsTheyAreAndOnce) {
  put("odd.name");
  put("b/x.gcode");
  const std::string odd = (root_ / "odd.name").string();
  const std::string folder = (root_ / "b").string();
  const FoundPlates plates =
      find_plates({odd, folder, odd, folder, (root_ / "missing").string()}, {});
  EXPECT_EQ(plates.paths, (Paths{odd, folder + "/x.gcode", (root_ / "missing").string()}));
}

}  // namespace
}  // namespace platetally::source
