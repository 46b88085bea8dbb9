// Every report as JSON against the schema that the program prints for it: random reports fit, and
// a report that lacks a member, has one more, or one of another type does not.
#include <gtest/gtest.h>

#include <functional>
#include <regex>

#include "output/report/account.hpp"
#include "output/report/random_reports.hpp"
#include "platetally/report.hpp"
#include "support/json_schema.hpp"
#include "support/test_names.hpp"

namespace platetally {
namespace {

using test::Json;

/// Every name of a schema, but for the lines of an audit, which the audit stage writes.
struct Kind {
  const char* schema;
  std::function<std::string(unsigned)> json;
};

const std::vector<Kind>& kinds() {
  static const std::vector<Kind> all{
      {"tally", [](unsigned seed) { return to_json(test::random_account(seed)); }},
      {"order", [](unsigned seed) { return to_json(test::random_order(seed)); }},
      {"compare", [](unsigned seed) { return to_json(test::random_plates(seed)); }},
      {"payback", [](unsigned seed) { return to_json(test::random_payback(seed)); }},
      {"audit", [](unsigned seed) { return to_json(test::random_audit(seed)); }},
      {"audit", [](unsigned seed) { return to_json(test::random_history(seed)); }},
      {"calibrate", [](unsigned seed) { return to_json(test::random_calibration(seed)); }},
      {"calibrate-pairs", [](unsigned seed) { return to_json(test::random_need(seed)); }},
      {"reconcile", [](unsigned seed) { return to_json(test::random_reconcile(seed)); }},
      {"circuit", [](unsigned seed) { return to_json(test::random_circuit(seed)); }},
      {"plan", [](unsigned seed) { return to_json(test::random_plan(seed)); }},
  };
  return all;
}

Json schema_named(std::string_view name) {
  return Json::parse(json_schema(name));
}

class EveryKind : public testing::TestWithParam<std::size_t> {
 protected:
  const Kind& kind_ = kinds()[GetParam()];
};

TEST_P(EveryKind, RandomReportsFitTheirSchema) {
  const Json schema = schema_named(kind_.schema);
  for (unsigned seed = 0; seed < 20; ++seed) {
    const std::string text = kind_.json(seed);
    EXPECT_EQ(text.back(), '\n');
    EXPECT_EQ(test::key_that_stands_twice(text), "") << seed;
    for (const std::string& fault : test::faults_against(Json::parse(text), schema))
      ADD_FAILURE() << "seed " << seed << ": " << fault.substr(0, 300);
  }
}

TEST_P(EveryKind, TheReportNamesItsSchemaAndWhatItWasMadeFromFirst) {
  const Json report = Json::parse(kind_.json(3));
  const Json schema = schema_named(kind_.schema);
  EXPECT_EQ(report.begin().key(), "schema");
  EXPECT_EQ((++report.begin()).key(), "made_from");
  EXPECT_EQ(report["schema"], schema["title"]);
  EXPECT_EQ(report["made_from"]["program"], kVersion);
}

// Neither is a member passed over by the writer, nor does the schema let one go missing.
TEST_P(EveryKind, NoMemberIsOptionalByAccident) {
  const Json schema = schema_named(kind_.schema);
  const Json report = Json::parse(kind_.json(5));
  for (const auto& [name, member] : report.items()) {
    Json lacking = report;
    lacking.erase(name);
    const bool is_required =
        std::ranges::find(schema["required"], Json(name)) != schema["required"].end();
    EXPECT_EQ(test::faults_against(lacking, schema).empty(), !is_required) << name;
    if (is_required)
      continue;
    // Only what a history or heads add is not always there.
    static const std::vector<std::string> kSometimes{"groups", "weeks", "printed_weeks", "heads"};
    EXPECT_NE(std::ranges::find(kSometimes, name), kSometimes.end()) << name;
  }
}

TEST_P(EveryKind, ATextWhereANumberBelongsIsAFault) {
  const Json schema = schema_named(kind_.schema);
  const Json report = Json::parse(kind_.json(5));
  int numbers = 0;
  const Json flat = report.flatten();
  for (const auto& [pointer, value] : flat.items()) {
    if (!value.is_number() || numbers > 60)
      continue;
    ++numbers;
    Json otherwise = report;
    otherwise[Json::json_pointer(pointer)] = "many";
    EXPECT_FALSE(test::faults_against(otherwise, schema).empty()) << pointer;
  }
  EXPECT_GT(numbers, 3);
}

INSTANTIATE_TEST_SUITE_P(Reports, EveryKind, testing::Range(std::size_t{0}, kinds().size()),
                         [](const auto& one) {
                           return test::numbered(one.param, kinds()[one.param].schema);
                         });

TEST(Schemas, EveryNameHasOneAndNoOtherHas) {
  for (const std::string& name : json_schema_names()) {
    const Json schema = Json::parse(json_schema(name));
    EXPECT_EQ(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
    EXPECT_TRUE(std::regex_match(schema["$id"].get<std::string>(),
                                 std::regex("urn:platetally:[a-z-]+:[0-9]+")))
        << schema["$id"];
  }
  for (const char* name : {"", "tallys", "Tally", "audit-lines", "tally/1"})
    EXPECT_EQ(json_schema(name), "") << name;
}

TEST(Schemas, NoTwoHaveOneName) {
  std::vector<std::string> ids;
  for (const std::string& name : json_schema_names())
    ids.push_back(Json::parse(json_schema(name))["$id"].get<std::string>());
  std::ranges::sort(ids);
  EXPECT_EQ(std::ranges::adjacent_find(ids), ids.end());
}

TEST(Schemas, SeveralPlatesOfOneContainerAreTalliesInAList) {
  const Json tally = Json::parse(to_json(test::labels_account()));
  Json several{{"schema", "platetally.tallies/1"},
               {"made_from", tally["made_from"]},
               {"plates", Json::array({tally, tally})}};
  EXPECT_EQ(test::faults_against(several, schema_named("tallies")), std::vector<std::string>{});
  several["plates"][1].erase("totals");
  EXPECT_EQ(test::faults_against(several, schema_named("tallies")),
            std::vector<std::string>{"/plates/1: lacks totals"});
}

TEST(Schemas, TheTallyListsEveryCodeThatAPageExplains) {
  const Json schema = schema_named("tally");
  const auto listed = [&](const char* section, const char* key) {
    return schema["properties"][section]["items"]["properties"][key]["enum"]
        .get<std::vector<std::string>>();
  };
  EXPECT_EQ(listed("findings", "code"), finding_codes());
  EXPECT_EQ(listed("reasons", "code"), test::codes_of_kind(CodeKind::verdict));
  EXPECT_EQ(listed("diagnostics", "code"), test::codes_of_kind(CodeKind::plate));
  EXPECT_EQ(listed("reasons", "grade"), (std::vector<std::string>{"ready", "look", "cannot"}));
  EXPECT_EQ(listed("diagnostics", "severity"),
            (std::vector<std::string>{"note", "warning", "error"}));
}

TEST(Schemas, ACodeThatNobodyExplainsIsAFault) {
  Account account = test::labels_account();
  account.findings[0].code = "cheaper-ordre";
  const std::vector<std::string> faults =
      test::faults_against(Json::parse(to_json(account)), schema_named("tally"));
  ASSERT_EQ(faults.size(), 1U);
  EXPECT_EQ(faults[0], "/findings/0/code: \"cheaper-ordre\" is none of those listed");
}

TEST(Schemas, AHashIs32DigitsOrNull) {
  const Json schema = schema_named("tally");
  Json tally = Json::parse(to_json(test::labels_account()));
  EXPECT_TRUE(tally["made_from"]["plates"][1]["hash"].is_null());
  EXPECT_TRUE(test::faults_against(tally, schema).empty());
  tally["made_from"]["plates"][0]["hash"] = "0123456789ABCDEF0123456789ABCDEF";
  EXPECT_EQ(test::faults_against(tally, schema).size(), 1U);
  tally["made_from"]["machines"][0]["hash"] = nullptr;
  EXPECT_EQ(test::faults_against(tally, schema).size(), 2U) << "a machine's hash is always known";
}

}  // namespace
}  // namespace platetally
