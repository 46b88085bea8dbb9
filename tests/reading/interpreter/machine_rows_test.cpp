// Words of the machine's own, as its file explains them. The words here are invented.
#include <gtest/gtest.h>

#include <fstream>
#include <sstream>

#include "support.hpp"

namespace platetally::interpreter::test {
namespace {

DialectRow row(const char* word, DialectAction action, std::vector<DialectKey> keys = {},
               double seconds = 0.0) {
  DialectRow made;
  made.word = word;
  made.action = action;
  made.keys = std::move(keys);
  made.seconds = seconds;
  return made;
}

Machine greenhouse() {
  Machine machine = test::machine();
  machine.dialect.rows = {
      row("HUM", DialectAction::ignore),
      row("M7402.7", DialectAction::ignore),
      row("T77", DialectAction::ignore),
      row("RINSE", DialectAction::takes_seconds, {{"TIME", "seconds"}}, 12.0),
      row("M7403", DialectAction::takes_seconds, {{"S", "seconds"}}, 3.0),
      row("PACE", DialectAction::set_limits,
          {{"SPEED", "print_speed_mm_s"},
           {"PUSH", "acceleration_mm_s2"},
           {"WALK", "travel_acceleration_mm_s2"},
           {"LAY", "print_acceleration_mm_s2"},
           {"PULL", "retract_acceleration_mm_s2"},
           {"BEND", "junction_deviation_mm"},
           {"KINK", "corner_step_mm_s"}}),
      row("WARM_UP", DialectAction::wait_temperature,
          {{"BED", "bed_c"}, {"TIP", "head_c"}, {"AIR", "enclosure_c"}, {"TOOL", "tool"}}),
      row("M7404", DialectAction::set_temperature, {{"S", "head_c"}, {"P", "tool"}}),
      row("BIN_ON", DialectAction::begin_purge),
      row("BIN_OFF", DialectAction::end_purge),
      row("WHEN", DialectAction::begin_condition),
      row("ELSE_WISE", DialectAction::else_condition),
      row("DONE_WHEN", DialectAction::end_condition),
      row("TAKE", DialectAction::tool_change, {{"TOOL", "tool"}}),
      row("FIND_ZERO", DialectAction::home),
      row("FEEL_BED", DialectAction::probe),
      row("CALL", DialectAction::pause),
      row("M106", DialectAction::ignore),
  };
  DialectRow other = row("UNLESS", DialectAction::begin_condition);
  other.take_first_branch = false;
  machine.dialect.rows.push_back(other);
  return machine;
}

TEST(MachineRows, DoWhatTheyAreSaidToDo) {
  const struct {
    const char* name;
    const char* text;
    const char* expected;
  } rows[] = {
      {"ignore, without case", "hum LOUD=1\nM7402.7 S1", ""},
      {"another fraction is another word", "M7402.6 S1\nM7402", "? M7402\n? M7402.6\n"},
      {"a T number that is no tool", "T77", ""},
      {"a row wins over a word of the trade", "M106 S255", ""},
      {"seconds of the row", "RINSE", "takes 12\n"},
      {"seconds of a key", "RINSE TIME=7.5\nM7403 S4\nM7403", "takes 7.5\ntakes 4\ntakes 3\n"},
      {"limits", "PACE SPEED=120 PUSH=900\nPACE walk=1 lay=2 pull=3 bend=0.1 kink=5\nPACE SPEED=0",
       "limit axis_speed 120,120,nan,nan\n"
       "limit print_acceleration 900,nan,nan,nan\n"
       "limit travel_acceleration 900,nan,nan,nan\n"
       "limit travel_acceleration 1,nan,nan,nan\n"
       "limit print_acceleration 2,nan,nan,nan\n"
       "limit retract_acceleration 3,nan,nan,nan\n"
       "limit junction_deviation 0.1,nan,nan,nan\n"
       "limit corner_step 5,5,nan,nan\n"
       "! limit-not-positive 3:1\n"},
      {"temperatures, and the wait for them", "WARM_UP BED=60 TIP=215 TOOL=1",
       "set bed 60\nset head1 215\nwait bed\nwait head1\nwait enclosure\n"},
      {"quoted values", "WARM_UP BED=\"60\" AIR=\"40\"",
       "set bed 60\nset enclosure 40\nwait bed\nwait head0\nwait enclosure\n"},
      {"temperatures by letters", "M7404 S190 P1\nM7404 S180", "set head1 190\nset head0 180\n"},
      {"a tool that is not there", "M7404 S190 P5", "! word-for-missing-tool 1:1\n"},
      {"values that are no numbers",
       "RINSE TIME={pause}\nRINSE TIME=1E5\nRINSE TIME=\nRINSE TIME=nan",
       "takes 12\ntakes 12\ntakes 12\ntakes 12\n! parameter-not-a-number 1:1 x4\n"},
      {"purge between words", "M83\nG1 Z1 F600\nBIN_ON\nG1 X1 E1\nBIN_OFF\nG1 X2 E1",
       "L0 T0 0,0,0 -> 0,0,1 f10\nL0 T0 0,0,1 -> 1,0,1 e1 f10 purge\nL1 T0 1,0,1 -> 2,0,1 e1 "
       "f10\n"},
      {"purge that never ends", "M83\nBIN_ON\nG1 X1 E1 F600",
       "L0 T0 0,0,0 -> 1,0,0 e1 f10 purge\n! purge-not-ended 3:0\n"},
      {"the first branch", "WHEN HOT=1\nM104 S1\nELSE_WISE\nM104 S2\nDONE_WHEN\nM104 S3",
       "set head0 1\nset head0 3\n! condition-skipped 4:1\n"},
      {"the other branch", "UNLESS\nM104 S1\nELSE_WISE\nM104 S2\nDONE_WHEN\nM104 S3",
       "set head0 2\nset head0 3\n! condition-skipped 2:1\n"},
      {"nested conditions",
       "WHEN\nUNLESS\nM104 S1\nWHEN\nM104 S2\nDONE_WHEN\nELSE_WISE\nM104 S3\nDONE_WHEN\nELSE_WISE\n"
       "WHEN\nM104 S4\nDONE_WHEN\nDONE_WHEN\nM104 S5",
       "set head0 3\nset head0 5\n! condition-skipped 3:1 x3\n"},
      {"a condition that was not begun", "ELSE_WISE\nDONE_WHEN\nM104 S1",
       "set head0 1\n! condition-not-begun 1:1 x2\n"},
      {"a condition that is not ended", "UNLESS\nM104 S1",
       "! condition-skipped 2:1\n! condition-not-ended 2:0\n"},
      {"tool change", "TAKE TOOL=1\nTAKE\nTAKE TOOL=9", "select 1\n! tool-not-on-machine 3:1\n"},
      {"home, probe, pause", "FIND_ZERO\nFEEL_BED\nCALL", "home\nprobe\npause\n"},
      {"words that no row names", "SING LOUD=1\nSING\nM999", "? SING x2\n? M999\n"},
  };
  for (const auto& one : rows) {
    SCOPED_TRACE(one.name);
    EXPECT_EQ(dump(test::run(one.text, greenhouse())), one.expected) << one.text;
  }
}

// The plate that docs/machine-words.md explains, with the rows of its machine file.
TEST(MachineRows, ExplainTheWorkedExample) {
  std::ifstream in(std::string(PLATETALLY_TESTDATA) + "/../docs/machine-words.md");
  std::ostringstream page;
  page << in.rdbuf();
  const std::string text = page.str();
  const std::size_t begin = text.find("```\n") + 4;
  const std::string plate = text.substr(begin, text.find("```", begin) - begin);
  ASSERT_NE(plate.find("WARM_UP"), std::string::npos);
  EXPECT_EQ(test::run(plate, machine()).unaccounted.size(), 10U);

  Machine workshop = machine();
  workshop.dialect.rows = {
      row("WARM_UP", DialectAction::wait_temperature,
          {{"BED", "bed_c"}, {"TIP", "head_c"}, {"TOOL", "tool"}}),
      row("WHEN", DialectAction::begin_condition),
      row("OTHER_WISE", DialectAction::else_condition),
      row("DONE_WHEN", DialectAction::end_condition),
      row("CALL", DialectAction::pause),
      row("HUM", DialectAction::ignore),
      row("RINSE", DialectAction::takes_seconds, {{"TIME", "seconds"}}, 12.0),
      row("PACE", DialectAction::set_limits,
          {{"SPEED", "print_speed_mm_s"}, {"PUSH", "acceleration_mm_s2"}}),
      row("TAKE", DialectAction::tool_change, {{"TOOL", "tool"}}),
      row("M7402.7", DialectAction::ignore),
  };
  workshop.dialect.rows[1].take_first_branch = false;
  workshop.dialect.comments = {{"rinse begins", CommentMeaning::begin_purge},
                               {"rinse ends", CommentMeaning::end_purge}};
  EXPECT_EQ(dump(test::run(plate, workshop)),
            "set bed 60\n"
            "set head0 215\n"
            "wait bed\n"
            "wait head0\n"
            "takes 25\n"
            "limit axis_speed 180,180,nan,nan\n"
            "limit print_acceleration 4000,nan,nan,nan\n"
            "limit travel_acceleration 4000,nan,nan,nan\n"
            "select 1\n"
            "L0 T1 0,0,0 -> 240,10,0 e12 f5 purge\n"
            "! condition-skipped 3:1\n");
}

TEST(MachineRows, DeepConditionsAreBounded) {
  std::string text;
  for (int i = 0; i < 1000; ++i)
    text += "WHEN\n";
  text += "M104 S1\n";
  for (int i = 0; i < 1000; ++i)
    text += "DONE_WHEN\n";
  EXPECT_EQ(dump(test::run(text + "M104 S2", greenhouse())), "set head0 1\nset head0 2\n");
}

TEST(MachineRows, CommentsInAPartThatDoesNotRunMarkNothing) {
  const test::Run run =
      test::run("M83\nG1 Z1\nUNLESS\n; purge\nDONE_WHEN\nG1 X1 E1\n", greenhouse());
  EXPECT_EQ(run.moves().back().flags & kMarkedPurge, 0);
}

}  // namespace
}  // namespace platetally::interpreter::test
