// A plate that was sliced for a machine that changes heads, on one that changes filament.
#include "platetally/account.hpp"
#include "platetally/compare.hpp"
#include "support.hpp"

namespace platetally {
namespace {

const VerdictReason* reason_of(const Account& account) {
  for (const VerdictReason& reason : account.verdict.reasons)
    if (reason.code == "sliced-for-other-machine")
      return &reason;
  return nullptr;
}

// 213 swaps of 32 mm3, where 138 mm3 have to leave the nozzle before anything of the new colour
// comes.
TEST(OtherMachine, APlateOfAChangerIsToldFirstOnASwitcher) {
  for (const char* name : {"lantern", "labels", "tags"}) {
    const std::string path = test::testdata(std::string("demo/") + name + ".gcode.gz");
    const Account account = analyze_file(path, test::embedded("switcher-4"));
    const VerdictReason* reason = reason_of(account);
    ASSERT_NE(reason, nullptr) << name;
    EXPECT_EQ(reason, account.verdict.reasons.data()) << name;
    EXPECT_EQ(account.verdict.grade, Grade::look);
    EXPECT_NE(reason->text.find("slice it for switcher-4"), std::string::npos) << reason->text;
    EXPECT_NE(reason->text.find("--sliced-for changer-5"), std::string::npos) << reason->text;
    for (const Finding& finding : account.findings)
      EXPECT_NE(finding.code, "copies-share-swaps") << name;
    EXPECT_EQ(reason_of(analyze_file(path, test::embedded("changer-5"))), nullptr) << name;
  }
}

TEST(OtherMachine, WhatIsSlicedForASwitcherIsNot) {
  const Account account =
      analyze_file(test::testdata("demo/lantern-chute.gcode.gz"), test::embedded("switcher-4"));
  EXPECT_EQ(reason_of(account), nullptr);
}

// 32 mm3 in the file and 40 mm3 by the machine itself are more than half of 138 mm3, and 35 are
// not.
TEST(OtherMachine, WhatTheMachinePurgesItselfCounts) {
  Machine machine = test::embedded("switcher-4");
  const std::string path = test::testdata("demo/lantern.gcode.gz");
  machine.swap.hidden_purge_mm3 = 40.0;
  EXPECT_EQ(reason_of(analyze_file(path, machine)), nullptr);
  machine.swap.hidden_purge_mm3 = 35.0;
  EXPECT_NE(reason_of(analyze_file(path, machine)), nullptr);
}

// By hand, a person purges too.
TEST(OtherMachine, NothingIsSaidWhereAPersonChangesTheFilament) {
  const Account account =
      analyze_file(test::testdata("demo/lantern.gcode.gz"), test::embedded("single-1"));
  EXPECT_EQ(reason_of(account), nullptr);
}

TEST(OtherMachine, APlateThatIsPlannedAgainForTheMachineIsItsOwn) {
  CompareOptions options;
  options.sliced_for = test::embedded("changer-5");
  const Comparison comparison =
      compare_plate(test::testdata("demo/lantern.gcode.gz"),
                    {test::embedded("switcher-4"), test::embedded("changer-5")}, options);
  for (const ComparedMachine& machine : comparison.machines)
    EXPECT_EQ(reason_of(machine.account), nullptr) << machine.name;
}

// Real plates of one-nozzle machines that purge in a chute or on a tower.
TEST(OtherMachine, RealPlatesOfOneNozzleRaiseNoAlarm) {
  int read = 0;
  for (const char* name : {"chute_one_change", "chute_two_changes", "chute_and_tower",
                           "tower_four_changes", "chute_tool_numbers_beyond"}) {
    const std::string path = test::shared_plate(std::string(name) + ".gcode.gz");
    if (path.empty())
      continue;
    ++read;
    AnalyzeOptions options;
    options.partial = true;
    EXPECT_EQ(reason_of(analyze_file(path, test::embedded("switcher-4"), options)), nullptr)
        << name;
  }
  if (read == 0)
    GTEST_SKIP() << "the real plates are not at hand";
}

}  // namespace
}  // namespace platetally
