// Machine files: reading, checking, writing.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <random>

#include "machine/description/keys.hpp"
#include "platetally/machine.hpp"
#include "platetally/made_from.hpp"
#include "support/faults.hpp"

namespace platetally {
namespace {

std::string first_message(const MachineLoad& load) {
  return load.diagnostics.empty() ? std::string() : load.diagnostics.front().message;
}

TEST(MachineHash, IsOfWhatTheDescriptionMeans) {
  const auto hash_of = [](const std::string& text) {
    const MachineLoad load = parse_machine(text, "mine.toml");
    EXPECT_TRUE(load.ok()) << first_message(load);
    return load.ok() ? machine_hash(load.machine()) : text;
  };
  const std::string hash = hash_of(
      "extends = \"single-1\"\nroom_c = 18\n[motion]\nx_speed_mm_s = 400\ny_speed_mm_s = 90\n");
  EXPECT_EQ(hash.size(), 32U);
  EXPECT_EQ(hash,
            hash_of("# ours, at the window\nname = \"window\"\ndescription = \"by the window\"\n"
                    "room_c = 18.0  # measured\nextends = \"single-1\"\n[motion]\n"
                    "y_speed_mm_s = 9e1\nx_speed_mm_s = 4e2\n"))
      << "a comment, a name, the order or the form of numbers";
  const std::string all = machine_to_toml(load_machine("single-1").machine());
  EXPECT_EQ(hash_of(all), machine_hash(load_machine("single-1").machine()))
      << "values that are written out";
  EXPECT_NE(hash, hash_of("extends = \"single-1\"\nroom_c = 18\n[motion]\nx_speed_mm_s = 400\n"
                          "y_speed_mm_s = 90.0000001\n"));
}

TEST(MachineHash, EveryValueCountsButItsName) {
  Machine machine = load_machine("changer-5").machine();
  machine.waste_areas.resize(1);
  machine.swap_pairs.resize(1);
  const std::string hash = machine_hash(machine);
  std::vector<machine::Key> keys = machine::machine_keys();
  for (const auto& more : {machine::head_keys(1), machine::tool_keys(2),
                           machine::waste_area_keys(0), machine::swap_pair_keys(0)})
    keys.insert(keys.end(), more.begin(), more.end());
  EXPECT_GT(keys.size(), 100U);
  for (const machine::Key& key : keys) {
    Machine other = machine;
    if (const auto* number = std::get_if<machine::NumberAt>(&key.value))
      number->at(other) = std::nextafter(number->at(other), 1e9);
    else if (const auto* integer = std::get_if<machine::IntegerAt>(&key.value))
      integer->at(other) += 1;
    else if (const auto* flag = std::get_if<machine::FlagAt>(&key.value))
      flag->at(other) = !flag->at(other);
    else if (const auto* text = std::get_if<machine::TextAt>(&key.value))
      text->at(other) += "?";
    else if (const auto* range = std::get_if<machine::RangeAt>(&key.value))
      range->at(other).high += 1.0;
    else if (const auto& choice = std::get<machine::ChoiceAt>(key.value); true)
      choice.set(other, (choice.get(other) + 1) % static_cast<int>(choice.names.size()));
    const bool is_name = key.table.empty() && (key.name == "name" || key.name == "description");
    EXPECT_EQ(machine_hash(other) == hash, is_name) << key.table << '.' << key.name;
  }
  Machine other = machine;
  other.dialect.rows.push_back({"WARM_UP", DialectAction::takes_seconds, 4.0, true, {}});
  EXPECT_NE(machine_hash(other), hash);
  other = machine;
  other.heads.pop_back();
  EXPECT_NE(machine_hash(other), hash);
}

TEST(MachineFile, AMachineWithAnErrorCannotBeTakenOut) {
  EXPECT_THROW(load_machine("changer5").machine(), UnusableMachine);
  EXPECT_FALSE(load_machine(std::string("changer-5\0", 10)).ok());
  const std::string file = std::string(PLATETALLY_TESTDATA) + "/demo/prices.toml";
  EXPECT_FALSE(load_machine(file + std::string("\0x", 2)).diagnostics.empty());
  EXPECT_EQ(load_machine(file + std::string("\0x", 2)).diagnostics[0].code, "machine-unknown");
  const MachineLoad load = parse_machine("room_c = 18\n[motion]\nx_speed_mm_s = -4\n", "mine.toml");
  ASSERT_FALSE(load.ok());
  try {
    load.machine();
    FAIL() << "was handed over";
  } catch (const UnusableMachine& error) {
    EXPECT_NE(std::string(error.what()).find(first_message(load)), std::string::npos)
        << error.what();
  }
}

TEST(MachineFile, EmbeddedMachinesAreSoundAndSurviveWritingAndReading) {
  ASSERT_EQ(embedded_machine_names(),
            (std::vector<std::string>{"changer-5", "switcher-4", "single-1"}));
  for (const std::string& name : embedded_machine_names()) {
    SCOPED_TRACE(name);
    const MachineLoad load = load_machine(name);
    ASSERT_TRUE(load.ok()) << first_message(load);
    EXPECT_EQ(load.machine().name, name);
    EXPECT_TRUE(validate(load.machine()).empty());
    const MachineLoad again = parse_machine(machine_to_toml(load.machine()), "written");
    EXPECT_TRUE(again.ok()) << first_message(again);
    EXPECT_TRUE(again.machine() == load.machine());
  }
}

TEST(MachineFile, APatternThatEveryCommentBeginsWithIsAnError) {
  for (const char* empty : {"", "  "}) {
    const MachineLoad load = parse_machine(std::string("[[dialect.comments]]\nstarts_with = \"") +
                                               empty + "\"\nmeaning = \"begin_purge\"\n",
                                           "mine.toml");
    EXPECT_FALSE(load.ok());
    EXPECT_NE(first_message(load).find("not empty"), std::string::npos) << first_message(load);
  }
}

TEST(MachineFile, EveryKeySurvivesWritingAndReading) {
  std::mt19937 random(11);
  for (int round = 0; round < 20; ++round) {
    Machine machine;
    machine.heads.resize(3);
    machine.tools.resize(4);
    machine.waste_areas.resize(2);
    machine.swap_pairs.resize(2);
    std::vector<machine::Key> keys = machine::machine_keys();
    for (std::size_t i = 0; i < 3; ++i)
      for (auto& key : machine::head_keys(i))
        keys.push_back(key);
    for (std::size_t i = 0; i < 2; ++i)
      for (auto& key : machine::waste_area_keys(i))
        keys.push_back(key);
    for (std::size_t i = 0; i < 2; ++i)
      for (auto& key : machine::swap_pair_keys(i))
        keys.push_back(key);
    for (const machine::Key& key : keys) {
      const double share = std::uniform_real_distribution<double>(0, 1)(random);
      if (const auto* number = std::get_if<machine::NumberAt>(&key.value))
        number->at(machine) = key.low + share * (key.high - key.low);
      else if (const auto* flag = std::get_if<machine::FlagAt>(&key.value))
        flag->at(machine) = share > 0.5;
      else if (const auto* text = std::get_if<machine::TextAt>(&key.value))
        text->at(machine) = share > 0.5 ? "a \"quoted\" \\ name\n" : "moss";
      else if (const auto* choice = std::get_if<machine::ChoiceAt>(&key.value))
        choice->set(machine, share > 0.5 ? 1 : 0);
      else if (const auto* range = std::get_if<machine::RangeAt>(&key.value))
        range->at(machine) = {share, share + 1, share + 2.5};
    }
    std::swap(machine.swap_pairs[1].from, machine.swap_pairs[1].to);  // a pair each
    // Keys of a corner model that is not chosen are refused.
    machine.motion.corner_speed_mm_s = MotionLimits{}.corner_speed_mm_s;
    machine.motion.junction_deviation_mm = MotionLimits{}.junction_deviation_mm;
    machine.motion.corner_step_mm_s = MotionLimits{}.corner_step_mm_s;
    machine.motion.least_cruise_share = 0.0;  // excludes the window
    for (WasteArea& area : machine.waste_areas) {
      if (area.x_min_mm > area.x_max_mm)
        std::swap(area.x_min_mm, area.x_max_mm);
      if (area.y_min_mm > area.y_max_mm)
        std::swap(area.y_min_mm, area.y_max_mm);
    }
    machine.area = {-1, 300, -2, 301, 250};
    machine.dialect.rows = {
        {"WARM_UP", DialectAction::wait_temperature, 0.0, true, {{"BED", "bed_c"}}},
        {"M7401.3", DialectAction::ignore, 0.0, false, {}}};
    machine.dialect.comments = {{"zone: waste", CommentMeaning::begin_purge}};
    const MachineLoad again = parse_machine(machine_to_toml(machine), "written");
    ASSERT_TRUE(again.ok()) << first_message(again);
    EXPECT_TRUE(again.machine() == machine);
  }
}

TEST(MachineFile, FaultsNameKeyValueAndRange) {
  const test::Fault faults[] = {
      {"room_cc = 20", "key-unknown", 1, "room_c"},
      {"[bed]\ntile_powr_w = 20", "key-unknown", 2, "tile_power_w"},
      {"[bed]\ntile_power_w = \"much\"", "key-type", 2, "a number"},
      {"[bed]\ntile_power_w = -5", "key-range", 2,
       "bed.tile_power_w: found -5; expected 0.1 to 5000 W"},
      {"[bed]\nrows = 2.5", "key-type", 2, "whole number"},
      {"[bed]\nneighbour_count = 5", "key-range", 2, "0, 4 or 8"},
      {"[swap]\nhead_change_s = [9, 7, 5]", "key-order", 2, "low <= expected <= high"},
      {"[swap]\nhead_change_s = [1, 2]", "key-type", 2, "[low, expected, high]"},
      {"[motion]\ncorner_model = \"round\"", "key-choice", 2, "junction_deviation"},
      {"[[tools]]\nhead = 3", "tool-head", 2, "tools[0].head: found 3"},
      {"[[heads]]\npower_w = 9000", "key-range", 2, "heads[0].power_w"},
      {"[[heads]]\ncount = 40", "too-many", 1, "more than 16"},
      {"extends = \"changer-6\"", "machine-unknown", 1, "changer-5"},
      {"[area]\nx_min_mm = 10\nx_max_mm = 5", "area-empty", 1, "x 10 to 5"},
      {"[dialect]\n[[dialect.rows]]\nword = \"WARM\"\naction = \"set_temperature\"\n"
       "keys = { BED = \"bed_temp\" }",
       "dialect-key", 5, "\"bed_temp\""},
      {"[dialect]\n[[dialect.rows]]\nword = \"PING\"\naction = \"ignore\"\n"
       "keys = { S = \"seconds\" }",
       "dialect-key", 5, "takes no keys"},
      {"[dialect]\n[[dialect.rows]]\nword = \"PING\"\naction = \"sing\"", "dialect-row", 2,
       "takes_seconds"},
      {"[[swap_pairs]]\nfrom = 0\nto = 7", "swap-pair", 1, "expected two different tools"},
      {"[[swap_pairs]]\nsecond = [1, 2, 3]\n[[tools]]\n[[tools]]", "key-unknown", 2, "seconds"},
      {"bed = 3", "key-type", 1, "a table"},
      {"name = \"open", "toml-syntax", 1, ""},
  };
  test::expect_faults(faults, parse_machine);
}

TEST(MachineFile, AKeyThatDoesNotExistIsNamedByItsMeaning) {
  const struct {
    const char* key;
    const char* meant;
  } rows[] = {
      {"max_accel", "'print_acceleration_mm_s2' and 'travel_acceleration_mm_s2'"},
      {"top_velocity", "'x_speed_mm_s' (highest speed of the axis)"},
      {"right_angle_velocity", "'corner_speed_mm_s' (speed at a right angle"},
      {"cruise_ratio", "'least_cruise_share' ("},
      {"travel_accel", "'travel_acceleration_mm_s2' (moves that lay nothing)"},
      {"z_velocity", "'z_speed_mm_s' ("},
      {"lookahead", "'look_ahead_moves' ("},
      {"print_acceleration_mm_s", "'print_acceleration_mm_s2' ["},
  };
  for (const auto& row : rows) {
    SCOPED_TRACE(row.key);
    const MachineLoad load = parse_machine(std::string("[motion]\n") + row.key + " = 5\n", "x");
    ASSERT_EQ(load.diagnostics.size(), 1U);
    EXPECT_EQ(load.diagnostics[0].code, "key-unknown");
    EXPECT_NE((first_message(load) + " [").find(row.meant), std::string::npos)
        << first_message(load);
  }
}

TEST(MachineFile, AColourThatIsNoneIsAnErrorWithTheNearest) {
  const MachineLoad load =
      parse_machine("extends = \"single-1\"\n[[tools]]\nhead = 0\ncolour = \"grean\"\n", "x");
  EXPECT_FALSE(load.ok());
  ASSERT_EQ(load.diagnostics.size(), 1U);
  EXPECT_EQ(load.diagnostics[0].code, "key-choice");
  EXPECT_EQ(first_message(load),
            "tools[0].colour: 'grean' is no colour; did you mean 'green'? expected #rrggbb or a "
            "name such as black");
}

TEST(MachineFile, AMachineThatIsNoneIsAnsweredWithTheNearest) {
  const MachineLoad load = load_machine("changer5");
  EXPECT_FALSE(load.ok());
  EXPECT_NE(first_message(load).find("did you mean 'changer-5'?"), std::string::npos)
      << first_message(load);
  EXPECT_EQ(first_message(load_machine("/nowhere/bench.toml")).find("did you mean"),
            std::string::npos);
  EXPECT_NE(
      first_message(parse_machine("extends = \"single1\"\n", "x")).find("did you mean 'single-1'?"),
      std::string::npos);
}

TEST(MachineFile, ACornerKeyOfAnotherModelIsSaid) {
  const auto codes = [](const std::string& text) {
    std::string all;
    for (const Diagnostic& one : parse_machine(text, "x").diagnostics)
      all += fmt::format("{}:{} ", one.line, one.code);
    return all;
  };
  EXPECT_EQ(codes("[motion]\ncorner_speed_mm_s = 5\n"), "2:corner-key-without-effect ");
  EXPECT_EQ(codes("[motion]\nx_corner_step_mm_s = 9\n"), "2:corner-key-without-effect ");
  EXPECT_EQ(codes("[motion]\nx_corner_step_mm_s = 8\n"), "") << "the default";
  EXPECT_EQ(codes("[motion]\ncorner_model = \"corner_speed\"\njunction_deviation_mm = 0.05\n"),
            "3:corner-key-without-effect ");
  EXPECT_EQ(codes("[motion]\ncorner_model = \"corner_speed\"\ncorner_speed_mm_s = 9\n"
                  "e_corner_step_mm_s = 1\n"),
            "");
  EXPECT_EQ(codes("[motion]\ncorner_model = \"speed_step\"\ne_corner_step_mm_s = 1\n"), "");
  EXPECT_EQ(codes("extends = \"single-1\"\n[motion]\njunction_deviation_mm = 0.01\n"),
            "3:corner-key-without-effect ");
  EXPECT_EQ(codes("[motion]\njunction_deviation_mm = 0.9\n"), "2:deviation-too-large ");
  EXPECT_EQ(codes("[motion]\njunction_deviation_mm = 0.2\n"), "");
}

TEST(MachineFile, AWindowAndACruiseShareExcludeOneAnother) {
  const MachineLoad both =
      parse_machine("[motion]\nleast_cruise_share = 0.5\nlook_ahead_moves = 16\n", "x");
  EXPECT_FALSE(both.ok());
  EXPECT_EQ(both.diagnostics[0].code, "cruise-and-window");
  // The window of a machine that the file only extends gives way.
  const MachineLoad over =
      parse_machine("extends = \"single-1\"\n[motion]\nleast_cruise_share = 0.5\n", "x");
  EXPECT_TRUE(over.ok()) << first_message(over);
  ASSERT_EQ(over.diagnostics.size(), 1U);
  EXPECT_EQ(over.diagnostics[0].code, "cruise-and-window");
  EXPECT_EQ(over.diagnostics[0].severity, Severity::note);
  EXPECT_EQ(over.machine().motion.look_ahead_moves, 0);
}

TEST(MachineFile, KeysOfMotionThatAreInheritedAreListed) {
  const MachineLoad load =
      parse_machine("extends = \"single-1\"\n[motion]\nx_speed_mm_s = 400\n", "x");
  EXPECT_EQ(load.extends, "single-1");
  const auto lists = [&](const char* text) {
    return std::ranges::find(load.inherited_motion_keys, text) != load.inherited_motion_keys.end();
  };
  EXPECT_TRUE(lists("y_speed_mm_s = 250"));
  EXPECT_TRUE(lists("corner_model = \"speed_step\""));
  EXPECT_FALSE(lists("x_speed_mm_s = 400"));
  EXPECT_FALSE(lists("x_speed_mm_s = 250"));
}

TEST(MachineFile, ExtendsStartsFromAnEmbeddedMachine) {
  const MachineLoad load = parse_machine("extends = \"changer-5\"\nroom_c = 18\n", "mine.toml");
  ASSERT_TRUE(load.ok()) << first_message(load);
  EXPECT_EQ(load.machine().heads.size(), 5U);
  EXPECT_DOUBLE_EQ(load.machine().room_c, 18.0);
}

TEST(MachineFile, HostileTextIsRefusedAndHarmless) {
  const std::string nested = "a = " + std::string(100000, '[');
  EXPECT_FALSE(parse_machine(nested, "x").ok());
  EXPECT_FALSE(parse_machine(std::string(2 << 20, '#'), "x").ok());
  EXPECT_FALSE(parse_machine(std::string("\0\xff\xfe", 3), "x").ok());
  std::mt19937 random(3);
  const std::string good = machine_to_toml(load_machine("single-1").machine());
  for (int round = 0; round < 300; ++round) {
    std::string bad = good;
    for (int i = 0; i < 5; ++i)
      bad[random() % bad.size()] = static_cast<char>(random());
    const MachineLoad load = parse_machine(bad, "x");  // must return, whatever it says
    if (load.ok()) {
      EXPECT_TRUE(validate(load.machine()).empty());
    }
  }
}

TEST(MachineFile, UnknownNamesListTheKnownOnes) {
  const MachineLoad load = load_machine("changer-9");
  ASSERT_FALSE(load.ok());
  EXPECT_NE(first_message(load).find("changer-5, switcher-4, single-1"), std::string::npos);
  EXPECT_FALSE(load_machine("/").ok());
}

TEST(MachineFile, TheManualListsEveryKeyAsItIs) {
  const std::string path = std::string(PLATETALLY_TESTDATA) + "/../docs/machine-file.md";
  std::ifstream in(path);
  std::string page((std::istreambuf_iterator<char>(in)), std::istreambuf_iterator<char>());
  const std::size_t begin = page.find("\n## At the top");
  ASSERT_NE(begin, std::string::npos);
  if (std::getenv("PLATETALLY_UPDATE_GOLDENS") != nullptr)
    std::ofstream(path) << page.substr(0, begin) << machine::key_page();
  EXPECT_EQ(page.substr(begin), machine::key_page())
      << "run this test with PLATETALLY_UPDATE_GOLDENS=1 and read the diff";
}

TEST(MachinesThatFit, RoomToolsAndHeatDecide) {
  EXPECT_EQ(machines_that_fit({0, 200, 0, 200, 100}, 1, 60, 215).size(), 3U);
  EXPECT_EQ(machines_that_fit({0, 300, 0, 300, 100}, 5, 60, 215),
            std::vector<std::string>{"changer-5"});
  EXPECT_EQ(machines_that_fit({0, 300, 0, 300, 100}, 2, 60, 310),
            std::vector<std::string>{"switcher-4"});
  EXPECT_TRUE(machines_that_fit({0, 900, 0, 300, 100}, 1, 60, 215).empty());
}

}  // namespace
}  // namespace platetally
