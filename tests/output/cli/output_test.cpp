// Results are whole or not there, whatever happens while they are written.
#include "output/cli/output.hpp"

#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <fstream>
#include <sstream>

#include "output/cli/commands.hpp"
#include "output/cli/record_file.hpp"
#include "support/temp_folder.hpp"

namespace platetally::cli {
namespace {

namespace fs = std::filesystem;

std::string text_of(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

std::vector<std::string> lines_of(const fs::path& path) {
  std::istringstream in(text_of(path));
  std::vector<std::string> lines;
  for (std::string line; std::getline(in, line);)
    lines.push_back(line);
  return lines;
}

std::vector<std::string> names_in(const fs::path& folder) {
  std::vector<std::string> names;
  for (const fs::directory_entry& entry : fs::directory_iterator(folder))
    names.push_back(entry.path().filename().string());
  return names;
}

class InAFolder : public testing::Test {
 protected:
  std::string at(const char* name) const { return (folder_.path() / name).string(); }
  const test::TempFolder folder_;
};

using Outputs = InAFolder;
using Lines = InAFolder;

TEST_F(Outputs, AreThereOnceTheyAreWritten) {
  Output output(at("report.txt"), "");
  EXPECT_FALSE(output.is_standard_output());
  EXPECT_TRUE(names_in(folder_.path()).empty()) << "nothing before";
  output.write("lantern\n");
  EXPECT_EQ(text_of(at("report.txt")), "lantern\n");
  EXPECT_EQ(names_in(folder_.path()).size(), 1U) << "no file is left beside it";
}

TEST_F(Outputs, ThatFailHalfwayLeaveWhatWasThere) {
  std::ofstream(at("report.txt")) << "old\n";
  Output output(at("report.txt"), "");
  EXPECT_THROW(output.write_parts([](const Output::Sink& sink) {
    sink("half of it");
    throw RunError("the plate ended");
  }),
               RunError);
  EXPECT_EQ(text_of(at("report.txt")), "old\n");
  EXPECT_EQ(names_in(folder_.path()).size(), 1U);
}

TEST_F(Outputs, InPartsAreTheSameAsInOne) {
  const std::string part(100'000, 'x');
  Output(at("whole"), "").write(part + part + part + "y");
  Output(at("parts"), "").write_parts([&](const Output::Sink& sink) {
    for (int i = 0; i < 3; ++i)
      sink(part);
    sink("");
    sink("y");
  });
  EXPECT_EQ(text_of(at("whole")), text_of(at("parts")));
}

TEST_F(Outputs, NeverReplaceTheirInput) {
  std::ofstream(at("tag.gcode")) << "G28\n";
  fs::create_symlink("tag.gcode", at("link"));
  for (const char* name : {"tag.gcode", "link"}) {
    std::string said;
    try {
      Output output(at(name), at("tag.gcode"));
    } catch (const UsageError& error) {
      said = error.what();
    }
    EXPECT_EQ(said, "-o " + at(name) + ": that is the input");
  }
  EXPECT_EQ(text_of(at("tag.gcode")), "G28\n");
}

TEST_F(Outputs, SayAtOnceWhereNothingCanBeWritten) {
  const auto fault = [](const std::string& path) {
    try {
      Output output(path, "");
    } catch (const RunError& error) {
      return std::string(error.what());
    }
    return std::string("taken");
  };
  EXPECT_EQ(fault(folder_.path().string()),
            folder_.path().string() + ": cannot be written: Is a directory");
  EXPECT_EQ(fault(at("no/such/report")),
            at("no/such/report") + ": cannot be written: No such file or directory");
}

TEST_F(Outputs, KeepALinkAndTheModeOfTheFile) {
  std::ofstream(at("real")) << "old\n";
  fs::permissions(at("real"), fs::perms(0640));
  fs::create_symlink("real", at("link"));
  Output(at("link"), "").write("new\n");
  EXPECT_TRUE(fs::is_symlink(at("link")));
  EXPECT_EQ(text_of(at("real")), "new\n");
  EXPECT_EQ(fs::status(at("real")).permissions(), fs::perms(0640));
}

TEST_F(Outputs, OfANewFileHaveTheModeThatTheMaskLeaves) {
  const mode_t mask = ::umask(027);
  Output(at("new"), "").write("x");
  ::umask(mask);
  EXPECT_EQ(fs::status(at("new")).permissions(), fs::perms(0640));
}

TEST_F(Lines, StandBesideTheFileUntilTheyAreWhole) {
  std::ofstream(at("log")) << "old\n";
  {
    LineOutput output(at("log"));
    output.write("one");
    EXPECT_EQ(text_of(at("log.partial")), "one\n");
    EXPECT_EQ(text_of(at("log")), "old\n");
    output.write("two");
    output.finish();
  }
  EXPECT_EQ(text_of(at("log")), "one\ntwo\n");
  EXPECT_FALSE(fs::exists(at("log.partial")));
}

TEST_F(Lines, OfABrokenRunStayAndARunThatSaidNothingLeavesNothing) {
  {
    LineOutput output(at("broken"));
    output.write("one");
  }
  EXPECT_EQ(text_of(at("broken.partial")), "one\n");
  EXPECT_FALSE(fs::exists(at("broken")));
  { LineOutput output(at("silent")); }
  EXPECT_FALSE(fs::exists(at("silent.partial")));
}

TEST_F(Lines, SayWhereTheyCannotBeWritten) {
  EXPECT_THROW(LineOutput output(at("no/log")), RunError);
}

class Recording : public InAFolder {
 protected:
  /// A second after the one before.
  std::optional<double> take(RecordFile& file, double value) {
    return file.take(value, now_s_ += 1.0);
  }

 private:
  double now_s_ = 1'777'900'000.0;
};

TEST_F(Recording, BeginsWithAHeadingAndAnOlderOneIsContinued) {
  {
    RecordFile file(at("plug.csv"), false, 5.0);
    EXPECT_EQ(take(file, 40.5), 40.5);
    EXPECT_EQ(file.samples(), 1U);
  }
  {
    RecordFile file(at("plug.csv"), false, 5.0);
    take(file, 41.0);
    EXPECT_EQ(file.samples(), 1U) << "its own";
  }
  const std::vector<std::string> lines = lines_of(at("plug.csv"));
  ASSERT_EQ(lines.size(), 4U);
  EXPECT_EQ(lines[0], "utc,epoch seconds,watts,cumulative wh");
  EXPECT_NE(lines[1].find(",40.500,0.0000"), std::string::npos) << lines[1];
  EXPECT_TRUE(lines[2].starts_with("# ")) << lines[2];
  EXPECT_TRUE(lines[2].ends_with("Z recording begins again")) << lines[2];
  EXPECT_NE(lines[3].find(",41.000,"), std::string::npos);
}

TEST_F(Recording, LeavesOutWhatNoPlugCarries) {
  RecordFile file(at("plug.csv"), false, 5.0);
  EXPECT_EQ(take(file, RecordFile::kMost_w), RecordFile::kMost_w);
  EXPECT_EQ(take(file, RecordFile::kMost_w + 1.0), std::nullopt);
  EXPECT_EQ(take(file, -RecordFile::kMost_w - 1.0), std::nullopt);
  EXPECT_EQ(file.samples(), 1U);
  EXPECT_EQ(file.left_out(), 2U);
  const std::vector<std::string> lines = lines_of(at("plug.csv"));
  ASSERT_EQ(lines.size(), 4U);
  EXPECT_TRUE(lines[2].ends_with("25001 was left out: more than any plug carries")) << lines[2];
}

TEST_F(Recording, OfACounterHasNoWattsBeforeTheSecondValue) {
  RecordFile file(at("plug.csv"), true, 5.0);
  EXPECT_EQ(take(file, 1000.0), std::nullopt);
  EXPECT_EQ(file.samples(), 0U);
  EXPECT_EQ(take(file, 1000.0), 0.0) << "what has not moved drew nothing";
  EXPECT_EQ(file.samples(), 1U);
}

// A jump up in no time is a slip; one that the next value confirms, or one down, is a new
// beginning.
TEST_F(Recording, ACounterThatJumpsBeginsAnew) {
  RecordFile file(at("plug.csv"), true, 5.0);
  take(file, 1000.0);
  EXPECT_EQ(take(file, 900'000.0), std::nullopt);
  EXPECT_EQ(file.left_out(), 1U);
  EXPECT_EQ(take(file, 1000.0), 0.0) << "the slip is forgotten";
  EXPECT_EQ(take(file, 5.0), std::nullopt) << "it was set back";
  EXPECT_EQ(take(file, 5.0), 0.0);
  EXPECT_EQ(take(file, 70'000.0), std::nullopt);
  EXPECT_EQ(take(file, 70'000.0), std::nullopt) << "twice the same: it has another beginning";
  EXPECT_EQ(take(file, 70'000.0), 0.0);
  EXPECT_EQ(file.left_out(), 2U);
  int anew = 0;
  for (const std::string& line : lines_of(at("plug.csv")))
    anew += line.ends_with("the counter begins anew") ? 1 : 0;
  EXPECT_EQ(anew, 2);
}

TEST_F(Recording, AMarkIsOneLineWhateverItSays) {
  RecordFile file(at("plug.csv"), false, 5.0);
  file.mark("the broker\nis\tback");
  EXPECT_TRUE(lines_of(at("plug.csv")).at(1).ends_with("Z the broker is back"));
  EXPECT_EQ(lines_of(at("plug.csv")).size(), 2U);
}

TEST_F(Recording, SaysWhereItCannotBeWritten) {
  EXPECT_THROW(RecordFile file(at("no/plug.csv"), false, 5.0), RunError);
}

}  // namespace
}  // namespace platetally::cli
