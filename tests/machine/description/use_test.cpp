// What is done with a description: tools by hand, machines that fit, the error that is thrown.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <fstream>

#include "machine/description/embedded.hpp"
#include "platetally/machine.hpp"
#include "support/temp_folder.hpp"

namespace platetally {
namespace {

TEST(FilamentsByHand, AreTheLastToolRepeatedWithAFeedOfItsOwnEach) {
  Machine machine = load_machine("single-1").machine();
  ASSERT_TRUE(machine.swap.filament_change_by_hand);
  machine.tools = {{.head = 0, .feed = 9, .material = "PLA", .colour = "green"},
                   {.head = 0, .feed = 4, .material = "PETG", .colour = "ivory"}};
  const Machine many = filaments_by_hand(machine);
  ASSERT_EQ(many.tools.size(), kMostByHand);
  EXPECT_EQ(many.tools[0], machine.tools[0]);
  EXPECT_EQ(many.tools[1], machine.tools[1]);
  for (std::size_t tool = 2; tool < many.tools.size(); ++tool) {
    EXPECT_EQ(many.tools[tool].material, "PETG");
    EXPECT_EQ(many.tools[tool].colour, "") << "which nobody knows";
    EXPECT_EQ(many.tools[tool].feed, 8 + static_cast<int>(tool)) << "beyond the highest, 9";
  }
  EXPECT_EQ(filaments_by_hand(many), many) << "twice is once";
  EXPECT_TRUE(validate(many).empty());
}

TEST(FilamentsByHand, LeaveOtherMachinesAsTheyAre) {
  for (const char* name : {"changer-5", "switcher-4"}) {
    const Machine machine = load_machine(name).machine();
    EXPECT_EQ(filaments_by_hand(machine), machine);
  }
  Machine full = load_machine("single-1").machine();
  full.tools.resize(20);
  EXPECT_EQ(filaments_by_hand(full), full) << "more than there would be";
  full.tools.clear();
  EXPECT_EQ(filaments_by_hand(full), full) << "no tool that could be repeated";
}

TEST(MachinesThatFit, WhatIsExactlyAtALimitFits) {
  for (const std::string& name : embedded_machine_names()) {
    SCOPED_TRACE(name);
    const Machine machine = load_machine(name).machine();
    const auto fits = [&name](const BuildArea& area, int tools, double bed_c, double nozzle_c) {
      const auto fitting = machines_that_fit(area, tools, bed_c, nozzle_c);
      return std::find(fitting.begin(), fitting.end(), name) != fitting.end();
    };
    const int tools = static_cast<int>(machine.tools.size());
    const double bed_c = machine.bed.maximum_c, nozzle_c = machine.heads[0].maximum_c;
    EXPECT_TRUE(fits(machine.area, tools, bed_c, nozzle_c));
    EXPECT_FALSE(fits(machine.area, tools + 1, bed_c, nozzle_c));
    EXPECT_FALSE(fits(machine.area, tools, std::nextafter(bed_c, 1e9), nozzle_c));
    EXPECT_FALSE(fits(machine.area, tools, bed_c, std::nextafter(nozzle_c, 1e9)));
    for (double BuildArea::*high :
         {&BuildArea::x_max_mm, &BuildArea::y_max_mm, &BuildArea::z_max_mm}) {
      BuildArea larger = machine.area;
      larger.*high = std::nextafter(larger.*high, 1e9);
      EXPECT_FALSE(fits(larger, tools, bed_c, nozzle_c));
    }
    for (double BuildArea::*low : {&BuildArea::x_min_mm, &BuildArea::y_min_mm}) {
      BuildArea larger = machine.area;
      larger.*low = -1e-9;
      EXPECT_FALSE(fits(larger, tools, bed_c, nozzle_c));
    }
  }
}

TEST(MachinesThatFit, NeedingMoreNeverFitsMore) {
  const std::vector<double> sizes{100, 240, 241, 300, 350, 400, 401};
  for (const double size : sizes)
    for (int tools = 1; tools < 7; ++tools) {
      const auto fewer = machines_that_fit({0, size, 0, size, 50}, tools + 1, 60, 215);
      const auto more = machines_that_fit({0, size, 0, size, 50}, tools, 60, 215);
      for (const std::string& name : fewer)
        EXPECT_NE(std::find(more.begin(), more.end(), name), more.end()) << name;
    }
}

TEST(UnusableMachine, SaysTheFirstErrorWithItsPlace) {
  const auto what = [](const std::string& text) -> std::string {
    try {
      parse_machine(text, "x").machine();
    } catch (const UnusableMachine& error) {
      return error.what();
    }
    return "";
  };
  EXPECT_EQ(what("[supply]\nidle_w = -1\n"), "2:10: supply.idle_w: found -1; expected 0 to 1000 W");
  EXPECT_EQ(what("[motion]\njunction_deviation_mm = 0.9\nx_speed_mm_s = 0\n"),
            "3:16: motion.x_speed_mm_s: found 0; expected 0.01 to 5000 mm/s")
      << "a warning comes before it";
  EXPECT_EQ(what("tools = []\n"), "1:9: tools: found 0; expected 1 to 32");
}

TEST(Validate, SaysEveryViolatedBoundOnce) {
  Machine machine;
  EXPECT_TRUE(validate(machine).empty());
  machine.room_c = 51;
  machine.bed.neighbour_count = 3;
  machine.heads[0].band_k = std::nan("");
  machine.tools[0].head = 1;
  machine.tools[0].colour = "grean";
  machine.dialect.comments.push_back({" \t", CommentMeaning::layer});
  machine.swap.head_change_s = {1, 4, 3};
  machine.dialect.rows.push_back({"PING", DialectAction::takes_seconds, -1.0, true, {}});
  std::vector<std::string> found;
  for (const Diagnostic& fault : validate(machine)) {
    EXPECT_EQ(fault.severity, Severity::error);
    EXPECT_EQ(fault.line, 0U) << "there is no text";
    found.push_back(fault.message.substr(0, fault.message.find(':')));
  }
  std::sort(found.begin(), found.end());
  EXPECT_EQ(found, (std::vector<std::string>{
                       "bed.neighbour_count", "dialect.comments", "dialect.rows", "heads[0].band_k",
                       "room_c", "swap.head_change_s", "tools[0].colour", "tools[0].head"}));
}

TEST(Validate, CountsHeadsAndToolsThatAProgramPutIn) {
  Machine machine;
  machine.heads.resize(17);
  machine.tools.resize(33);
  const auto faults = validate(machine);
  ASSERT_EQ(faults.size(), 2U);
  EXPECT_EQ(faults[0].message, "heads: found 17; expected 1 to 16");
  EXPECT_EQ(faults[1].message, "tools: found 33; expected 1 to 32");
  machine.heads.resize(16);
  machine.tools.resize(32);
  EXPECT_TRUE(validate(machine).empty());
  machine.tools[31].head = -1;
  ASSERT_EQ(validate(machine).size(), 2U) << "below its range, and on no head";
}

TEST(LoadMachine, ANameWinsOverAFileAndAFileIsReadByItsPath) {
  const test::TempFolder temp;
  const std::string path = (temp.path() / "bench.toml").string();
  std::ofstream(path) << "name = \"the one at the potting bench\"\nextends = \"switcher-4\"\n";
  const MachineLoad load = load_machine(path);
  EXPECT_TRUE(load.ok());
  EXPECT_EQ(load.extends, "switcher-4");
  EXPECT_EQ(load.machine().name, "the one at the potting bench");
  EXPECT_EQ(load.machine().heads, load_machine("switcher-4").machine().heads);
  EXPECT_EQ(load_machine("switcher-4").extends, "");
}

TEST(LoadMachine, AFileBeyondAMebibyteIsRefusedUnread) {
  const test::TempFolder temp;
  const std::string path = (temp.path() / "large.toml").string();
  const auto load_of = [&path](std::size_t bytes) {
    std::ofstream(path) << "room_c = 18\n#" << std::string(bytes - 13, ' ');
    return load_machine(path);
  };
  EXPECT_TRUE(load_of(1 << 20).ok());
  const MachineLoad load = load_of((1 << 20) + 1);
  ASSERT_FALSE(load.ok());
  EXPECT_EQ(load.diagnostics.at(0).code, "machine-file-hostile");
}

TEST(Extends, IsOneOfTheEmbeddedMachinesOnly) {
  for (const char* value :
       {"\"\"", "3", "true", "[\"single-1\"]", "\"Single-1\"", "\"./x.toml\""}) {
    const MachineLoad load = parse_machine(fmt::format("room_c = 900\nextends = {}\n", value), "x");
    ASSERT_EQ(load.diagnostics.size(), 1U) << value << ": nothing else is read";
    EXPECT_EQ(load.diagnostics[0].code, "machine-unknown");
    EXPECT_EQ(load.diagnostics[0].line, 2U);
    EXPECT_EQ(load.diagnostics[0].column, 11U);
    EXPECT_NE(load.diagnostics[0].message.find("expected one of changer-5, switcher-4, single-1"),
              std::string::npos);
  }
}

TEST(Extends, AFileThatSaysNothingMoreIsThatMachine) {
  for (const std::string& name : embedded_machine_names()) {
    const MachineLoad load = parse_machine(fmt::format("extends = \"{}\"\n", name), "x");
    EXPECT_EQ(load.machine(), load_machine(name).machine());
    EXPECT_EQ(load.extends, name);
    EXPECT_EQ(load.inherited_motion_keys.size(), 29U) << "all of [motion]";
    const std::string written = machine_to_toml(load.machine());
    for (const std::string& key : load.inherited_motion_keys)
      EXPECT_NE(written.find(key + " "), std::string::npos) << key;
  }
}

TEST(Written, IsTheSameWhenItIsReadAndWrittenAgain) {
  for (const std::string& name : embedded_machine_names()) {
    const std::string once = machine_to_toml(load_machine(name).machine());
    EXPECT_EQ(machine_to_toml(parse_machine(once, "x").machine()), once);
    EXPECT_NE(once.find("room_c = 23  # temperature of the room; -20 .. 50 degC\n"),
              std::string::npos);
  }
}

TEST(Written, LeavesOutCornerKeysOfAnotherModelAsComments) {
  Machine machine;
  machine.motion.corner_model = CornerModel::corner_speed;
  const std::string text = machine_to_toml(machine);
  EXPECT_NE(text.find("\n# x_corner_step_mm_s = 8"), std::string::npos);
  EXPECT_NE(text.find("\n# junction_deviation_mm = 0.02"), std::string::npos);
  EXPECT_NE(text.find("\ne_corner_step_mm_s = 2.5"), std::string::npos) << "has an effect there";
  machine.motion.junction_deviation_mm = 0.03;
  EXPECT_NE(machine_to_toml(machine).find("\njunction_deviation_mm = 0.03"), std::string::npos)
      << "a value of one's own is kept, effect or not";
}

}  // namespace
}  // namespace platetally
