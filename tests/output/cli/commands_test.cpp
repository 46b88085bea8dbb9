// Commands run in this process: what they write fits their schemas and says the same in every form,
// and the exit code is the one that is promised.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <sstream>

#include "output/cli/exit_codes.hpp"
#include "output/cli/run_command.hpp"
#include "platetally/explain.hpp"
#include "platetally/machine.hpp"
#include "platetally/report.hpp"
#include "support/csv_reader.hpp"
#include "support/json_schema.hpp"
#include "support/temp_folder.hpp"
#include "support/test_names.hpp"

namespace platetally {
namespace {

namespace fs = std::filesystem;
using test::Json;
using test::Ran;

/// Two tools, two layers, some purge into a corner.
constexpr const char* kTags =
    "G90\nM83\nM104 T0 S215\nM104 T1 S215\nM140 S60\nG28\nT0\nG1 Z0.2 F600\nG1 X20 Y20 F6000\n"
    "G1 X60 Y20 E1.2 F1800\nG1 X60 Y40 E0.6\nG1 X20 Y40 E1.2\nG1 X20 Y20 E0.6\nT1\n"
    "G1 E10 F300\nG1 X25 Y25 F6000\nG1 X55 Y25 E0.9 F1800\nG1 Z0.4\nG1 X55 Y35 E0.3\n"
    "G1 X25 Y35 E0.9\nG1 X25 Y25 E0.3\nM104 T0 S0\nM104 T1 S0\nM140 S0\n";

class Commands : public testing::Test {
 protected:
  std::string put(const std::string& name, const std::string& text) const {
    const fs::path path = folder_.path() / name;
    fs::create_directories(path.parent_path());
    std::ofstream(path, std::ios::binary) << text;
    return path.string();
  }
  std::string at(const std::string& name) const { return (folder_.path() / name).string(); }
  static std::string text_of(const std::string& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
  }
  /// `tally` of the tags on the changer, with more arguments.
  Ran tally(std::vector<std::string> more = {}) const {
    more.insert(more.begin(), {"tally", tags_, "--machine", "changer-5"});
    return test::run_command(more);
  }

  const test::TempFolder folder_;
  const std::string tags_ = put("tags.gcode", kTags);
};

std::vector<std::string> lines_of(const std::string& text) {
  std::istringstream in(text);
  std::vector<std::string> lines;
  for (std::string line; std::getline(in, line);)
    lines.push_back(line);
  return lines;
}

TEST_F(Commands, TallyGivesEachValueAsItsJsonHasIt) {
  const Json json = Json::parse(tally({"--json"}).out);
  EXPECT_EQ(test::faults_against(json, Json::parse(json_schema("tally"))),
            std::vector<std::string>{});
  std::vector<std::string> keys;
  std::vector<std::string> arguments;
  for (const FieldInfo& field : list_fields())
    if (field.key.starts_with("totals.")) {
      keys.push_back(field.key);
      arguments.insert(arguments.end(), {"--get", field.key});
    }
  const std::vector<std::string> values = lines_of(tally(arguments).out);
  ASSERT_EQ(values.size(), keys.size());
  for (std::size_t i = 0; i < keys.size(); ++i) {
    std::string pointer = "/" + keys[i];
    std::ranges::replace(pointer, '.', '/');
    EXPECT_EQ(Json::parse(values[i]), json.at(Json::json_pointer(pointer))) << keys[i];
  }
}

TEST_F(Commands, AFileHoldsTheBytesOfStandardOutput) {
  for (const char* format : {"text", "json", "csv", "html"}) {
    const Ran shown = tally({"--format", format});
    const Ran kept = tally({"--format", format, "-o", at(format)});
    EXPECT_EQ(kept.code, cli::kDone);
    EXPECT_EQ(kept.out, "");
    EXPECT_EQ(text_of(at(format)), shown.out) << format;
    EXPECT_FALSE(shown.out.empty());
  }
}

TEST_F(Commands, ThreadsChangeNoByte) {
  EXPECT_EQ(tally({"--json", "--threads", "1"}).out, tally({"--json", "--threads", "2"}).out);
}

TEST_F(Commands, TheCsvOfLayersIsThatOfTheJson) {
  const Json layers = Json::parse(tally({"--json"}).out)["layers"];
  const std::vector<test::CsvRow> rows = test::read_csv(tally({"--format", "csv"}).out);
  ASSERT_EQ(rows.size(), layers.size() + 1);
  EXPECT_EQ(rows[0][0], "index");
  for (std::size_t i = 0; i < layers.size(); ++i)
    EXPECT_EQ(rows[i + 1][0], layers[i]["index"].dump());
}

TEST_F(Commands, ObjectsAndPicturesAreOfTheSamePlate) {
  const Ran ran = tally({"--objects", "--json", "--picture", at("tags.svg")});
  const Json json = Json::parse(ran.out);
  ASSERT_FALSE(json["objects"].empty());
  double part_g = 0.0;
  for (const Json& object : json["objects"])
    part_g += object["part_g"].get<double>();
  EXPECT_NEAR(part_g, json["totals"]["part_g"].get<double>(), 1e-9);
  EXPECT_TRUE(text_of(at("tags.svg")).starts_with("<?xml"));
  const Ran high = tally({"--picture", at("high.svg"), "--picture-at", "9"});
  EXPECT_EQ(high.fault, tags_ +
                            ": --picture-at 9: nothing is printed so high; the highest layer "
                            "is at 0.4 mm");
  EXPECT_FALSE(fs::exists(at("high.svg")));
}

TEST_F(Commands, KeysAndSchemaNeedNoPlate) {
  const std::string keys = test::run_command({"tally", "--list-keys"}).out;
  for (const FieldInfo& field : list_fields())
    EXPECT_NE(keys.find(field.key), std::string::npos) << field.key;
  EXPECT_EQ(test::run_command({"tally", "--json-schema"}).out, tally_json_schema());
}

TEST_F(Commands, WhatIsNotThereIsAFaultAndNoUsageError) {
  const auto fault = [&](std::vector<std::string> more) { return tally(std::move(more)).fault; };
  EXPECT_EQ(fault({"--get", "layers.99.z_mm"}), tags_ + ": this plate has no 'layers.99.z_mm'");
  EXPECT_TRUE(test::run_command({"tally", at("none.gcode"), "--machine", "changer-5"})
                  .fault.starts_with(at("none.gcode") + ": "));
  EXPECT_TRUE(fault({"--prices", at("none.toml")}).find("none.toml") != std::string::npos);
  EXPECT_TRUE(fault({"--materials", at("none.toml")}).find("none.toml") != std::string::npos);
}

struct CodeCase {
  const char* name;
  std::vector<std::string> more;
  int code;
};

class ExitCode : public Commands, public testing::WithParamInterface<CodeCase> {};

TEST_P(ExitCode, IsThePromisedOne) {
  const Ran ran = tally(GetParam().more);
  EXPECT_EQ(ran.code, GetParam().code) << ran.usage << ran.fault;
}

INSTANTIATE_TEST_SUITE_P(
    OfTally, ExitCode,
    testing::Values(CodeCase{"nothing asked", {}, cli::kDone},
                    CodeCase{"limit kept", {"--limit", "swaps=1"}, cli::kDone},
                    CodeCase{"limit exceeded", {"--limit", "swaps=0"}, cli::kLimitExceeded},
                    CodeCase{"one of two exceeded",
                             {"--limit", "swaps=5", "--limit", "layers=1"},
                             cli::kLimitExceeded},
                    CodeCase{"a tool that is not there counts as none",
                             {"--limit", "tools.4.part_g=0"},
                             cli::kDone},
                    CodeCase{"limit on what is not known", {"--limit", "cost=5"}, cli::kFailed},
                    CodeCase{"required to be looked at", {"--require", "look"}, cli::kDone}),
    [](const auto& one) { return test::numbered(one.index, one.param.name); });

TEST_F(Commands, WhatWasLeftOutFailsAGateButNoTally) {
  const std::string plate = put("odd.gcode", std::string(kTags) + "G1 X1..5 Y3 E1\n");
  const auto code = [&](std::vector<std::string> more) {
    more.insert(more.begin(), {"tally", plate, "--machine", "changer-5"});
    return test::run_command(more).code;
  };
  EXPECT_EQ(code({}), cli::kDone);
  EXPECT_EQ(code({"--strict"}), cli::kLimitExceeded);
  EXPECT_EQ(code({"--limit", "swaps=9"}), cli::kLimitExceeded);
  EXPECT_EQ(code({"--limit", "swaps=9", "--partial"}), cli::kDone);
}

TEST_F(Commands, AMachineIsPrintedAsAFileThatIsSound) {
  for (const std::string& name : embedded_machine_names()) {
    const Ran printed = test::run_command({"machines", name});
    EXPECT_EQ(printed.code, cli::kDone);
    const std::string file = put(name + ".toml", printed.out);
    const Ran checked = test::run_command({"machines", "--check", file});
    EXPECT_EQ(checked.code, cli::kDone) << checked.fault;
    EXPECT_TRUE(checked.out.starts_with(file + ": sound; machine '" + name + "', ")) << checked.out;
    EXPECT_EQ(machine_hash(load_machine(file).machine()),
              machine_hash(load_machine(name).machine()));
  }
}

TEST_F(Commands, MachinesAreListedALineEach) {
  const std::vector<std::string> lines = lines_of(test::run_command({"machines"}).out);
  const std::vector<std::string> names = embedded_machine_names();
  ASSERT_EQ(lines.size(), names.size());
  for (std::size_t i = 0; i < names.size(); ++i)
    EXPECT_TRUE(lines[i].starts_with(names[i] + " ")) << lines[i];
}

TEST_F(Commands, ACircuitFitsItsSchema) {
  const Ran ran =
      test::run_command({"machines", "--circuit", "230V,16A", "--plan", "2xchanger-5", "--json"});
  EXPECT_EQ(test::faults_against(Json::parse(ran.out), Json::parse(json_schema("circuit"))),
            std::vector<std::string>{});
  EXPECT_EQ(Json::parse(ran.out)["circuit_w"], 3680.0);
}

TEST_F(Commands, EveryCodeIsExplainedWithinAHundredColumns) {
  const std::vector<std::string> codes = lines_of(test::run_command({"explain"}).out);
  EXPECT_GE(codes.size(), finding_codes().size() + code_pages().size());
  for (const std::string& code : codes) {
    const Ran ran = test::run_command({"explain", code});
    EXPECT_EQ(ran.code, cli::kDone) << code;
    EXPECT_FALSE(ran.out.empty());
    for (const std::string& line : lines_of(ran.out))
      EXPECT_LE(line.size(), 100U) << code << ": " << line;
  }
}

TEST_F(Commands, AnOrderFitsItsSchemaAndIsNoDearerThanThePlates) {
  const Ran ran =
      test::run_command({"order", tags_, "--machine", "changer-5", "--json", "--by", "swaps"});
  const Json order = Json::parse(ran.out);
  EXPECT_EQ(test::faults_against(order, Json::parse(json_schema("order"))),
            std::vector<std::string>{});
  ASSERT_FALSE(order["outcomes"].empty());
  EXPECT_LE(order["outcomes"].back()["swaps"].get<int>(),
            order["outcomes"].front()["swaps"].get<int>());
}

TEST_F(Commands, AComparisonFitsItsSchemaAndIsARowAMachineInItsTable) {
  const std::vector<std::string> machines{"--machine", "changer-5", "--machine", "switcher-4"};
  std::vector<std::string> as_json{"compare", tags_, "--json"};
  as_json.insert(as_json.end(), machines.begin(), machines.end());
  const Json compared = Json::parse(test::run_command(as_json).out);
  EXPECT_EQ(test::faults_against(compared, Json::parse(json_schema("compare"))),
            std::vector<std::string>{});
  std::vector<std::string> as_csv{"compare", tags_, "--format", "csv"};
  as_csv.insert(as_csv.end(), machines.begin(), machines.end());
  const std::vector<test::CsvRow> rows = test::read_csv(test::run_command(as_csv).out);
  ASSERT_EQ(rows.size(), 3U);
  EXPECT_EQ(rows[1].at(1), "changer-5");
  EXPECT_EQ(rows[2].at(1), "switcher-4");
}

TEST_F(Commands, AVariantIsBeforeAndAfter) {
  const Ran ran =
      test::run_command({"compare", tags_, "--machine", "changer-5", "--merge", "1=0", "--json"});
  const Json compared = Json::parse(ran.out);
  ASSERT_EQ(compared["plates"].size(), 2U);
  EXPECT_EQ(compared["plates"][0]["what_if"], "");
  EXPECT_NE(compared["plates"][1]["what_if"], "");
  EXPECT_FALSE(compared["before_after"].is_null());
  EXPECT_EQ(compared["plates"][1]["machines"][0]["totals"]["swaps"], 0);
}

TEST_F(Commands, AnAuditHasARowAPlateInEveryForm) {
  put("plates/a.gcode", kTags);
  put("plates/deep/b.gcode", kTags);
  put("plates/notes.txt", "no plate");
  const auto audit = [&](std::vector<std::string> more) {
    more.insert(more.begin(), {"audit", at("plates"), "--machine", "changer-5"});
    return test::run_command(more);
  };
  const Json json = Json::parse(audit({"--json"}).out);
  EXPECT_EQ(test::faults_against(json, Json::parse(json_schema("audit"))),
            std::vector<std::string>{});
  EXPECT_EQ(json["plates"], 2);
  EXPECT_EQ(json["passed_over"], 1);
  EXPECT_EQ(test::read_csv(audit({"--format", "csv"}).out).size(), 3U);
  const Json line_schema = Json::parse(json_schema("audit-line"));
  const std::vector<std::string> lines = lines_of(audit({"--format", "jsonl"}).out);
  EXPECT_EQ(lines.size(), 4U) << "a beginning, two plates, an end";
  for (const std::string& line : lines)
    EXPECT_EQ(test::faults_against(Json::parse(line), line_schema), std::vector<std::string>{});
  EXPECT_EQ(audit({}).code, cli::kDone);
  EXPECT_EQ(audit({"--limit", "swaps=0"}).code, cli::kLimitExceeded);
  EXPECT_EQ(audit({"--exclude", "deep", "--json"}).code, cli::kDone);
  put("plates/c.gcode", "");
  EXPECT_EQ(audit({}).code, cli::kFailed) << "one of them cannot be read";
}

TEST_F(Commands, SharesMergedAreTheWholeAudit) {
  for (const char* name : {"a", "b", "c", "d", "e"})
    put(std::string("plates/") + name + ".gcode", std::string(kTags) + "; " + name + "\n");
  const auto audit = [&](std::vector<std::string> more) {
    more.insert(more.begin(), {"audit", at("plates"), "--machine", "changer-5"});
    return test::run_command(more).out;
  };
  std::vector<std::string> merge{"audit", "--json"};
  for (int share = 1; share <= 3; ++share) {
    const std::string file = at("share-" + std::to_string(share) + ".jsonl");
    audit({"--format", "jsonl", "--shard", std::to_string(share) + "/3", "-o", file});
    merge.insert(merge.end(), {"--merge", file});
  }
  EXPECT_EQ(test::run_command(merge).out, audit({"--json"}));
}

TEST_F(Commands, HelpIsOnStandardOutputWithoutAPlate) {
  const Ran help = test::run_command({"tally", "--help"});
  EXPECT_NE(help.out.find("--machine NAME|FILE"), std::string::npos) << help.out;
  EXPECT_EQ(help.usage, "");
}

}  // namespace
}  // namespace platetally
