// Faults of a payback file: each is one line with its place, and what was expected.
#include <gtest/gtest.h>

#include <fstream>

#include "platetally/payback.hpp"
#include "support/temp_folder.hpp"

namespace platetally {
namespace {

const std::string kMachines =
    "[first]\nmachine = \"switcher-4\"\nprice = 900\n"
    "[second]\nmachine = \"changer-5\"\nprice = 2000\n";

class PaybackFaults : public testing::Test {
 protected:
  /// What is said, without the path in front; empty where it is read.
  std::string said(const std::string& text) const {
    std::ofstream(file_) << text;
    try {
      read_payback(file_);
    } catch (const std::invalid_argument& error) {
      const std::string what = error.what();
      EXPECT_TRUE(what.starts_with(file_)) << what;
      return what.substr(file_.size());
    }
    return "";
  }
  void expect(const std::string& text, const std::string& place, const std::string& words) const {
    const std::string what = said(text);
    EXPECT_TRUE(what.starts_with(place)) << what;
    EXPECT_NE(what.find(words), std::string::npos) << what;
    EXPECT_EQ(what.find('\n'), std::string::npos) << "one line";
  }

  const test::TempFolder folder_;
  const std::string file_ = (folder_.path() / "year.toml").string();
};

TEST_F(PaybackFaults, AFileThatIsNotThere) {
  try {
    read_payback((folder_.path() / "none.toml").string());
    ADD_FAILURE() << "it was read";
  } catch (const std::invalid_argument& error) {
    EXPECT_NE(std::string(error.what()).find("none.toml"), std::string::npos);
  }
}

TEST_F(PaybackFaults, WhatIsRequiredIsNamed) {
  expect("", ":1:1: ", "first");
  expect("[first]\nprice = 1\n", ":1:", "machine");
  expect("[first]\nmachine = \"changer-5\"\n", ":1:", "price");
  expect(kMachines, ":", "plates");
}

TEST_F(PaybackFaults, AKeyWithASlipNamesTheNearest) {
  expect(kMachines + "[[plate]]\npath = \"a\"\nweekly = 1\n", ":7:", "plates");
  expect(kMachines + "[[plates]]\npath = \"a\"\nweekley = 1\n", ":9:1: ", "weekly");
  expect("uptme = 0.5\n" + kMachines, ":1:1: ", "uptime");
}

TEST_F(PaybackFaults, ValuesOutOfRangeAreRefusedWithTheRange) {
  const std::string plates = "[[plates]]\npath = \"a\"\nweekly = 1\n";
  expect("uptime = -1\n" + kMachines + plates, ":1:", "uptime");
  expect(kMachines + plates + "[spread]\nwaste = 1.5\n", ":11:", "waste");
  expect(kMachines + plates + "[spread]\nplates = -0.1\n", ":11:", "spread.plates");
  expect("seed = 0.5\n" + kMachines + plates, ":1:", "seed");
  expect(kMachines + "[[plates]]\npath = \"a\"\nweekly = -2\n", ":9:", "weekly");
}

TEST_F(PaybackFaults, ValuesOfAnotherTypeAreRefused) {
  expect("first = 3\n", ":1:", "first");
  expect(kMachines + "[[plates]]\npath = 3\nweekly = 1\n", ":8:", "path");
  expect(kMachines + "[[plates]]\npath = \"a\"\nweekly = \"often\"\n", ":9:", "weekly");
  expect(kMachines + "[[plates]]\npath = \"a\"\nweekly = 1\ncolours = \"white\"\n",
         ":10:", "texts in brackets");
  expect(kMachines + "plates = 3\n", ":", "plates");
}

TEST_F(PaybackFaults, AColourThatIsNoneNamesTheNearest) {
  expect(kMachines + "[[plates]]\npath = \"a\"\nweekly = 1\ncolours = [\"\", \"blakc\"]\n",
         ":10:", "'black'");
}

TEST_F(PaybackFaults, AMachineThatIsNotThereStandsAtItsTable) {
  expect(
      "[first]\nmachine = \"swicher-4\"\nprice = 1\n[second]\nmachine = \"changer-5\"\n"
      "price = 2\n[[plates]]\npath = \"a\"\nweekly = 1\n",
      ":1:1: machine 'swicher-4': ", "switcher-4");
}

TEST_F(PaybackFaults, APlateThatCannotBeReadStandsAtItsTable) {
  expect(kMachines + "[[plates]]\npath = \"none.gcode\"\nweekly = 1\n", ":7:1: none.gcode: ", "");
  std::ofstream(folder_.path() / "empty.gcode") << "";
  expect(kMachines + "[[plates]]\npath = \"empty.gcode\"\nweekly = 1\n",
         ":7:1: empty.gcode: ", "the file is empty");
  std::filesystem::create_directory(folder_.path() / "shelf");
  expect(kMachines + "[[plates]]\npath = \"shelf\"\nweekly = 1\n",
         ":7:1: shelf: ", "holds no plate that can be read");
}

TEST_F(PaybackFaults, ACycleNeedsHoursAndKilograms) {
  std::ofstream(folder_.path() / "tag.gcode") << "G28\nM104 S215\nG1 X10 Y10 E1 F1200\n";
  const std::string plates = "[[plates]]\npath = \"tag.gcode\"\nweekly = 1\n";
  expect(kMachines + plates + "[cycle]\ngrams = 10\nhours = 0\nkg_per_year = 5\n",
         ":10:1: ", "cycle: expected hours and kg_per_year above 0");
}

// 10 g every 2 h, half of the 8,760 hours: 2,190 cycles of 10 g are 21.9 kg.
TEST_F(PaybackFaults, ACycleThatDoesNotAgreeWithItselfIsSaid) {
  EXPECT_DOUBLE_EQ(kg_a_year(10.0, 2.0, 0.5), 21.9);
  std::ofstream(folder_.path() / "tag.gcode") << "G28\nM104 S215\nG1 X10 Y10 E1 F1200\n";
  const auto notes = [&](double kg) {
    std::ofstream(file_) << "uptime = 0.5\n"
                         << kMachines
                         << "[[plates]]\npath = \"tag.gcode\"\nweekly = 1\n"
                            "[cycle]\ngrams = 10\nhours = 2\nkg_per_year = "
                         << kg << "\n";
    std::vector<std::string> found;
    for (const std::string& note : read_payback(file_).notes)
      if (note.find("cycle") != std::string::npos)
        found.push_back(note);
    return found;
  };
  EXPECT_TRUE(notes(21.9).empty());
  EXPECT_TRUE(notes(21.0).empty()) << "within a twentieth";
  ASSERT_EQ(notes(43.8).size(), 1U);
  EXPECT_EQ(notes(43.8)[0],
            "the cycle does not agree with itself: 10 g every 2 h at an uptime of 50 % are 22 kg a "
            "year, not 44; that would take 1.0 h a cycle");
}

}  // namespace
}  // namespace platetally
