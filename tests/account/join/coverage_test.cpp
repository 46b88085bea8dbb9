// When bytes are a plate, when a part of one, and when none: what is said in each case.
#include "account/join/coverage.hpp"

#include <gtest/gtest.h>

#include "account/join/made_from.hpp"
#include "platetally/analyze.hpp"

namespace platetally {
namespace {

/// 100 lines, 90 commands, 80 moves, all understood.
Coverage whole_plate() {
  Coverage coverage;
  coverage.bytes = 2000;
  coverage.lines = 100;
  coverage.commands = 90;
  coverage.reading.commands = 90;
  coverage.reading.moves = 80;
  coverage.head = "G28\nG1 X1\n";
  return coverage;
}

std::string said(const Coverage& coverage, bool partial = false) {
  try {
    require_plate(coverage, partial);
  } catch (const UnreadablePlate& error) {
    return error.what();
  }
  return "a plate";
}

TEST(Coverage, AWholePlateIsOne) {
  EXPECT_EQ(said(whole_plate()), "a plate");
}

TEST(Coverage, NoBytesAreNoPlate) {
  EXPECT_EQ(said(Coverage()), "the file is empty");
  EXPECT_EQ(said(Coverage(), true), "the file is empty");
}

TEST(Coverage, LinesWithoutACommandAreNoPlateWhateverIsAsked) {
  Coverage coverage = whole_plate();
  coverage.commands = coverage.reading.commands = coverage.reading.moves = 0;
  for (const bool partial : {false, true})
    EXPECT_TRUE(said(coverage, partial)
                    .starts_with("no G-code command in any of its 100 lines; it looks like "))
        << said(coverage, partial);
  coverage.commands = 3;
  EXPECT_TRUE(said(coverage).starts_with(
      "no G-code command that is known in any of its 100 lines; it looks like "));
}

TEST(Coverage, HalfOfTheMovesAreEnough) {
  Coverage coverage = whole_plate();
  coverage.reading.moves_left_out = 80;
  EXPECT_EQ(said(coverage), "a plate");
  coverage.reading.moves_left_out = 81;
  EXPECT_TRUE(said(coverage).starts_with("81 of its 161 moves could not be read; it looks like "))
      << said(coverage);
  EXPECT_TRUE(said(coverage).ends_with("; --partial tallies what could be read"));
  EXPECT_EQ(said(coverage, true), "a plate");
}

TEST(Coverage, MoreLinesThanCommandsMustBeRead) {
  Coverage coverage = whole_plate();
  coverage.reading.lines_left_out = 90;
  EXPECT_EQ(said(coverage), "a plate");
  coverage.reading.lines_left_out = 91;
  EXPECT_TRUE(said(coverage).starts_with(
      "91 of its 100 lines could not be read, and 90 commands were understood; it looks like "))
      << said(coverage);
  EXPECT_EQ(said(coverage, true), "a plate");
}

TEST(Coverage, AFileThatBreaksOffSaysHowFarItGoes) {
  Coverage coverage = whole_plate();
  coverage.reading.broken = "the packed data end too early";
  coverage.reading.source_bytes = 1200;
  EXPECT_EQ(said(coverage),
            "the packed data end too early; 1200 bytes of it were read; --partial tallies what "
            "could be read");
  coverage.reading.source_bytes_in_all = 5000;
  EXPECT_EQ(said(coverage),
            "the packed data end too early; 1200 of 5000 bytes of the file were read; --partial "
            "tallies what could be read");
  EXPECT_EQ(said(coverage, true), "a plate");
  coverage.reading.commands = 0;
  EXPECT_EQ(said(coverage, true),
            "the packed data end too early; 1200 of 5000 bytes of the file were read")
      << "of nothing there is no part";
}

TEST(Coverage, WhatIsPartialIsADiagnosticOfTheAccount) {
  Coverage coverage = whole_plate();
  coverage.reading.moves_left_out = 81;
  Diagnostic part = describe_part(coverage);
  EXPECT_EQ(part.code, "plate-partial");
  EXPECT_EQ(part.severity, Severity::error);
  EXPECT_EQ(part.line, 0U);
  EXPECT_EQ(part.message,
            "81 of its 161 moves could not be read; expected all of the plate; what was read is "
            "accounted for");
  coverage.reading.broken = "it ends";
  part = describe_part(coverage);
  EXPECT_EQ(part.code, "source-broken");
  EXPECT_EQ(part.line, 100U) << "the last that was read";
}

// The account says the same of itself: limits look at that.
TEST(Coverage, IsPartialAgreesWithWhatIsRefused) {
  for (const std::uint64_t moves_left_out : {0U, 80U, 81U})
    for (const std::uint64_t lines_left_out : {0U, 90U, 91U})
      for (const char* broken : {"", "it ends"}) {
        Coverage coverage = whole_plate();
        coverage.reading.moves_left_out = moves_left_out;
        coverage.reading.lines_left_out = lines_left_out;
        coverage.reading.broken = broken;
        EXPECT_EQ(coverage.reading.is_partial(), said(coverage) != "a plate");
      }
}

TEST(ExactText, OfAPlateAsItIsIsEmptyAndNamesWhatIsOtherwise) {
  Variant variant;
  EXPECT_EQ(exact_text(variant), "");
  variant.repeat = 3;
  variant.merge = {{2, 1}};
  variant.without = {4, 5};
  variant.drop_tower = true;
  variant.shift_x_mm = -1.5;
  variant.room_c = 0.0;
  variant.heat = {{1, 12}};
  EXPECT_EQ(exact_text(variant),
            "repeat 3, merge 2=1, without 4 5, drop_tower yes, shift_mm -1.5 0, room_c 0, heat "
            "tool 1 layer 12");
}

// What the words leave out would make two different reports look alike.
TEST(ExactText, TellsAnyTwoVariantsApart) {
  std::vector<Variant> variants(1);
  const auto add = [&](auto change) {
    variants.emplace_back();
    change(variants.back());
  };
  add([](Variant& v) { v.repeat = 2; });
  add([](Variant& v) { v.repeat = 3; });
  add([](Variant& v) { v.merge = {{2, 1}}; });
  add([](Variant& v) { v.merge = {{1, 2}}; });
  add([](Variant& v) { v.without = {1}; });
  add([](Variant& v) { v.drop_tower = true; });
  add([](Variant& v) { v.purge_as_needed = true; });
  add([](Variant& v) { v.purge_enough = true; });
  add([](Variant& v) { v.layers_share = 0.5; });
  add([](Variant& v) { v.shift_x_mm = 1.0; });
  add([](Variant& v) { v.shift_y_mm = 1.0; });
  add([](Variant& v) { v.standby_c = 0.0; });
  add([](Variant& v) { v.room_c = 0.0; });
  add([](Variant& v) { v.heat = {{1, 2}}; });
  add([](Variant& v) { v.heat = {{2, 1}}; });
  add([](Variant& v) { v.orders = {{0, 1}}; });
  add([](Variant& v) { v.orders = {{0}, {1}}; });
  add([](Variant& v) { v.orders = {{1, 0}}; });
  for (std::size_t i = 0; i < variants.size(); ++i)
    for (std::size_t k = i + 1; k < variants.size(); ++k)
      EXPECT_NE(exact_text(variants[i]), exact_text(variants[k])) << i << " " << k;
}

TEST(MadeFromOptions, HoldWhatChangesFiguresAndNothingElse) {
  const Machine machine;
  AnalyzeOptions options;
  EXPECT_TRUE(made_from(machine, options).options.empty());
  options.tool_colours = {"", ""};
  EXPECT_TRUE(made_from(machine, options).options.empty()) << "colours that are none";
  options.tool_colours = {"", "white", "", "#f0c814"};
  options.start_bed_c = 41.5;
  options.partial = true;
  options.variant.repeat = 2;
  using Pair = std::pair<std::string, std::string>;
  EXPECT_EQ(made_from(machine, options).options,
            (std::vector<Pair>{{"colours", "1=white,3=#f0c814"},
                               {"start_bed_c", "41.5"},
                               {"partial", "yes"},
                               {"variant", "repeat 2"}}));
}

}  // namespace
}  // namespace platetally
