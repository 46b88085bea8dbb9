// What stands in a machine file in double brackets: heads, tools, waste areas, pairs, and words and
// comments of the machine's own.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "machine/description/embedded.hpp"
#include "platetally/machine.hpp"
#include "support/test_names.hpp"

namespace platetally {
namespace {

std::string times(int count, const std::string& text) {
  std::string all;
  for (int i = 0; i < count; ++i)
    all += text;
  return all;
}

/// "LINE:COLUMN CODE" of everything that was said.
std::vector<std::string> places(const MachineLoad& load) {
  std::vector<std::string> all;
  for (const Diagnostic& one : load.diagnostics)
    all.push_back(fmt::format("{}:{} {}", one.line, one.column, one.code));
  return all;
}

using Places = std::vector<std::string>;

TEST(Lists, TakeAsManyEntriesAsTheManualSaysAndNoMore) {
  const struct {
    const char* entry;
    int most;
  } lists[] = {{"[[heads]]\n", 16},
               {"[[tools]]\n", 32},
               {"[[waste_areas]]\nx_max_mm = 1\ny_max_mm = 1\n", 64},
               {"[[swap_pairs]]\n", 1024}};
  for (const auto& [entry, most] : lists) {
    SCOPED_TRACE(entry);
    const bool pairs = std::string(entry).starts_with("[[swap");
    const std::string before = pairs ? "[[tools]]\n[[tools]]\n" : "";
    EXPECT_TRUE(parse_machine(before + times(most, entry), "ours.toml").ok());
    const MachineLoad load = parse_machine(before + times(most + 1, entry), "ours.toml");
    EXPECT_FALSE(load.ok());
    ASSERT_EQ(load.diagnostics.size(), 1U);
    EXPECT_EQ(load.diagnostics[0].code, "too-many");
    const auto lines_of_one = static_cast<std::uint64_t>(
        std::count(entry, entry + std::char_traits<char>::length(entry), '\n'));
    EXPECT_EQ(load.diagnostics[0].line,
              lines_of_one * static_cast<std::uint64_t>(most) + (pairs ? 3 : 1));
    EXPECT_TRUE(load.diagnostics[0].message.ends_with(fmt::format(": more than {}", most)));
  }
}

TEST(Lists, OfAFileTakeThePlaceOfThoseThatItExtends) {
  const Machine machine =
      parse_machine("extends = \"changer-5\"\n[[tools]]\nfeed = 7\n[[tools]]\nhead = 4\n", "x")
          .machine();
  EXPECT_EQ(machine.heads.size(), 5U) << "which the file does not say";
  ASSERT_EQ(machine.tools.size(), 2U);
  EXPECT_EQ(machine.tools[0].feed, 7);
  EXPECT_EQ(machine.tools[1].head, 4);
  EXPECT_EQ(machine.tools[1].feed, Tool{}.feed) << "an entry begins from the defaults";
}

TEST(Lists, ThatAreEmptyLeaveAMachineWithoutHeadsOrTools) {
  for (const char* list : {"heads", "tools"}) {
    const MachineLoad load = parse_machine(fmt::format("{} = []\n", list), "x");
    ASSERT_FALSE(load.ok()) << list;
    EXPECT_EQ(load.diagnostics.front().code, fmt::format("{}-count", list));
    EXPECT_TRUE(load.diagnostics.front().message.starts_with(
        fmt::format("{}: found 0; expected 1 to ", list)));
  }
}

TEST(Lists, ARepeatedEntryIsAsManyAlike) {
  const Machine machine =
      parse_machine("[[heads]]\npower_w = 30\n[[heads]]\ncount = 3\npower_w = 55\n", "x").machine();
  ASSERT_EQ(machine.heads.size(), 4U);
  EXPECT_EQ(machine.heads[0].power_w, 30.0);
  for (std::size_t head = 1; head < 4; ++head)
    EXPECT_EQ(machine.heads[head], machine.heads[1]);
  EXPECT_EQ(machine.heads[3].power_w, 55.0);
}

TEST(Lists, ACountThatIsNoneIsSaidWithItsPlace) {
  const struct {
    const char* count;
    const char* code;
    const char* message;
  } rows[] = {
      {"0", "key-range", "heads.count: found 0; expected 1 to 64"},
      {"-3", "key-range", "heads.count: found -3; expected 1 to 64"},
      {"65", "key-range", "heads.count: found 65; expected 1 to 64"},
      {"2.0", "key-type", "heads.count: found a number; expected a whole number"},
      {"\"two\"", "key-type", "heads.count: found a text; expected a whole number"},
  };
  for (const auto& row : rows) {
    SCOPED_TRACE(row.count);
    const MachineLoad load = parse_machine(fmt::format("[[heads]]\ncount = {}\n", row.count), "x");
    EXPECT_EQ(places(load), Places{fmt::format("2:9 {}", row.code)});
    EXPECT_EQ(load.diagnostics.at(0).message, row.message);
    EXPECT_FALSE(load.ok());
  }
}

TEST(Lists, ValuesOfASecondEntryAreRefusedWhereTheyStand) {
  const MachineLoad load = parse_machine(
      "[[heads]]\nfan_w = 1\n[[heads]]\nfan_w = 101\n[[heads]]\n  fan_w =   -1\n", "x");
  EXPECT_EQ(places(load), (Places{"4:9 key-range", "6:13 key-range"}));
  EXPECT_EQ(load.diagnostics.at(0).message, "heads[1].fan_w: found 101; expected 0 to 100 W");
  EXPECT_EQ(load.diagnostics.at(1).message, "heads[2].fan_w: found -1; expected 0 to 100 W");
}

TEST(Diagnostics, ComeInTheOrderOfTheText) {
  const MachineLoad load = parse_machine(
      "room_c = 90\n"                    // 1: validated last, stands first
      "[supply]\nidle_w = \"little\"\n"  // 3
      "[bed]\nzzz = 1\naaa = 1\n"        // 5, 6: keys of a table are kept by name
      "[area]\nx_max_mm = 6000\n"        // 8
      "[[tools]]\nhead = 5\n"            // 10
      "[[dialect.rows]]\nword = \"PING\"\naction = \"sing\"\n",
      "x");
  EXPECT_EQ(places(load),
            (Places{"1:10 key-range", "3:10 key-type", "5:1 key-unknown", "6:1 key-unknown",
                    "8:12 key-range", "10:8 tool-head", "11:1 dialect-row"}));
}

TEST(Diagnostics, OfWhatTheExtendedMachineBringsAlongHaveNoPlace) {
  // Its five tools stand on heads that this file takes away.
  const MachineLoad load = parse_machine("extends = \"changer-5\"\n[[heads]]\ncount = 2\n", "x");
  EXPECT_EQ(places(load), (Places{"0:0 tool-head", "0:0 tool-head", "0:0 tool-head"}));
  EXPECT_EQ(load.diagnostics.at(0).message, "tools[2].head: found 2; expected 0 to 1");
}

struct BadRow {
  const char* name;
  const char* text;
  const char* code;
  std::uint64_t line, column;
  const char* says;
};

class OwnWord : public testing::TestWithParam<BadRow> {};

TEST_P(OwnWord, ThatCannotBeReadIsSaidAndLeftOut) {
  const BadRow& row = GetParam();
  const MachineLoad load = parse_machine(row.text, "x");
  EXPECT_FALSE(load.ok());
  const Diagnostic& fault = load.diagnostics.at(0);
  EXPECT_EQ(fault.code, row.code);
  EXPECT_EQ(fault.line, row.line);
  EXPECT_EQ(fault.column, row.column);
  EXPECT_NE(fault.message.find(row.says), std::string::npos) << fault.message;
}

INSTANTIATE_TEST_SUITE_P(
    Dialect, OwnWord,
    testing::Values(
        BadRow{"without a word", "[[dialect.rows]]\naction = \"ignore\"\n", "dialect-row", 1, 1,
               "found word \"\" with action \"ignore\""},
        BadRow{"without an action", "[[dialect.rows]]\nword = \"PING\"\n", "dialect-row", 1, 1,
               "found word \"PING\" with action \"\""},
        BadRow{"with a number for a word", "[[dialect.rows]]\nword = 5\naction = \"ignore\"\n",
               "dialect-row", 1, 1, "expected a word and one of \"ignore\", \"takes_seconds\""},
        BadRow{"with an action in capitals",
               "[[dialect.rows]]\nword = \"PING\"\naction = \"Ignore\"\n", "dialect-row", 1, 1,
               "with action \"Ignore\""},
        BadRow{"with a text for seconds",
               "[[dialect.rows]]\nword = \"P\"\naction = \"takes_seconds\"\nseconds = \"4\"\n",
               "key-type", 4, 11, "dialect.rows.seconds: found a text; expected a number"},
        BadRow{"with less than no time",
               "[[dialect.rows]]\nword = \"P\"\naction = \"takes_seconds\"\nseconds = -1\n",
               "key-range", 4, 11, "dialect.rows.seconds: found -1; expected 0 to 604800"},
        BadRow{"with more than a week",
               "[[dialect.rows]]\nword = \"P\"\naction = \"takes_seconds\"\nseconds = 604801\n",
               "key-range", 4, 11, "found 604801; expected 0 to 604800"},
        BadRow{"with no number of seconds",
               "[[dialect.rows]]\nword = \"P\"\naction = \"takes_seconds\"\nseconds = nan\n",
               "key-range", 4, 11, "found nan; expected 0 to 604800"},
        BadRow{"with a number for its branch",
               "[[dialect.rows]]\nword = \"P\"\naction = \"begin_condition\"\n"
               "take_first_branch = 1\n",
               "key-type", 4, 21, "dialect.rows.take_first_branch: found a number"},
        BadRow{"with a list for its keys",
               "[[dialect.rows]]\nword = \"P\"\naction = \"tool_change\"\nkeys = [\"T\"]\n",
               "key-type", 4, 8, "expected a table such as { BED = \"bed_c\" }"},
        BadRow{"with a key of another action",
               "[[dialect.rows]]\nword = \"P\"\naction = \"tool_change\"\n"
               "keys = { S = \"seconds\" }\n",
               "dialect-key", 4, 14,
               "key S: found \"seconds\"; for action \"tool_change\" expected one of \"tool\""},
        BadRow{"with a number for a key's meaning",
               "[[dialect.rows]]\nword = \"P\"\naction = \"tool_change\"\nkeys = { S = 4 }\n",
               "dialect-key", 4, 14, "key S: found \"\""},
        BadRow{"with a key that it does not have",
               "[[dialect.rows]]\nword = \"P\"\naction = \"ignore\"\nwords = \"Q\"\n",
               "key-unknown", 4, 1, "dialect.rows.words: no such key; expected one like 'word'"},
        BadRow{"that is no table", "[dialect]\nrows = [\"PING\"]\n", "key-type", 2, 9,
               "dialect.rows: found a text; expected tables in double brackets"},
        BadRow{"list that is none", "[dialect]\nrows = \"PING\"\n", "key-type", 2, 8,
               "dialect.rows: found a text; expected tables in double brackets"},
        BadRow{"in a comment without a meaning", "[[dialect.comments]]\nstarts_with = \"bin\"\n",
               "dialect-comment", 1, 1,
               "a meaning, one of \"layer\", \"begin_purge\", \"end_purge\""},
        BadRow{"in a comment with another meaning",
               "[[dialect.comments]]\nstarts_with = \"bin\"\nmeaning = \"purge\"\n",
               "dialect-comment", 1, 1, "expected starts_with, which is not empty"},
        BadRow{"in a comment that is a number", "[[dialect.comments]]\nstarts_with = 4\n",
               "dialect-comment", 1, 1, "expected starts_with"}),
    [](const auto& row) { return test::readable(row.param.name); });

TEST(OwnWords, EveryActionTakesTheKeysThatItNamesAndNoOther) {
  std::vector<std::string> all_keys;
  const auto& actions = machine::action_names();
  for (std::size_t action = 0; action < actions.size(); ++action)
    for (const std::string& key : machine::key_meanings(static_cast<DialectAction>(action)))
      if (std::find(all_keys.begin(), all_keys.end(), key) == all_keys.end())
        all_keys.push_back(key);
  EXPECT_EQ(all_keys.size(), 15U);
  for (std::size_t action = 0; action < actions.size(); ++action) {
    const auto known = machine::key_meanings(static_cast<DialectAction>(action));
    for (const std::string& key : all_keys) {
      SCOPED_TRACE(actions[action] + " " + key);
      const MachineLoad load = parse_machine(
          fmt::format("[[dialect.rows]]\nword = \"W\"\naction = \"{}\"\nkeys = {{ K = \"{}\" }}\n",
                      actions[action], key),
          "x");
      const bool takes = std::find(known.begin(), known.end(), key) != known.end();
      EXPECT_EQ(load.ok(), takes);
      if (!takes)
        continue;
      const DialectRow& row = load.machine().dialect.rows.at(0);
      EXPECT_EQ(row.action, static_cast<DialectAction>(action));
      EXPECT_EQ(row.keys, (std::vector<DialectKey>{{"K", key}}));
    }
  }
}

TEST(OwnWords, ComeInTheOrderOfTheFile) {
  std::string text;
  for (int i = 0; i < 40; ++i)
    text += fmt::format(
        "[[dialect.rows]]\nword = \"M{}\"\naction = \"takes_seconds\"\nseconds = {}\n", 900 - i, i);
  const Machine machine = parse_machine(text, "x").machine();
  ASSERT_EQ(machine.dialect.rows.size(), 40U);
  for (int i = 0; i < 40; ++i) {
    EXPECT_EQ(machine.dialect.rows[static_cast<std::size_t>(i)].word, fmt::format("M{}", 900 - i));
    EXPECT_EQ(machine.dialect.rows[static_cast<std::size_t>(i)].seconds, i);
  }
}

TEST(OwnWords, SurviveWritingWhateverTheyAreWrittenWith) {
  Machine machine;
  machine.dialect.rows = {
      {"M\"7\"", DialectAction::takes_seconds, 1.0 / 3.0, true, {{"a b", "seconds"}}},
      {"tab\there", DialectAction::begin_condition, 0.0, false, {}},
      {"line\nbreak",
       DialectAction::set_limits,
       -0.0,
       true,
       {{"A=B", "acceleration_mm_s2"}, {"\\", "corner_speed_mm_s"}, {"#", "least_cruise_share"}}},
      {"\xc3\xbc", DialectAction::pause, 5e-324, true, {}}};
  machine.dialect.comments = {{"# bin \x01", CommentMeaning::end_object},
                              {"\"\"\"", CommentMeaning::layer}};
  const MachineLoad again = parse_machine(machine_to_toml(machine), "written");
  ASSERT_TRUE(again.ok()) << again.diagnostics.at(0).message;
  // The keys of a row are a table, which keeps them by name.
  Machine sorted = machine;
  std::swap(sorted.dialect.rows[2].keys[0], sorted.dialect.rows[2].keys[2]);
  std::swap(sorted.dialect.rows[2].keys[1], sorted.dialect.rows[2].keys[2]);
  EXPECT_EQ(again.machine().dialect.comments, machine.dialect.comments);
  EXPECT_EQ(again.machine(), sorted);
}

TEST(WasteArea, WithoutRoomIsNamed) {
  const MachineLoad load = parse_machine(
      "[[waste_areas]]\nname = \"bin\"\nx_max_mm = 5\ny_max_mm = 5\n"
      "[[waste_areas]]\nname = \"chute\"\nx_min_mm = 5\nx_max_mm = 5\ny_max_mm = 5\n",
      "x");
  ASSERT_EQ(load.diagnostics.size(), 1U);
  EXPECT_EQ(places(load), Places{"5:1 area-empty"});
  EXPECT_EQ(load.diagnostics[0].message,
            "waste_areas[1]: found 'chute' with x 5 to 5, y 0 to 5; expected the first below the "
            "second");
}

TEST(Area, MustHaveRoomInBothDirections) {
  for (const char* axis : {"x", "y"})
    for (const double high : {0.0, -1.0, 0.001}) {
      const MachineLoad load = parse_machine(
          fmt::format("[area]\n{}_min_mm = 0\n{}_max_mm = {}\n", axis, axis, high), "x");
      EXPECT_EQ(load.ok(), high > 0.0) << axis << ' ' << high;
      EXPECT_EQ(places(load), high > 0.0 ? Places{} : Places{"1:1 area-empty"});
    }
}

TEST(Neighbours, AreNoneFourOrEight) {
  for (int count = 0; count <= 8; ++count)
    EXPECT_EQ(parse_machine(fmt::format("[bed]\nneighbour_count = {}\n", count), "x").ok(),
              count == 0 || count == 4 || count == 8)
        << count;
}

TEST(SwapPair, IsOfTwoDifferentToolsThatThereAre) {
  for (int from = 0; from < 4; ++from)
    for (int to = 0; to < 4; ++to) {
      const MachineLoad load = parse_machine(
          fmt::format("[[tools]]\n[[tools]]\n[[tools]]\n[[swap_pairs]]\nfrom = {}\nto = {}\n", from,
                      to),
          "x");
      EXPECT_EQ(load.ok(), from != to && from < 3 && to < 3) << from << ' ' << to;
      if (!load.ok()) {
        EXPECT_EQ(places(load), Places{"4:1 swap-pair"}) << from << ' ' << to;
      }
    }
}

TEST(SwapPair, StatesEachFigureOnce) {
  const std::string tools = "[[tools]]\n[[tools]]\n";
  const auto pair = [](const char* keys, int from = 0) {
    return fmt::format("[[swap_pairs]]\nfrom = {}\nto = {}\n{}\n", from, 1 - from, keys);
  };
  const std::string seconds = pair("seconds = 9"), need = pair("needed_mm3 = 300");
  EXPECT_TRUE(parse_machine(tools + seconds + need, "x").ok()) << "two figures in two entries";
  EXPECT_TRUE(parse_machine(tools + need + pair("needed_mm3 = 100", 1), "x").ok())
      << "the way back is another pair";
  for (const std::string& again : {need, seconds}) {
    const MachineLoad load = parse_machine(tools + seconds + need + again, "x");
    EXPECT_FALSE(load.ok());
    EXPECT_EQ(places(load), Places{"11:1 swap-pair"});
    EXPECT_EQ(load.diagnostics.at(0).message,
              "swap_pairs[2]: found from 0 to 1 again with the same key; expected each figure of a "
              "pair once");
  }
}

TEST(Range, OfSecondsRisesFromLowToHigh) {
  for (const auto& [value, is_good] :
       std::vector<std::pair<const char*, bool>>{{"[5, 5, 5]", true},
                                                 {"5", true},
                                                 {"[5, 6, 6]", true},
                                                 {"[0, 0, 3600]", true},
                                                 {"[6, 5, 7]", false},
                                                 {"[5, 8, 7]", false},
                                                 {"[7, 6, 5]", false}}) {
    const MachineLoad load =
        parse_machine(fmt::format("[procedures]\nhoming_s = {}\n", value), "x");
    EXPECT_EQ(load.ok(), is_good) << value;
    EXPECT_EQ(places(load), is_good ? Places{} : Places{"2:12 key-order"}) << value;
  }
}

}  // namespace
}  // namespace platetally
