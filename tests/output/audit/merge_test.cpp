// Files of shares that do not belong together are refused, by file and line.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

#include "platetally/audit.hpp"
#include "platetally/machine.hpp"
#include "support/temp_folder.hpp"

namespace platetally {
namespace {

namespace fs = std::filesystem;

class Merging : public testing::Test {
 protected:
  /// An audit of one small plate, as the lines of a share.
  std::string share(const std::string& name, int shard, int shards) {
    const fs::path plates = temp_.path() / "plates";
    fs::create_directories(plates);
    std::ofstream(plates / "a.gcode") << "G90\nM83\nG1 Z0.2 F600\nG1 X10 E1 F1200\nT1\nG1 X20 E2\n";
    AuditOptions options;
    options.shard = shard;
    options.shards = shards;
    std::string lines;
    options.on_record = [&](std::string_view line) { lines += std::string(line) + '\n'; };
    audit({plates.string()}, load_machine("changer-5").machine(), options);
    return write(name, lines);
  }
  std::string write(const std::string& name, const std::string& text) {
    const std::string path = (temp_.path() / name).string();
    std::ofstream(path, std::ios::binary) << text;
    return path;
  }
  static std::string text_of(const std::string& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
  }
  static std::string refusal(const std::vector<std::string>& files) {
    try {
      merge_audits(files, {});
    } catch (const std::runtime_error& error) {
      return error.what();
    }
    return "merged";
  }

  test::TempFolder temp_;
};

TEST_F(Merging, EveryShareOnceIsTheWhole) {
  EXPECT_EQ(merge_audits({share("2", 2, 2), share("1", 1, 2)}, {}).plates, 1U);
}

TEST_F(Merging, AShareTwiceIsRefused) {
  const std::string first = share("1", 1, 2);
  EXPECT_TRUE(refusal({first, write("copy", text_of(first)), share("2", 2, 2)})
                  .ends_with("copy:1: share 1 was in an earlier file"));
}

TEST_F(Merging, MissingSharesAreNamed) {
  EXPECT_EQ(refusal({share("2", 2, 4)}), "of 4 shares these are missing: 1, 3, 4");
}

TEST_F(Merging, SharesOfOtherNumbersAreRefused) {
  EXPECT_NE(refusal({share("1", 1, 2), share("b", 2, 3)}).find("b:1: is of another machine"),
            std::string::npos);
}

TEST_F(Merging, AFileThatWasCutOffIsRefused) {
  std::string text = text_of(share("1", 1, 1));
  text.erase(text.rfind('\n', text.size() - 2) + 1);
  EXPECT_NE(refusal({write("cut", text)}).find("ends before the audit did"), std::string::npos);
}

TEST_F(Merging, NothingMayFollowTheEnd) {
  const std::string text = text_of(share("1", 1, 1));
  EXPECT_NE(refusal({write("more", text + "{}\n")}).find("expected nothing behind the end"),
            std::string::npos);
}

TEST_F(Merging, AFileThatIsInNoShareIsMissed) {
  std::string text = text_of(share("1", 1, 1));
  const std::size_t begin = text.find("{\"type\": \"plate\"");
  text.erase(begin, text.find('\n', begin) + 1 - begin);
  EXPECT_EQ(refusal({write("lost", text)}),
            "of the 1 files that were listed the shares hold 0; do the shares again");
}

TEST_F(Merging, SharesThatSawOtherFilesAreRefused) {
  const std::string first = share("1", 1, 2);
  std::ofstream(temp_.path() / "plates" / "b.gcode") << "G90\nM83\nG1 X10 E1 F1200\n";
  EXPECT_NE(refusal({first, share("2", 2, 2)}).find("2:1: saw 2 files, and the first share 1"),
            std::string::npos);
}

TEST_F(Merging, AFileThatIsNotThereIsSaid) {
  EXPECT_EQ(refusal({"/nowhere/share"}), "/nowhere/share: cannot be read");
}

}  // namespace
}  // namespace platetally
