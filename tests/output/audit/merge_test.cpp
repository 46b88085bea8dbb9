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

TEST_F(Merging, SharesThatSawOtherSizesAreRefused) {
  fs::create_directories(temp_.path() / "plates");
  std::ofstream(temp_.path() / "plates" / "b.gcode") << "G90\nM83\nG1 X10 E1 F1200\n";
  const std::string first = share("1", 1, 2);
  EXPECT_EQ(merge_audits({first, share("2", 2, 2)}, {}).plates, 2U);
  std::ofstream(temp_.path() / "plates" / "b.gcode", std::ios::app) << "G1 X20 E1\n";
  EXPECT_NE(refusal({first, share("other", 2, 2)}).find("not all of them the same"),
            std::string::npos);
}

TEST_F(Merging, AFileInTwoSharesIsRefused) {
  const std::string first = share("1", 1, 2);
  std::string text = text_of(share("2", 2, 2));
  const std::string whole = text_of(first);
  const std::size_t begin = whole.find("{\"type\": \"plate\"");
  ASSERT_NE(begin, std::string::npos) << "the only plate is in the first share";
  text.insert(text.find("{\"type\": \"end\""),
              whole.substr(begin, whole.find('\n', begin) + 1 - begin));
  EXPECT_NE(refusal({first, write("twice", text)}).find("twice:2: is of a file that"),
            std::string::npos)
      << refusal({first, write("twice", text)});
}

TEST_F(Merging, OneHistoryGetsTheRecordsOfAllSharesOnce) {
  fs::create_directories(temp_.path() / "plates");
  std::ofstream(temp_.path() / "plates" / "empty.gcode") << "";  // fails, and is not kept
  const std::string first = share("1", 1, 1);
  AuditOptions options;
  options.history = (temp_.path() / "h.sqlite").string();
  options.now_s = [] { return std::int64_t{1'795'619'832}; };
  merge_audits({first}, options);
  const std::string once = to_json(read_history(options.history, 0, {}, {}));
  merge_audits({first}, options);
  EXPECT_EQ(to_json(read_history(options.history, 0, {}, {})), once);
  const HistoryReport kept = read_history(options.history, 0, {}, {});
  ASSERT_EQ(kept.audit.rows.size(), 1U);
  EXPECT_EQ(kept.groups.at(0).machine, "changer-5");
  EXPECT_EQ(kept.weeks.at(0).monday, "2026-11-23");

  // The plate is known then, and not read again.
  AuditOptions again;
  again.history = options.history;
  again.now_s = options.now_s;
  EXPECT_EQ(audit({(temp_.path() / "plates").string()}, load_machine("changer-5").machine(), again)
                .from_history,
            1U);
}

TEST_F(Merging, WhatIsRefusedLeavesNothingInTheHistory) {
  std::string text = text_of(share("1", 1, 1));
  const std::size_t begin = text.find("\"values\": {");
  text.replace(begin, 11, "\"nothing\": ");
  AuditOptions options;
  options.history = (temp_.path() / "h.sqlite").string();
  EXPECT_THROW(merge_audits({write("broken", text)}, options), std::runtime_error);
  EXPECT_TRUE(read_history(options.history, 0, {}, {}).audit.rows.empty());
}

TEST_F(Merging, RowsComeInTheOrderOfTheReportWithoutBeingKept) {
  const std::string first = share("1", 1, 1);
  std::string parts = csv_head();
  AuditOptions options;
  options.most_rows = 1;
  options.on_row = [&](const AuditReport& sums, const AuditRow& row) {
    EXPECT_EQ(sums.plates, 1U);
    parts += csv_row(row);
  };
  const AuditReport report = merge_audits({first}, options);
  EXPECT_EQ(parts + csv_tail(report), to_csv(merge_audits({first}, {})));
}

TEST_F(Merging, AFileThatIsNotThereIsSaid) {
  EXPECT_EQ(refusal({"/nowhere/share"}), "/nowhere/share: cannot be read");
}

}  // namespace
}  // namespace platetally
