// Folders: which files are plates, in what order, and what is said of the rest.
#include <gtest/gtest.h>
#include <sys/stat.h>

#include <algorithm>
#include <chrono>
#include <filesystem>
#include <fstream>
#include <random>

#include "base/hash.hpp"
#include "reading/source/content.hpp"
#include "reading/source/folder.hpp"
#include "support/temp_folder.hpp"

namespace platetally::source {
namespace {

namespace fs = std::filesystem;
using Paths = std::vector<std::string>;

class Walks : public testing::Test {
 protected:
  void put(const std::string& below, const std::string& text = "G28\n") const {
    fs::create_directories(fs::path(root_ / below).parent_path());
    std::ofstream(root_ / below) << text;
  }
  Paths below_root(const FoundPlates& found) const {
    Paths paths;
    for (const std::string& path : found.paths)
      paths.push_back(fs::path(path).lexically_relative(root_).string());
    return paths;
  }
  FoundPlates find(const FolderOptions& options = {}) const {
    return find_plates({root_.string()}, options);
  }

  test::TempFolder temp_;
  fs::path root_ = temp_.path();
};

TEST_F(Walks, EveryUsualEndingIsOnePackedOrNot) {
  Paths expected;
  for (const char* ending : {"gcode", "gco", "g", "nc", "ngc"})
    for (const char* packed : {"", ".gz", ".zst", ".xz"})
      expected.push_back(std::string("tags.") + ending + packed);
  for (const char* container : {"zip", "tar", "tar.gz", "tar.zst", "tar.xz", "tgz"})
    expected.push_back(std::string("trays.") + container);
  for (const std::string& name : expected)
    put(name);
  const Paths others{"gcode",     "tags.gcode.bak", "tags.stl",  "tags.gcode.bz2",
                     "tags.gcod", "tags.zip.gz",    "tagsgcode", "tags.gcode~"};
  for (const std::string& name : others)
    put(name);
  std::sort(expected.begin(), expected.end());
  const FoundPlates found = find();
  EXPECT_EQ(below_root(found), expected);
  EXPECT_EQ(found.passed_over, others.size());
}

TEST_F(Walks, TheOrderDoesNotDependOnHowFilesCameThere) {
  Paths names;
  std::mt19937 random(4);
  for (int i = 0; i < 60; ++i)
    names.push_back(std::string(1 + random() % 3, static_cast<char>('A' + random() % 50)) + "/" +
                    std::to_string(i) + ".gcode");
  for (const std::string& name : names)
    put(name);
  Paths expected = names;
  std::sort(expected.begin(), expected.end());
  EXPECT_EQ(below_root(find()), expected);
}

TEST_F(Walks, FoldersComeInTheOrderInWhichTheyAreNamed) {
  put("b/1.gcode");
  put("a/2.gcode");
  put("c.gcode");
  const auto at = [this](const char* name) { return (root_ / name).string(); };
  EXPECT_EQ(below_root(find_plates({at("b"), at("c.gcode"), at("a")}, {})),
            (Paths{"b/1.gcode", "c.gcode", "a/2.gcode"}));
  EXPECT_EQ(below_root(find_plates({at("b"), root_.string()}, {})),
            (Paths{"b/1.gcode", "a/2.gcode", "c.gcode"}))
      << "a part that was named before is not walked again";
  EXPECT_EQ(find_plates({at("b") + "/"}, {}).paths, Paths{at("b") + "/1.gcode"})
      << "one slash, not two";
  EXPECT_TRUE(find_plates({}, {}).paths.empty());
}

TEST_F(Walks, PatternsThatNoFileIsLikeAreNamed) {
  put("a.gcode");
  put("old/b.txt");
  const FoundPlates found = find({{"*.gcode", "*.TXT", "old/*", "new/*", "?.ngc"}, {}});
  EXPECT_EQ(below_root(found), (Paths{"a.gcode", "old/b.txt"}));
  EXPECT_EQ(found.matches_none, (Paths{"new/*", "?.ngc"}));
  EXPECT_TRUE(find_plates({(root_ / "a.gcode").string()}, {{"*.nothing"}, {}}).matches_none.empty())
      << "no folder was walked, so no pattern was asked";
  EXPECT_TRUE(find().matches_none.empty()) << "the usual endings are nobody's patterns";
}

TEST_F(Walks, WhatIsExcludedIsNeitherFoundNorCounted) {
  for (const char* name : {"a.gcode", "a.txt", "bin/b.gcode", "x/bin/c.gcode", "x/d.gcode"})
    put(name);
  EXPECT_EQ(below_root(find({{}, {"BIN", "*.txt"}})), (Paths{"a.gcode", "x/d.gcode"}));
  EXPECT_EQ(find({{}, {"BIN", "*.txt"}}).passed_over, 0U);
  EXPECT_EQ(below_root(find({{}, {"x/bin"}})), (Paths{"a.gcode", "bin/b.gcode", "x/d.gcode"}));
  EXPECT_EQ(below_root(find({{"*.gcode"}, {"*.gcode"}})), Paths{}) << "exclusion wins";
}

TEST_F(Walks, FaultsAreSaidInTheOrderOfTheirPaths) {
  for (const char* name : {"z.gcode", "m.gcode", "a.gcode"})
    fs::create_symlink("nowhere", root_ / name);
  fs::create_symlink("nowhere", root_ / "note.txt");
  const FoundPlates found = find();
  ASSERT_EQ(found.faults.size(), 3U) << "what would be no plate is no loss";
  EXPECT_EQ(found.faults[0].path, (root_ / "a.gcode").string());
  EXPECT_EQ(found.faults[2].path, (root_ / "z.gcode").string());
  for (const FolderFault& fault : found.faults)
    EXPECT_FALSE(fault.message.empty());
}

TEST_F(Walks, ALinkToAPlateIsThatPlateByItsOwnName) {
  put("a.gcode");
  fs::create_symlink("a.gcode", root_ / "b.gcode");
  EXPECT_EQ(below_root(find()), (Paths{"a.gcode", "b.gcode"}));
}

TEST_F(Walks, AZeroByteInANameIsAFault) {
  const std::string name = (root_ / "a").string() + std::string("\0b", 2);
  const FoundPlates found = find_plates({name}, {});
  EXPECT_TRUE(found.paths.empty());
  ASSERT_EQ(found.faults.size(), 1U);
  EXPECT_EQ(found.faults[0].message, "its name holds a zero byte");
}

TEST_F(Walks, WhatLiesThereExistsWhateverItIs) {
  put("a.gcode");
  EXPECT_TRUE(exists((root_ / "a.gcode").string()));
  EXPECT_TRUE(exists(root_.string()));
  EXPECT_FALSE(exists((root_ / "b.gcode").string()));
  EXPECT_FALSE(exists(""));
}

TEST_F(Walks, TheStateOfAFileChangesWithItsSizeAndTime) {
  put("a.gcode", "G28\n");
  const std::string path = (root_ / "a.gcode").string();
  const auto before = state_of(path);
  ASSERT_TRUE(before);
  EXPECT_EQ(state_of(path), before);
  fs::last_write_time(path, fs::last_write_time(path) + std::chrono::nanoseconds(1'000));
  EXPECT_EQ(state_of(path)->modified_ns - before->modified_ns, 1'000);
  put("a.gcode", "G28\nG1\n");
  EXPECT_EQ(state_of(path)->size_bytes, 7);
  EXPECT_EQ(hash_of_file(path), base::hash_of_text("G28\nG1\n"));
  EXPECT_FALSE(state_of(path + "x"));
}

TEST_F(Walks, AFileLongerThanABlockHasTheHashOfItsBytes) {
  for (const std::size_t size : {(1U << 20) - 1, 1U << 20, (1U << 20) + 1, 5'000'000U}) {
    const std::string text(size, 'g');
    put("long", text);
    EXPECT_EQ(hash_of_file((root_ / "long").string()), base::hash_of_text(text)) << size;
  }
}

}  // namespace
}  // namespace platetally::source
