// Every usage error of every command: it names the option, says what was found and what was
// expected, and nothing is done.
#include <gtest/gtest.h>

#include <fstream>

#include "output/cli/run_command.hpp"
#include "platetally/machine.hpp"
#include "support/temp_folder.hpp"
#include "support/test_names.hpp"

namespace platetally {
namespace {

struct UsageCase {
  const char* name;
  std::vector<std::string> arguments;
  std::string says;
};

class Usage : public testing::TestWithParam<UsageCase> {};

TEST_P(Usage, IsRefusedInAWord) {
  const test::Ran ran = test::run_command(GetParam().arguments);
  EXPECT_EQ(ran.usage, GetParam().says) << "fault: " << ran.fault;
  EXPECT_EQ(ran.out, "");
  EXPECT_EQ(ran.code, -1);
}

std::string name_of_case(const testing::TestParamInfo<UsageCase>& one) {
  return test::numbered(one.index, one.param.name);
}

INSTANTIATE_TEST_SUITE_P(
    OfTally, Usage,
    testing::Values(
        UsageCase{"no plate", {"tally"}, "tally needs a PLATE, or - for standard input"},
        UsageCase{"strict and partial",
                  {"tally", "a.gcode", "--strict", "--partial"},
                  "--strict and --partial exclude each other"},
        UsageCase{"picture at without picture",
                  {"tally", "a.gcode", "--machine", "changer-5", "--picture-at", "2"},
                  "--picture-at needs --picture FILE"},
        UsageCase{"objects of a variant",
                  {"tally", "a.gcode", "--machine", "changer-5", "--objects", "--repeat", "2"},
                  "--objects and --picture are of the plate as it is, not of one with --repeat, "
                  "--merge or --drop-tower"},
        UsageCase{
            "picture of a variant",
            {"tally", "a.gcode", "--machine", "changer-5", "--picture", "a.svg", "--drop-tower"},
            "--objects and --picture are of the plate as it is, not of one with --repeat, "
            "--merge or --drop-tower"},
        UsageCase{"beside without a page",
                  {"tally", "a.gcode", "--machine", "changer-5", "--beside", "switcher-4"},
                  "--beside is for --format html and a PLATE that can be read twice"},
        UsageCase{
            "beside of a stream",
            {"tally", "-", "--machine", "changer-5", "--format", "html", "--beside", "switcher-4"},
            "--beside is for --format html and a PLATE that can be read twice"},
        UsageCase{"start that is no time",
                  {"tally", "a.gcode", "--machine", "changer-5", "--start", "tomorrow"},
                  "--start: 'tomorrow' is no time such as 2026-12-01T18:30"},
        UsageCase{"money without prices",
                  {"tally", "a.gcode", "--machine", "changer-5", "--value", "money"},
                  "--value money needs --prices"},
        UsageCase{"merge of one tool",
                  {"tally", "a.gcode", "--machine", "changer-5", "--merge", "2"},
                  "--merge: '2' is not TOOL=TOOL, such as 2=1"},
        UsageCase{"merge into itself",
                  {"tally", "a.gcode", "--machine", "changer-5", "--merge", "2=2"},
                  "--merge: '2=2' names one tool twice"},
        UsageCase{"limit on a name",
                  {"tally", "a.gcode", "--machine", "changer-5", "--limit", "machine.name=3"},
                  "--limit: 'machine.name' is no number and cannot have a limit"}),
    name_of_case);

INSTANTIATE_TEST_SUITE_P(
    OfOrderAndCompare, Usage,
    testing::Values(
        UsageCase{
            "order without a plate", {"order"}, "order needs a PLATE, or - for standard input"},
        UsageCase{"money without prices",
                  {"order", "a.gcode", "--machine", "changer-5", "--by", "money"},
                  "--by money needs --prices"},
        UsageCase{"before without a colon",
                  {"order", "a.gcode", "--machine", "changer-5", "--before", "02"},
                  "--before: '02' is not TOOL:TOOL, such as 0:2"},
        UsageCase{"before with a word",
                  {"order", "a.gcode", "--machine", "changer-5", "--before", "0:white"},
                  "--before: '0:white' is not TOOL:TOOL, such as 0:2"},
        UsageCase{"before with nothing in front",
                  {"order", "a.gcode", "--machine", "changer-5", "--before", ":1"},
                  "--before: ':1' is not TOOL:TOOL, such as 0:2"},
        UsageCase{"compare without a plate", {"compare"}, "compare needs a PLATE"},
        UsageCase{"compare a stream",
                  {"compare", "-", "--machine", "changer-5", "--machine", "switcher-4"},
                  "compare reads a plate once for each machine: standard input will not do"},
        UsageCase{"one plate on one machine",
                  {"compare", "a.gcode", "--machine", "changer-5"},
                  "compare needs two machines or more (--machine A --machine B), two plates, or "
                  "one that is otherwise (--repeat, --merge, --drop-tower)"}),
    name_of_case);

INSTANTIATE_TEST_SUITE_P(
    OfAudit, Usage,
    testing::Values(
        UsageCase{"no folder", {"audit"}, "audit needs a FOLDER"},
        UsageCase{"strict and partial",
                  {"audit", "plates", "--strict", "--partial"},
                  "--strict and --partial exclude each other"},
        UsageCase{"merge and a folder",
                  {"audit", "plates", "--merge", "a.jsonl"},
                  "--merge takes the files of shares and no FOLDER"},
        UsageCase{"since without a history",
                  {"audit", "--since", "2026-11-01"},
                  "--since needs --history FILE"},
        UsageCase{"since as a table",
                  {"audit", "--since", "2026-11-01", "--history", "h", "--format", "csv"},
                  "--since gives text or json"},
        UsageCase{"since that is no date",
                  {"audit", "--since", "2026-13-01", "--history", "h"},
                  "--since: '2026-13-01' is no date, such as 2026-11-01 or 2026-11-01T08:00:00"},
        UsageCase{"a share past the last",
                  {"audit", "plates", "--machine", "changer-5", "--shard", "4/3"},
                  "--shard: '4/3' is not SHARE/SHARES, such as 1/3 for the first of three"},
        UsageCase{"a share that is none",
                  {"audit", "plates", "--machine", "changer-5", "--shard", "0/3"},
                  "--shard: '0/3' is not SHARE/SHARES, such as 1/3 for the first of three"},
        UsageCase{"a share in words",
                  {"audit", "plates", "--machine", "changer-5", "--shard", "half"},
                  "--shard: 'half' is not SHARE/SHARES, such as 1/3 for the first of three"},
        UsageCase{"sorted by an unknown key",
                  {"audit", "plates", "--machine", "changer-5", "--sort", "purge_gr"},
                  "--sort: no value is called 'purge_gr'; the nearest is 'purge_g'"},
        UsageCase{"finished without watching",
                  {"audit", "plates", "--machine", "changer-5", "--finished", "done"},
                  "--finished needs --watch and --history"},
        UsageCase{"watching a page",
                  {"audit", "plates", "--machine", "changer-5", "--watch", "--format", "html"},
                  "--watch writes text or json"}),
    name_of_case);

INSTANTIATE_TEST_SUITE_P(
    OfPrinted, Usage,
    testing::Values(
        UsageCase{"nothing was printed",
                  {"printed"},
                  "printed needs a PLATE, --from FOLDER or --plan PLAN.json, one of them"},
        UsageCase{"both a plate and a folder",
                  {"printed", "a.gcode", "--from", "done"},
                  "printed needs a PLATE, --from FOLDER or --plan PLAN.json, one of them"},
        UsageCase{"no history", {"printed", "a.gcode"}, "printed needs --history FILE"},
        UsageCase{"a share of what was finished",
                  {"printed", "a.gcode", "--history", "h", "--share", "0.5"},
                  "--share goes with --failed: what was finished used all of the plate"},
        UsageCase{"good parts of a folder",
                  {"printed", "--from", "done", "--history", "h", "--good", "3"},
                  "--when, --good, --failed and --unit are of one PLATE"},
        UsageCase{"a plan without its moment",
                  {"printed", "--plan", "p.json", "--history", "h"},
                  "--plan needs --now, the moment until which its runs are done"},
        UsageCase{"a moment without a plan",
                  {"printed", "a.gcode", "--history", "h", "--now", "2026-05-04 07:30"},
                  "--plan needs --now, the moment until which its runs are done"},
        UsageCase{"colours without a machine",
                  {"printed", "a.gcode", "--history", "h", "--colours", "0=black"},
                  "--materials, --colours and --prices need --machine"},
        UsageCase{"a plan with a machine",
                  {"printed", "--plan", "p.json", "--now", "2026-05-04 07:30", "--history", "h",
                   "--machine", "changer-5"},
                  "a plan says itself which machines printed it; leave out --machine"},
        UsageCase{
            "a moment that is none",
            {"printed", "a.gcode", "--history", "h", "--machine", "changer-5", "--when", "noon"},
            "--when: 'noon' is no moment in UTC, such as 2026-11-25T15:17:12"},
        UsageCase{
            "good parts that are no number",
            {"printed", "a.gcode", "--history", "h", "--machine", "changer-5", "--good", "all"},
            "--good: 'all' is no number of parts"}),
    name_of_case);

INSTANTIATE_TEST_SUITE_P(
    OfMeters, Usage,
    testing::Values(
        UsageCase{"nothing to record from",
                  {"record"},
                  "record needs --broker HOST with --topic, or --input FILE (- is standard input)"},
        UsageCase{"two things to record from",
                  {"record", "--broker", "h", "--topic", "t", "--input", "f"},
                  "record needs --broker HOST with --topic, or --input FILE (- is standard input)"},
        UsageCase{"no topic", {"record", "--broker", "h"}, "--broker needs --topic"},
        UsageCase{"nowhere to record to", {"record", "--input", "-"}, "record needs -o FILE"},
        UsageCase{"nothing to calibrate by",
                  {"calibrate", "changer-5"},
                  "calibrate needs --log FILE:EXPERIMENT, such as --log warm.csv:bed=60, or a FILE "
                  "that holds set points and duties; --prints FILE; --changes FILE; --pairs FILE; "
                  "or --plan"},
        UsageCase{"pairs and a log",
                  {"calibrate", "changer-5", "--pairs", "p.csv", "--log", "a.csv:idle"},
                  "--pairs goes without --log: what they tell has nothing in common"},
        UsageCase{"nothing to reconcile",
                  {"reconcile", "a.gcode", "--machine", "changer-5"},
                  "reconcile needs a PLATE, --machine, and --log or --weighed"},
        UsageCase{"weighed without a number",
                  {"reconcile", "a.gcode", "--machine", "changer-5", "--weighed", "purge_g"},
                  "--weighed: 'purge_g' is not KEY=VALUE, such as purge_g=105"}),
    name_of_case);

INSTANTIATE_TEST_SUITE_P(
    OfPlansAndMachines, Usage,
    testing::Values(
        UsageCase{"payback of nothing",
                  {"payback"},
                  "payback needs a FILE; docs/payback-file.md says what it holds"},
        UsageCase{
            "plan of nothing", {"plan"}, "plan needs a FILE; docs/plan.md says what it holds"},
        UsageCase{"two aims",
                  {"plan", "q.toml", "--by", "cost", "--weights", "cost=1"},
                  "--by and --weights say the same; give one"},
        UsageCase{"an earlier plan without a moment",
                  {"plan", "q.toml", "--from", "p.json"},
                  "--from needs --now, the moment at which the rest is planned again"},
        UsageCase{"a failed run of no plan",
                  {"plan", "q.toml", "--failed", "r1"},
                  "--failed names a run of an earlier plan: give that with --from"},
        UsageCase{"a weight of what is none",
                  {"plan", "q.toml", "--weights", "hurry=1"},
                  "--weights: found 'hurry=1'; expected cost=, finish=, waste= or energy= and a "
                  "number"},
        UsageCase{"a moment that is none",
                  {"plan", "q.toml", "--now", "soon"},
                  "--now: found 'soon'; expected a moment such as \"2026-05-04 07:30\""},
        UsageCase{"to learn for no machine",
                  {"machines", "--learn", "a.gcode"},
                  "--learn needs the NAME of a machine or a machine file"},
        UsageCase{"a circuit without machines",
                  {"machines", "--circuit", "230V,16A"},
                  "a circuit needs both, such as --circuit 230V,16A --plan 6xswitcher-4"},
        UsageCase{"a circuit without units",
                  {"machines", "--circuit", "230,16", "--plan", "1xchanger-5"},
                  "--circuit: '230,16' is not VOLTS and AMPERES, such as 230V,16A"},
        UsageCase{"machines without a count",
                  {"machines", "--circuit", "230V,16A", "--plan", "changer-5"},
                  "--plan: 'changer-5' is not COUNTxMACHINE, such as 6xswitcher-4"},
        UsageCase{"a code with a slip",
                  {"explain", "cheaper-ordre"},
                  "nothing has the code 'cheaper-ordre'; did you mean 'cheaper-order'?"},
        UsageCase{"a code that is none",
                  {"explain", "lantern"},
                  "nothing has the code 'lantern'; 'platetally explain' lists all of them"}),
    name_of_case);

struct RangeCase {
  const char* command;
  const char* option;
  std::vector<std::string> refused;
  std::vector<std::string> taken;
};

class Range : public testing::TestWithParam<RangeCase> {};

// What lies outside is a fault that names the option; the ends themselves are taken, which shows
// by a complaint of something else.
TEST_P(Range, HoldsItsEndsAndNothingBeyond) {
  const RangeCase& one = GetParam();
  for (const std::string& value : one.refused) {
    const test::Ran ran = test::run_command({one.command, one.option, value});
    EXPECT_TRUE(ran.usage.find(one.option) != std::string::npos) << value << ": " << ran.usage;
  }
  for (const std::string& value : one.taken) {
    const test::Ran ran = test::run_command({one.command, one.option, value});
    EXPECT_TRUE(ran.usage.find(one.option) == std::string::npos) << value << ": " << ran.usage;
  }
}

INSTANTIATE_TEST_SUITE_P(
    Options, Range,
    testing::Values(
        RangeCase{"tally", "--threads", {"0", "1025", "two", "1.5", ""}, {"1", "1024"}},
        RangeCase{"tally", "--copies", {"0", "-1", "100001"}, {"1", "100000"}},
        RangeCase{"tally", "--repeat", {"0", "1001"}, {"1", "1000"}},
        RangeCase{"tally", "--standby", {"-1", "401"}, {"0", "400"}},
        RangeCase{"tally", "--room-c", {"-21", "50.5"}, {"-20", "50"}},
        RangeCase{"tally", "--start-bed-c", {"-20.5", "301"}, {"-20", "300"}},
        RangeCase{"tally", "--format", {"xml", "JSON", ""}, {"text", "json", "csv", "html"}},
        RangeCase{"tally", "--color", {"yes"}, {"auto", "always", "never"}},
        RangeCase{"tally", "--require", {"cannot", "Ready"}, {"ready", "look"}},
        RangeCase{"tally", "--door", {"ajar"}, {"open", "closed"}},
        RangeCase{"tally", "--value", {"hours"}, {"time", "grams", "energy"}},
        RangeCase{"order", "--by", {"time"}, {"grams", "seconds", "swaps"}},
        RangeCase{"order", "--heads", {"any"}, {"free", "ascending", "alternating", "cyclic"}},
        RangeCase{"order", "--first", {"-1"}, {"0", "3"}},
        RangeCase{"order", "--keep", {"-1"}, {"0"}},
        RangeCase{"audit", "--top", {"-1", "1000001"}, {"0", "1000000"}},
        RangeCase{"audit", "--threads", {"0", "1025"}, {"1", "1024"}},
        RangeCase{"audit", "--settle", {"-0.1", "86401"}, {"0", "86400"}},
        RangeCase{"audit", "--every", {"0.04", "86401"}, {"0.05", "86400"}},
        RangeCase{"audit", "--format", {"xml"}, {"text", "json", "jsonl", "csv", "html"}},
        RangeCase{"printed", "--share", {"-0.1", "1.1"}, {"0", "1"}},
        RangeCase{"printed", "--utc-offset", {"-14.5", "15"}, {"-14", "14"}},
        RangeCase{"record", "--port", {"0", "65536"}, {"1", "65535"}},
        RangeCase{"record", "--idle", {"-1", "100001"}, {"0", "100000"}},
        RangeCase{"record", "--for", {"0", "1000001"}, {"0.001", "1000000"}},
        RangeCase{"calibrate", "--day-spread", {"-0.1", "0.6"}, {"0", "0.5"}},
        RangeCase{"plan", "--seconds", {"-1", "86401"}, {"0", "86400"}},
        RangeCase{"plan", "--seed", {"-1", "1000000001"}, {"0", "1000000000"}},
        RangeCase{"plan", "--threads", {"0", "65"}, {"1", "64"}},
        RangeCase{"plan", "--by", {"money"}, {"cost", "finish", "waste", "energy"}},
        RangeCase{"machines", "--bed-c", {"-1", "301"}, {"0", "300"}},
        RangeCase{"machines", "--nozzle-c", {"-1", "601"}, {"0", "600"}}),
    [](const testing::TestParamInfo<RangeCase>& one) {
      return test::readable(std::string(one.param.command) + one.param.option);
    });

TEST(CommandLine, SuggestsWhatWasPerhapsMeant) {
  EXPECT_EQ(test::run_command({"taly"}).usage, "unknown command 'taly'; did you mean 'tally'?");
  EXPECT_EQ(test::run_command({"tally", "--machin", "x"}).usage,
            "unknown option '--machin'; did you mean '--machine'?");
  EXPECT_EQ(test::run_command({"tally", "--machin=x"}).usage,
            "unknown option '--machin'; did you mean '--machine'?");
  EXPECT_EQ(test::run_command({"tally", "--zebra-stripes"}).usage,
            "unknown option '--zebra-stripes'");
  EXPECT_EQ(test::run_command({"lantern-festival"}).usage, "unknown command 'lantern-festival'");
}

TEST(CommandLine, SaysWhichOptionLacksItsValueOrHasTooMany) {
  EXPECT_EQ(test::run_command({"tally", "a.gcode", "--machine"}).usage, "--machine needs a value");
  EXPECT_EQ(test::run_command({"tally", "--machine", "a", "--machine", "b"}).usage,
            "--machine takes one value and was given several; 'platetally compare' takes several "
            "machines");
  EXPECT_EQ(test::run_command({"tally", "--door", "open", "--door", "closed"}).usage,
            "--door takes one value and was given several");
  EXPECT_EQ(test::run_command({"payback", "a.toml", "b.toml"}).usage,
            "payback does not expect 'b.toml'");
}

TEST(CommandLine, OptionsThatExcludeEachOtherSaySo) {
  for (const std::vector<std::string>& pair :
       {std::vector<std::string>{"tally", "--json", "--format", "csv"},
        {"tally", "--get", "purge_g", "--json"},
        {"tally", "--progress", "--no-progress"},
        {"machines", "changer-5", "--check", "a.toml"}}) {
    const test::Ran ran = test::run_command(pair);
    EXPECT_NE(ran.usage.find("excludes"), std::string::npos) << ran.usage;
  }
}

TEST(CommandLine, AFaultShowsNoControlCharacters) {
  const std::string usage = test::run_command({"tally", "--\x1b[31m\x07"}).usage;
  EXPECT_EQ(usage.find('\x1b'), std::string::npos);
  EXPECT_EQ(usage.find('\x07'), std::string::npos);
  EXPECT_TRUE(usage.starts_with("unknown option '--?[31m?'")) << usage;
}

TEST(CommandLine, TheWayToHelpNamesTheCommandThatWasGiven) {
  test::WholeProgram tally;
  tally.run({"tally"});
  EXPECT_EQ(tally.program().with_way_to_help("tally needs a PLATE"),
            "tally needs a PLATE; try 'platetally tally --help'");
  test::WholeProgram none;
  none.run({"taly"});
  EXPECT_EQ(none.program().with_way_to_help("did you mean 'tally'?"),
            "did you mean 'tally'? try 'platetally --help'");
}

TEST(CommandLine, WithoutACommandAllAreNamed) {
  test::WholeProgram program;
  EXPECT_EQ(program.program().missing_command(),
            "missing command; one of: tally, order, compare, payback, audit, printed, record, "
            "calibrate, reconcile, plan, machines, explain");
}

TEST(CommandLine, HelpOfACommandNamesEachOfItsOptions) {
  test::WholeProgram program;
  for (const cli::CommandText& command : program.program().command_texts()) {
    const std::string help = test::run_command({command.name, "--help"}).out;
    for (const cli::OptionText& flag : command.flags) {
      EXPECT_FALSE(flag.what.empty()) << command.name << " " << flag.names.front();
      EXPECT_NE(help.find(flag.names.back()), std::string::npos) << flag.names.back();
    }
  }
}

TEST(CommandLine, AMachineThatIsNotThereIsNamed) {
  const test::TempFolder folder;
  const std::string plate = (folder.path() / "tag.gcode").string();
  std::ofstream(plate) << "G28\n";
  EXPECT_EQ(test::run_command({"tally", plate, "--machine", "lantern"}).fault,
            "the machine 'lantern' cannot be used");
  for (const char* command : {"tally", "order", "audit"}) {
    const std::string usage = test::run_command({command, plate}).usage;
    EXPECT_TRUE(usage.starts_with("say which machine: --machine FILE, or one of ")) << usage;
    for (const std::string& name : embedded_machine_names())
      EXPECT_NE(usage.find(name), std::string::npos);
  }
  EXPECT_TRUE(test::run_command({"calibrate"}).usage.starts_with("calibrate needs a MACHINE: "));
}

}  // namespace
}  // namespace platetally
