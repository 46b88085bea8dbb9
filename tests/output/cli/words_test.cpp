// Words that users write as arguments, read one by one; and words that are said to them.
#include <gtest/gtest.h>

#include <fstream>

#include "output/cli/clock.hpp"
#include "output/cli/commands.hpp"
#include "output/cli/messages.hpp"
#include "output/cli/reading.hpp"
#include "output/cli/report_options.hpp"
#include "output/cli/tally_arguments.hpp"
#include "output/cli/terminal.hpp"
#include "output/cli/usage.hpp"
#include "platetally/account.hpp"
#include "support/json_schema.hpp"
#include "support/temp_folder.hpp"

namespace platetally::cli {
namespace {

/// What is said of arguments that make no sense; "taken" where they do.
template <typename Read>
std::string said(Read read) {
  try {
    read();
  } catch (const UsageError& error) {
    return error.what();
  }
  return "taken";
}

Machine with_tools(std::size_t count) {
  Machine machine;
  machine.name = "bench";
  machine.tools.resize(count);
  return machine;
}

TEST(Colours, AreByToolNumberInAnyOrder) {
  EXPECT_EQ(parse_colours("2=white,0=#F0C814", with_tools(4)),
            (std::vector<std::string>{"#F0C814", "", "white"}));
  EXPECT_EQ(parse_colours("", with_tools(1)), std::vector<std::string>{});
}

TEST(Colours, SayWhatIsWrongWithAnEntry) {
  const auto of = [](const std::string& text) {
    return said([&] { parse_colours(text, with_tools(2)); });
  };
  const std::string form = "is not TOOL=COLOUR, such as 0=black or 1=#f0c814";
  EXPECT_EQ(of("black"), "--colours: 'black' " + form);
  EXPECT_EQ(of("0="), "--colours: '0=' " + form);
  EXPECT_EQ(of("=black"), "--colours: '=black' " + form);
  EXPECT_EQ(of("-1=black"), "--colours: '-1=black' " + form);
  EXPECT_EQ(of("0 =black"), "--colours: '0 =black' " + form);
  EXPECT_EQ(of("0=black,,1=white"), "--colours: '' " + form);
  EXPECT_EQ(of("2=black"), "--colours: machine 'bench' has no tool 2; its last is 1");
  EXPECT_EQ(of("99999999999999999999=black"), "--colours: '99999999999999999999=black' " + form);
  EXPECT_EQ(of("1=black,1=white"), "--colours: tool 1 is given twice");
  EXPECT_NE(of("0=blakc").find("'black'"), std::string::npos) << "the nearest name is said";
  EXPECT_EQ(of("0=black,"), "taken");
}

TEST(Colours, OfAMachineThatIsFilledByHandGoBeyondItsTools) {
  Machine machine = with_tools(1);
  machine.swap.filament_change_by_hand = true;
  EXPECT_EQ(parse_colours("5=white", machine).size(), 6U);
  EXPECT_NE(said([&] { parse_colours("16=white", machine); }), "taken");
}

TEST(Reserve, IsAShareOrPercent) {
  EXPECT_DOUBLE_EQ(parse_reserve("5%"), 0.05);
  EXPECT_DOUBLE_EQ(parse_reserve("0.05"), 0.05);
  EXPECT_DOUBLE_EQ(parse_reserve("0"), 0.0);
  EXPECT_DOUBLE_EQ(parse_reserve("100%"), 1.0);
  EXPECT_DOUBLE_EQ(parse_reserve("1"), 1.0);
  for (const char* text : {"", "%", "5", "101%", "-1%", "five", "5 %", "nan", "5%%", "0.05g"})
    EXPECT_EQ(said([&] { parse_reserve(text); }),
              std::string("--reserve: '") + text + "' is no share such as 5% or 0.05");
}

TEST(Limit, IsAKeyAndANumberBehindTheLastSign) {
  EXPECT_EQ(parse_limit("purge_g=50"), std::pair(std::string("purge_g"), 50.0));
  EXPECT_EQ(parse_limit("tools.3.purge_g=1e3"), std::pair(std::string("tools.3.purge_g"), 1000.0));
  EXPECT_EQ(parse_limit("energy_wh=-1"), std::pair(std::string("energy_wh"), -1.0));
  for (const char* text : {"purge_g", "=50", "purge_g=", "purge_g=fifty", "purge_g=50g",
                           "purge_g=inf", "purge_g=nan", "purge_g= 50", ""})
    EXPECT_EQ(said([&] { parse_limit(text); }),
              std::string("--limit: '") + text + "' is not KEY=VALUE, such as purge_g=50");
  EXPECT_NE(said([] { parse_limit("purge=50"); }).find("--limit: no value is called 'purge'"),
            std::string::npos);
}

TEST(Value, OfMoneyNeedsPricesAndNoWordIsTheUsual) {
  EXPECT_EQ(parse_value("", false), std::nullopt);
  EXPECT_EQ(parse_value("grams", false), Aim::grams);
  EXPECT_EQ(parse_value("money", true), Aim::money);
  EXPECT_EQ(said([] { parse_value("money", false); }), "--value money needs --prices");
}

TEST(Key, ThatNoPlateHasIsRefused) {
  EXPECT_EQ(said([] { require_key("layers.12.z_mm"); }), "taken");
  EXPECT_EQ(said([] { require_key("purge_gg"); }),
            "--get: no value is called 'purge_gg'; the nearest is 'purge_g'");
}

TEST(Variant, HoldsWhatWasAsked) {
  VariantArguments arguments;
  EXPECT_TRUE(variant_of(arguments).is_as_it_is());
  arguments.repeat = 3;
  arguments.merge = {"2=1", "10=0"};
  arguments.drop_tower = true;
  arguments.standby_c = 150.0;
  arguments.room_c = -5.0;
  const platetally::Variant variant = variant_of(arguments);
  EXPECT_EQ(variant.repeat, 3);
  EXPECT_EQ(variant.merge, (std::vector<std::pair<int, int>>{{2, 1}, {10, 0}}));
  EXPECT_TRUE(variant.drop_tower);
  EXPECT_EQ(variant.standby_c, 150.0);
  EXPECT_EQ(variant.room_c, -5.0);
}

TEST(Variant, APairOfToolsIsTwoDifferentNumbers) {
  for (const char* text : {"", "2", "2=", "=1", "2=1=0", "2:1", "a=b", "-2=1", "2 =1", "2=+1"}) {
    VariantArguments arguments;
    arguments.merge = {text};
    EXPECT_EQ(said([&] { variant_of(arguments); }),
              std::string("--merge: '") + text + "' is not TOOL=TOOL, such as 2=1");
  }
}

TEST(Payload, IsANumberOfItsOwnOrWithinJson) {
  EXPECT_EQ(read_payload("12.5", ""), 12.5);
  EXPECT_EQ(read_payload("  +12.5\t\r", ""), 12.5);
  EXPECT_EQ(read_payload("-3e2", ""), -300.0);
  EXPECT_EQ(read_payload(R"({"plug": {"power": 41}})", "/plug/power"), 41.0);
  EXPECT_EQ(read_payload(R"({"plug": {"power": " 41.5 "}})", "/plug/power"), 41.5);
  EXPECT_EQ(read_payload(R"([1, [2, 3]])", "/1/0"), 2.0);
  for (const char* text : {"", " ", "12,5", "12.5 W", "nan", "inf", "1e999", "0x10", "{\"w\": 1}"})
    EXPECT_EQ(read_payload(text, ""), std::nullopt) << text;
}

TEST(Payload, OfAnotherFormIsPassedOver) {
  const char* kMessage = R"({"plug": {"power": 41, "on": true, "unit": "W", "list": []}})";
  for (const char* pointer : {"/plug", "/plug/on", "/plug/unit", "/plug/list", "/plug/watts",
                              "/plug/power/x", "/plug/list/0", "plug/power", "/plug/~2"})
    EXPECT_EQ(read_payload(kMessage, pointer), std::nullopt) << pointer;
  for (const char* text : {"", "{", "12.5", "\xff", "null"})
    EXPECT_EQ(read_payload(text, "/plug/power"), std::nullopt) << text;
}

TEST(Nearest, IsNearEnoughToBeMeant) {
  const std::vector<std::string> words{"tally", "audit", "machines", "reconcile"};
  EXPECT_EQ(nearest("taly", words), "tally");
  EXPECT_EQ(nearest("recncile", words), "reconcile");
  EXPECT_EQ(nearest("lantern", words), "");
  EXPECT_EQ(nearest(std::string(65, 'a'), words), "") << "no slip of the finger";
  EXPECT_EQ(nearest("tally", {}), "");
}

TEST(Listed, HasCommasBetween) {
  EXPECT_EQ(listed({}), "");
  EXPECT_EQ(listed({"a"}), "a");
  EXPECT_EQ(listed({"a", "b", "c"}), "a, b, c");
}

TEST(Harmless, KeepsTextAndReplacesWhatSteersATerminal) {
  EXPECT_EQ(harmless("fern 'oak' \xc3\xa9 \xe2\x82\xac \xf0\x9f\x8c\xb1"),
            "fern 'oak' \xc3\xa9 \xe2\x82\xac \xf0\x9f\x8c\xb1");
  EXPECT_EQ(harmless("a\x1b[2J\r\n\t\x7f"
                     "b"),
            "a?[2J????b");
  EXPECT_EQ(harmless("a\xc2\x9b"
                     "2J"),
            "a?2J")
      << "a control of two bytes is one";
  EXPECT_EQ(harmless("a\x9b"
                     "2J"),
            "a?2J");
  EXPECT_EQ(harmless(std::string("nul\0", 4)), "nul?");
  EXPECT_EQ(harmless("\xc2\xa0"), "\xc2\xa0") << "a no-break space is none";
}

TEST(Dates, AreOfUtc) {
  EXPECT_EQ(utc_date(0.0), "1970-01-01");
  EXPECT_EQ(utc_moment(0.0), "1970-01-01T00:00:00Z");
  EXPECT_EQ(utc_moment(1764083832.9), "2025-11-25T15:17:12Z") << "seconds are cut, not rounded";
  EXPECT_EQ(utc_moment(-0.5), "1969-12-31T23:59:59Z");
  EXPECT_EQ(utc_date(951782400.0), "2000-02-29");
}

TEST(Terminal, ColourIsWantedWhereItIsAskedForAndCanBeSeen) {
  EXPECT_TRUE(wants_colour("always", true));
  EXPECT_FALSE(wants_colour("always", false)) << "a file is no terminal";
  EXPECT_FALSE(wants_colour("never", true));
  EXPECT_EQ(prose_width(false), 100);
}

TEST(Files, ThatAreNotNamedGiveNothing) {
  EXPECT_TRUE(load_materials_argument("").empty());
  EXPECT_EQ(load_prices_argument(""), std::nullopt);
}

TEST(Files, WithAFaultNameTheirPlace) {
  const test::TempFolder folder;
  const std::string path = (folder.path() / "prices.toml").string();
  std::ofstream(path) << "currency = \"EUR\"\nmachine_price = \"much\"\n";
  std::string fault;
  try {
    load_prices_argument(path);
  } catch (const RunError& error) {
    fault = error.what();
  }
  EXPECT_TRUE(fault.starts_with(path + ":2:")) << fault;
}

TEST(Guard, ThatAnInputIsToBlameIsNoInternalError) {
  EXPECT_EQ(told_as_run_error([] { return 1; }), 1);
  EXPECT_THROW(told_as_run_error([]() -> int { throw std::invalid_argument("a"); }), RunError);
  EXPECT_THROW(told_as_run_error([]() -> int { throw std::runtime_error("b"); }), RunError);
  EXPECT_THROW(told_as_run_error([]() -> int { throw UsageError("c"); }), UsageError);
  EXPECT_THROW(told_as_run_error([]() -> int { throw std::logic_error("d"); }), std::logic_error);
}

TEST(Joined, SeveralTalliesAreOneJson) {
  Account account;
  account.path = "tag.gcode";
  account.tower.verdict = "none";
  const std::string one = to_json(account);
  EXPECT_EQ(joined({one}, true, {}), one) << "a single one as it is";
  const test::Json several = test::Json::parse(joined({one, one, one}, true, account.made_from));
  EXPECT_EQ(several["plates"].size(), 3U);
  EXPECT_EQ(test::faults_against(several, test::Json::parse(json_schema("tallies"))),
            std::vector<std::string>{});
  EXPECT_EQ(joined({"a\n", "b\n"}, false, {}), "a\n\nb\n");
}

TEST(Stamp, HasNoHashOfAStream) {
  EXPECT_EQ(stamp_of("today", "-").content_hash, "");
  EXPECT_EQ(stamp_of("today").content_hash, "");
  EXPECT_EQ(stamp_of("today", "/no/such/file").content_hash, "");
  const test::TempFolder folder;
  const std::string path = (folder.path() / "tag.gcode").string();
  std::ofstream(path) << "G28\n";
  EXPECT_EQ(stamp_of("today", path).content_hash, content_hash(path));
  EXPECT_EQ(stamp_of("today", path).content_hash.size(), 32U);
}

}  // namespace
}  // namespace platetally::cli
