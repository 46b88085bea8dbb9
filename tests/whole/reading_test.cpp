// What becomes of files that are no plate, or a part of one, and what a file says of itself.
#include <fmt/format.h>

#include "platetally/report.hpp"
#include "support.hpp"

namespace platetally {
namespace {

std::string refusal(const std::string& bytes, bool partial = false) {
  AnalyzeOptions options;
  options.partial = partial;
  try {
    analyze_bytes(bytes, test::embedded("changer-5"), options);
  } catch (const UnreadablePlate& refused) {
    return refused.what();
  }
  return "";
}

Account part_of(const std::string& bytes) {
  AnalyzeOptions options;
  options.partial = true;
  return analyze_bytes(bytes, test::embedded("changer-5"), options);
}

/// Squares of 10 mm: 4 x 0.4 mm of filament a layer.
std::string plate(int layers, const std::string& header = "", const std::string& footer = "") {
  std::string text = header + "M83\nM104 S200\nT0\n";
  for (int layer = 1; layer <= layers; ++layer)
    text += fmt::format(
        "G0 X50 Y50 Z{:.1f} F6000\nG1 X60 E.4 F1200\nG1 Y60 E.4\nG1 X50 E.4\nG1 Y50 E.4\n",
        0.2 * layer);
  return text + footer;
}

TEST(NotAPlate, SaysWhatTheFirstBytesLookLike) {
  std::string zeros = plate(50);
  for (std::size_t at = zeros.find('\n'); at != std::string::npos; at = zeros.find('\n', at + 2))
    zeros.insert(at, 1, '\0');
  std::string wide;
  for (const char c : "\xFF\xFE" + plate(50))
    wide += {c, '\0'};
  const std::vector<std::pair<std::string, const char*>> rows = {
      {"Sow in March, plant out in May.\nWater once a day.\n", "text that begins with 'Sow in"},
      {std::string("GCOD\1\0\0\0\x93\xfe\xa0", 11) + std::string(500, '\x9c') +
           "\n\x01\x02\nG1 X1\n",
       "could not be read"},
      {zeros, "it looks like binary data"},
      {wide, "it looks like binary data"},
      {"", "empty"},
      {"START_ALL\nEND_ALL\n", "no G-code command that is known"}};
  for (const auto& [bytes, part] : rows)
    EXPECT_NE(refusal(bytes).find(part), std::string::npos) << refusal(bytes);
}

TEST(Partial, MostMovesLeftOutIsRefusedUnlessAskedFor) {
  std::string text = plate(5);
  for (int i = 0; i < 100; ++i)
    text += "G1 X{x} E1\n";
  EXPECT_NE(refusal(text).find("100 of its 125 moves could not be read"), std::string::npos)
      << refusal(text);
  EXPECT_NE(refusal(text).find("--partial"), std::string::npos);
  const Account account = part_of(text);
  EXPECT_TRUE(account.reading.is_partial());
  EXPECT_EQ(account.reading.moves, 25U);
  EXPECT_EQ(account.reading.moves_left_out, 100U);
  EXPECT_NE(test::find_diagnostic(account, "plate-partial"), nullptr);
  EXPECT_NEAR(account.tools[0].filament_mm, 8.0, 1e-9);
}

TEST(Partial, FewMovesLeftOutIsAnErrorInTheReportAsBefore) {
  const Account account = analyze_bytes(plate(5) + "G1 X{x} E1\n", test::embedded("changer-5"));
  EXPECT_FALSE(account.reading.is_partial());
  EXPECT_EQ(account.reading.moves_left_out, 1U);
}

TEST(Partial, NoLimitPassesOnAPart) {
  const std::vector<std::pair<std::string, double>> limits{{"purge_g", 1e9}};
  const Account whole = analyze_bytes(plate(5), test::embedded("changer-5"));
  EXPECT_FALSE(check_limits(whole, limits).partial);
  std::string text = plate(5);
  for (int i = 0; i < 100; ++i)
    text += "G1 X{x} E1\n";
  const Account part = part_of(text);
  EXPECT_TRUE(check_limits(part, limits).partial);
  EXPECT_FALSE(check_limits(part, {}).partial);
}

TEST(Partial, ABrokenContainerIsRefusedUnlessAskedFor) {
  const std::string whole = test::read_text(test::testdata("demo/labels.gcode.gz"));
  const std::string half = whole.substr(0, whole.size() / 2);
  EXPECT_NE(refusal(half).find(fmt::format("{0} of {0} bytes", half.size())), std::string::npos)
      << refusal(half);
  const Account account = part_of(half);
  EXPECT_TRUE(account.reading.is_partial());
  EXPECT_EQ(account.reading.source_bytes_in_all, half.size());
  EXPECT_NE(test::find_diagnostic(account, "source-broken"), nullptr);
  EXPECT_GT(account.totals.layers, 0U);
  std::string turned = whole;
  turned[turned.size() / 2] = static_cast<char>(turned[turned.size() / 2] ^ 4);
  EXPECT_NE(refusal(turned), "");
}

TEST(Heads, OneThatLaysAndIsNeverHeatedIsNamed) {
  const std::string cold =
      "M83\nM104 T0 S200\nT0\nG0 X50 Y50 Z0.2 F6000\nG1 X60 E1 F1200\n"
      "T1\nG1 X50 E1\n";
  const Account account = analyze_bytes(cold, test::embedded("changer-5"));
  const Diagnostic* const said = test::find_diagnostic(account, "head-never-heated");
  ASSERT_NE(said, nullptr);
  EXPECT_NE(said->message.find("T1 on head 1"), std::string::npos) << said->message;
  EXPECT_EQ(said->message.find("T0"), std::string::npos);
  // One nozzle that all tools share is hot for all of them.
  const Account shared = analyze_bytes(cold, test::embedded("switcher-4"));
  EXPECT_EQ(test::find_diagnostic(shared, "head-never-heated"), nullptr);
}

TEST(Stated, FiguresAreHeldAgainstWhatIsFound) {
  // 20 layers of 1.6 mm.
  const Account right = analyze_bytes(
      plate(20, "; total layers: 20\n; estimated time: 5 min\n", "; filament length [mm] = 32.1\n"),
      test::embedded("changer-5"));
  ASSERT_EQ(right.stated.size(), 3U);
  EXPECT_EQ(right.stated[0].what, "filament_mm");
  EXPECT_NEAR(right.stated[0].found, 32.0, 1e-9);
  EXPECT_FALSE(right.stated[0].differs);
  EXPECT_EQ(right.stated[1].what, "layers");
  EXPECT_EQ(right.stated[1].line, 1U);
  EXPECT_FALSE(right.stated[1].differs);
  EXPECT_EQ(right.stated[2].what, "time_s");
  EXPECT_EQ(test::find_diagnostic(right, "stated-filament-differs"), nullptr);
  EXPECT_NE(to_text(right, {.full = true})
                .find("the file's own figures: filament 32.10 mm (found 32.00 mm, -0.3 %)"),
            std::string::npos);

  const Account wrong =
      analyze_bytes(plate(20, "; total layers: 23\n", "; filament length [mm] = 34\n"),
                    test::embedded("changer-5"));
  EXPECT_TRUE(wrong.stated[0].differs && wrong.stated[1].differs);
  EXPECT_NE(test::find_diagnostic(wrong, "stated-filament-differs"), nullptr);
  EXPECT_NE(test::find_diagnostic(wrong, "stated-layers-differ"), nullptr);
}

TEST(Stated, AreNeverInput) {
  const Machine machine = test::embedded("changer-5");
  const Account with = analyze_bytes(
      plate(20, "; total layers: 99\n; filament weight [g] = 99\n; filament used T3: 4 m\n"),
      machine);
  const Account without = analyze_bytes(plate(20), machine);
  EXPECT_EQ(with.totals.layers, without.totals.layers);
  EXPECT_EQ(with.totals.time.expected, without.totals.time.expected);
  EXPECT_EQ(with.totals.part_g, without.totals.part_g);
  EXPECT_EQ(with.totals.energy_wh, without.totals.energy_wh);
}

TEST(Stated, ListsAreByTool) {
  const std::string two = "T1\nG1 X60 E2\n";
  const Account account = analyze_bytes(plate(5, "", two + "; filament length [mm] = 8.0, 2.0\n"),
                                        test::embedded("changer-5"));
  ASSERT_EQ(account.stated.size(), 3U);
  EXPECT_NEAR(account.stated[0].stated, 10.0, 1e-9);
  EXPECT_EQ(account.stated[1].tool, 0);
  EXPECT_NEAR(account.stated[2].found, 2.0, 1e-9);
}

TEST(Stated, CommentsAmidThePlateStateNothing) {
  std::string text = plate(3) + "; total layers: 50\n" + plate(200);
  EXPECT_TRUE(analyze_bytes(text, test::embedded("changer-5")).stated.empty());
}

TEST(Stated, ThickFilamentIsSuspected) {
  // 32 mm of 2.85 mm filament are 0.2041 cm3; of 1.75 mm 0.0770.
  const Account account = analyze_bytes(
      plate(20, "", "; filament length [mm] = 32.0\n; filament volume [cm3] = 0.204\n"),
      test::embedded("changer-5"));
  EXPECT_NE(test::find_diagnostic(account, "filament-diameter-suspected"), nullptr);
  const Account thin = analyze_bytes(
      plate(20, "", "; filament length [mm] = 32.0\n; filament volume [cm3] = 0.077\n"),
      test::embedded("changer-5"));
  EXPECT_EQ(test::find_diagnostic(thin, "filament-diameter-suspected"), nullptr);
}

TEST(Words, ThatMayMatterComeFirstWithARow) {
  Machine machine = test::embedded("changer-5");
  machine.dialect.limits_by_key = false;
  const Account account =
      analyze_bytes(plate(5, "M83\n", "M746 S1\nM746 S1\nM746 S1\nSET_PACE ACCEL=3000\n"), machine);
  ASSERT_EQ(account.unaccounted.size(), 2U);
  EXPECT_EQ(account.unaccounted[0].word, "SET_PACE");
  EXPECT_NE(account.unaccounted[0].why.find("ACCEL of 3000"), std::string::npos);
  EXPECT_TRUE(account.unaccounted[1].why.empty());
  // The row is sound: a machine file that has it explains the word.
  std::string file = "extends = \"changer-5\"\n" + account.unaccounted[0].row;
  const MachineLoad load = parse_machine(file, "row");
  ASSERT_TRUE(load.ok()) << file;
  const Account explained = analyze_bytes(plate(5, "", "SET_PACE ACCEL=3000\n"), load.machine());
  EXPECT_TRUE(explained.unaccounted.empty());
}

TEST(Words, AStartMacroThatHeatsIsSuspected) {
  std::string text = plate(5);
  text.replace(text.find("M104 S200"), 9, "WARM_UP B=60 H=215");
  const Account account = analyze_bytes(text, test::embedded("changer-5"));
  ASSERT_EQ(account.unaccounted.size(), 1U);
  EXPECT_NE(account.unaccounted[0].row.find("B = \"bed_c\", H = \"head_c\""), std::string::npos)
      << account.unaccounted[0].row;
}

TEST(Effort, AMoveOfYearsIsBoundedAndSaid) {
  const Account account = analyze_bytes("M83\nG1 X1000 E1 F0.0001\n", test::embedded("single-1"));
  EXPECT_LE(account.totals.time.expected, 8.0 * 86400.0);
  EXPECT_NE(test::find_diagnostic(account, "move-too-long"), nullptr);
}

TEST(Effort, WaitsWithoutEndAreBoundedAndSaid) {
  std::string text = "M83\nG1 X10 E1 F600\n";
  for (int i = 0; i < 3000; ++i)
    text += i % 2 == 0 ? "M190 S110\n" : "M190 R25\n";
  const Account account = analyze_bytes(text, test::embedded("single-1"));
  EXPECT_LE(account.totals.time.expected, 5.0 * 86400.0);
  EXPECT_NE(test::find_diagnostic(account, "waits-too-long"), nullptr);
}

/// Against what the plates' own authors and an independent counter have.
TEST(SharedPlates, AreReadAsTheyAre) {
  struct Row {
    const char* file;
    const char* machine;
    double filament_mm;  // 0: not stated
    std::size_t layers;  // 0: not stated
  };
  // The first: 3781.15 mm behind its last G92, a start line of 30 mm, 4 mm drawn back at the end.
  for (const Row& row :
       {Row{"absolute_e_relative_end.gcode.gz", "single-1", 3807.15, 240},
        Row{"spiral_69.gcode.gz", "single-1", 0, 69}, Row{"spiral_88.gcode.gz", "single-1", 0, 88},
        Row{"spiral_100.gcode.gz", "single-1", 0, 100},
        Row{"chute_one_change.gcode.gz", "switcher-4", 0, 0},
        Row{"chute_two_changes.gcode.gz", "switcher-4", 0, 0},
        Row{"chute_and_tower.gcode.gz", "switcher-4", 0, 0},
        Row{"chute_tool_numbers_beyond.gcode.gz", "switcher-4", 0, 0},
        Row{"tower_four_changes.gcode.gz", "changer-5", 0, 0},
        Row{"two_tools_beyond_area.gcode.gz", "changer-5", 0, 0}}) {
    SCOPED_TRACE(row.file);
    const std::string path = test::shared_plate(row.file);
    if (path.empty())
      GTEST_SKIP() << "the shared plates are not here";
    const Account account = analyze_file(path, test::embedded(row.machine));
    for (const Diagnostic& diagnostic : account.diagnostics)
      EXPECT_NE(diagnostic.severity, Severity::error) << diagnostic.message;
    if (row.filament_mm > 0.0) {
      EXPECT_NEAR(account.tools[0].filament_mm, row.filament_mm, 0.01);
    }
    if (row.layers > 0) {
      EXPECT_NEAR(static_cast<double>(account.totals.layers), static_cast<double>(row.layers),
                  0.02 * static_cast<double>(row.layers));
    }
  }
}

TEST(SharedPlates, AToolThatIsNotThereIsNamedWithWhatItFeeds) {
  const std::string path = test::shared_plate("chute_tool_numbers_beyond.gcode.gz");
  if (path.empty())
    GTEST_SKIP() << "the shared plates are not here";
  const Account account = analyze_file(path, test::embedded("switcher-4"));
  double lost_mm = 0.0;
  for (const MissingTool& tool : account.missing_tools)
    lost_mm += tool.filament_mm;
  EXPECT_NEAR(lost_mm, 1493.0, 1.0);
}

TEST(SharedPlates, WhatLiesBeyondTheAreaIsNoCertainPurge) {
  const std::string path = test::shared_plate("two_tools_beyond_area.gcode.gz");
  if (path.empty())
    GTEST_SKIP() << "the shared plates are not here";
  const Account account = analyze_file(path, test::embedded("changer-5"));
  EXPECT_LT(account.totals.purge_low_g, 0.05);
  EXPECT_GT(account.totals.purge_high_g, 2.0);
}

TEST(SharedPlates, TheColdHeadIsNamed) {
  const std::string path = test::shared_plate("two_tools_relative_e.gcode");
  if (path.empty())
    GTEST_SKIP() << "the shared plates are not here";
  const Account account = analyze_file(path, test::embedded("changer-5"));
  const Diagnostic* const said = test::find_diagnostic(account, "head-never-heated");
  ASSERT_NE(said, nullptr);
  EXPECT_NE(said->message.find("T0 on head 0 lays 3.89 g"), std::string::npos) << said->message;
}

}  // namespace
}  // namespace platetally
