// Every line that an audit writes fits its schema, whatever names it holds, and is read back as it
// was written; a beginning that is none is refused in a word.
#include "output/audit/lines.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "output/audit/record.hpp"
#include "output/audit/setting.hpp"
#include "output/report/random_account.hpp"
#include "output/report/strings.hpp"
#include "platetally/report.hpp"
#include "support/json_schema.hpp"

namespace platetally::audit_stage {
namespace {

using test::Json;

const Json& schema() {
  static const Json schema = Json::parse(json_schema("audit-line"));
  return schema;
}

void expect_fits(const std::string& line) {
  EXPECT_EQ(line.find('\n'), std::string::npos) << "one line";
  EXPECT_EQ(test::key_that_stands_twice(line), "");
  for (const std::string& fault : test::faults_against(Json::parse(line), schema()))
    ADD_FAILURE() << fault.substr(0, 300);
}

Begin any_begin(unsigned seed) {
  test::Random random(seed);
  Begin begin;
  begin.setting = {test::any_hash(random), test::any_name(random), test::any_hash(random), "0.1.0",
                   test::any_name(random)};
  begin.files = random.count();
  begin.listing = test::any_hash(random);
  begin.shard = random.whole(1, 9);
  begin.shards = random.whole(9, 20);
  begin.wanted.sort = "totals.energy_wh";
  begin.wanted.limits = {{"totals.purge_g", 12.5}, {"tools.3.part_g", random.amount()}};
  begin.wanted.partial = random.one_in(2);
  begin.wanted.strict = random.one_in(2);
  if (random.one_in(2))
    begin.wanted.value = static_cast<Aim>(random.below(4));
  begin.made_from.add(MachineUsed{test::any_name(random), test::any_hash(random)});
  begin.made_from.set("copies", "2");
  return begin;
}

class AnyLines : public testing::TestWithParam<unsigned> {};

TEST_P(AnyLines, TheBeginningIsReadBackAsItWasWritten) {
  const Begin begin = any_begin(GetParam());
  expect_fits(line_of(begin));
  const Begin read = begin_of(line_of(begin));
  EXPECT_EQ(read.setting.hash, begin.setting.hash);
  EXPECT_EQ(read.setting.machine, report::valid_utf8(begin.setting.machine));
  EXPECT_EQ(read.setting.machine_hash, begin.setting.machine_hash);
  EXPECT_EQ(read.setting.version, begin.setting.version);
  EXPECT_EQ(read.setting.options, report::valid_utf8(begin.setting.options));
  EXPECT_EQ(read.files, begin.files);
  EXPECT_EQ(read.listing, begin.listing);
  EXPECT_EQ(read.shard, begin.shard);
  EXPECT_EQ(read.shards, begin.shards);
  EXPECT_EQ(read.wanted.sort, begin.wanted.sort);
  EXPECT_EQ(read.wanted.limits, begin.wanted.limits);
  EXPECT_EQ(read.wanted.partial, begin.wanted.partial);
  EXPECT_EQ(read.wanted.strict, begin.wanted.strict);
  EXPECT_EQ(read.wanted.value, begin.wanted.value);
  EXPECT_EQ(read.made_from.options, begin.made_from.options);
  EXPECT_EQ(read.made_from.machines.at(0).hash, begin.made_from.machines.at(0).hash);
  EXPECT_EQ(line_of(read), line_of(begin_of(line_of(read))));
}

TEST_P(AnyLines, ARecordOfAnyAccountFitsAndItsRowIsTheAccount) {
  const Account account = test::random_account(GetParam());
  test::Random random(GetParam());
  Wanted wanted{"totals.purge_g", {{"layers.3.purge_g", 1.0}}};
  const std::string line = line_of(random.count(), test::any_name(random), test::any_hash(random),
                                   body_of(account, "", wanted.keys(), test::any_hash(random)));
  expect_fits(line);
  const std::optional<AuditRow> row = row_of(line, wanted);
  ASSERT_TRUE(row.has_value());
  EXPECT_EQ(row->error, "");
  EXPECT_EQ(row->verdict, name_of(account.verdict.grade));
  EXPECT_EQ(row->findings.size(), account.findings.size());
  ASSERT_EQ(row->totals.size(), audit_keys().size());
  for (std::size_t i = 0; i < audit_keys().size(); ++i) {
    const std::optional<double> value = get_number(account, "totals." + audit_keys()[i]);
    if (value)
      EXPECT_EQ(row->totals[i], *value) << audit_keys()[i];
    else
      EXPECT_TRUE(std::isnan(row->totals[i])) << audit_keys()[i];
  }
  double strip_g = 0.0, layers_g = 0.0;
  for (const double g : row->purge_strip_g)
    strip_g += g;
  for (const LayerAccount& layer : account.layers)
    layers_g += layer.purge_g;
  EXPECT_NEAR(strip_g, layers_g, 1e-9 * (1.0 + layers_g));
  EXPECT_LE(row->purge_strip_g.size(), 24U);
}

TEST_P(AnyLines, ErrorsAndEndsFitToo) {
  test::Random random(GetParam());
  expect_fits(line_of(3, test::any_name(random), "", body_of_error("a.gcode", "cannot be read")));
  expect_fits(line_of_fault(test::any_name(random), test::any_name(random)));
  AuditReport report;
  report.plates = random.count();
  report.failed = random.count();
  report.exceeded = random.count();
  report.passed_over = random.count();
  expect_fits(line_of_end(report));
}

INSTANTIATE_TEST_SUITE_P(Seeds, AnyLines, testing::Range(0U, 20U));

std::string refusal(const std::string& line) {
  try {
    begin_of(line);
  } catch (const std::invalid_argument& error) {
    return error.what();
  }
  return "taken";
}

TEST(BeginLine, IsRefusedWhereItIsNone) {
  for (const char* line : {"", "{", "[]", "3", "{\"type\": \"end\"}", "{\"type\": 3}"})
    EXPECT_EQ(refusal(line), "expected the beginning of an audit in JSON lines") << line;
  Json begin = Json::parse(line_of(any_begin(1)));
  EXPECT_EQ(refusal(begin.dump()), "taken");
  begin["schema"] = "platetally.audit/2";
  EXPECT_EQ(refusal(begin.dump()), "expected the schema platetally.audit/1");
}

TEST(BeginLine, WithoutAnyOfItsMembersItIsRefused) {
  const Json begin = Json::parse(line_of(any_begin(1)));
  for (const auto& [key, value] : begin.items()) {
    if (key == "type" || key == "schema")
      continue;
    Json lacking = begin;
    lacking.erase(key);
    EXPECT_EQ(refusal(lacking.dump()), "the beginning of the audit is not as platetally writes it")
        << key;
  }
}

TEST(BeginLine, AnUnknownKeyIsNamed) {
  Json begin = Json::parse(line_of(any_begin(1)));
  begin["sort"] = "purge_gr";
  EXPECT_EQ(refusal(begin.dump()), "no value is called 'purge_gr'; the nearest is 'purge_g'");
}

/// Settings that a tally depends on: each of them makes it another one.
TEST(Setting, WhateverChangesFiguresChangesIt) {
  const Machine machine;
  const auto with = [&](auto change) {
    AuditOptions options;
    options.version = "0.1.0";
    change(options);
    return setting_of(machine, options);
  };
  const std::vector<history::Setting> settings{
      with([](AuditOptions&) {}),
      with([](AuditOptions& o) { o.version = "0.2.0"; }),
      with([](AuditOptions& o) { o.tool_colours = {"white"}; }),
      with([](AuditOptions& o) {
        o.tool_colours = {"", "white"};
      }),
      with([](AuditOptions& o) { o.materials.emplace_back(); }),
      with([](AuditOptions& o) { o.variant.repeat = 2; }),
      with([](AuditOptions& o) { o.partial = true; }),
      with([](AuditOptions& o) { o.prices.emplace(); }),
      with([](AuditOptions& o) {
        o.prices.emplace();
        o.copies = 2;
      }),
      with([](AuditOptions& o) {
        o.prices.emplace();
        o.prices->labour_per_plate = 1.0;
      })};
  for (std::size_t i = 0; i < settings.size(); ++i)
    for (std::size_t k = i + 1; k < settings.size(); ++k)
      EXPECT_NE(settings[i].hash, settings[k].hash) << i << " " << k;
  // What changes nothing but how it is worked or shown, does not.
  const history::Setting same = with([](AuditOptions& o) {
    o.threads = 8;
    o.sort = "energy_wh";
    o.limits = {{"purge_g", 1.0}};
    o.shard = 2;
    o.shards = 3;
    o.strict = true;
    o.most_rows = 5;
    o.value = Aim::grams;
  });
  EXPECT_EQ(same, settings[0]);
  Machine other = machine;
  other.bed.tile_power_w += 1.0;
  AuditOptions options;
  options.version = "0.1.0";
  EXPECT_NE(setting_of(other, options).hash, settings[0].hash);
}

TEST(Setting, SaysInWordsWhatIsOtherwise) {
  AuditOptions options;
  EXPECT_EQ(setting_of(Machine(), options).options, "");
  options.tool_colours = {"black", "white"};
  options.variant.drop_tower = true;
  options.partial = true;
  options.copies = 3;
  EXPECT_EQ(setting_of(Machine(), options).options,
            "colours black,white; " + describe(options.variant) + "; partial")
      << "copies change nothing without prices";
  options.prices.emplace();
  const std::string words = setting_of(Machine(), options).options;
  EXPECT_NE(words.find("; prices "), std::string::npos) << words;
  EXPECT_TRUE(words.ends_with("; copies 3")) << words;
}

struct UtcCase {
  const char* text;
  std::optional<std::int64_t> seconds;
};

class ParseUtc : public testing::TestWithParam<UtcCase> {};

TEST_P(ParseUtc, TakesDatesAndMomentsAndNothingElse) {
  EXPECT_EQ(parse_utc(GetParam().text), GetParam().seconds) << GetParam().text;
}

INSTANTIATE_TEST_SUITE_P(
    Cases, ParseUtc,
    testing::Values(
        UtcCase{"1970-01-01", 0}, UtcCase{"1970-01-02", 86400}, UtcCase{"2000-02-29", 951782400},
        UtcCase{"1900-02-29", std::nullopt}, UtcCase{"1969-12-31", -86400},
        UtcCase{"2026-11-25T15:17:12", 1795619832}, UtcCase{"2026-11-25T15:17:12Z", 1795619832},
        UtcCase{"1970-01-01T00:00:59", 59}, UtcCase{"1970-01-01T23:59:59", 86399},
        UtcCase{"1970-01-01T24:00:00", std::nullopt}, UtcCase{"1970-01-01T00:60:00", std::nullopt},
        UtcCase{"1970-01-01T00:00:60", std::nullopt}, UtcCase{"1970-01-01 00:00:00", std::nullopt},
        UtcCase{"1970-01-01T00:00", std::nullopt}, UtcCase{"1970-01-01T00:00:00z", std::nullopt},
        UtcCase{"1970-01-01T00:00:00ZZ", std::nullopt}, UtcCase{"2026-13-01", std::nullopt},
        UtcCase{"2026-11-31", std::nullopt}, UtcCase{"2026-00-10", std::nullopt},
        UtcCase{"2026/11/25", std::nullopt}, UtcCase{"26-11-25", std::nullopt},
        UtcCase{"2026-1-05", std::nullopt}, UtcCase{"", std::nullopt},
        UtcCase{"today", std::nullopt}),
    [](const auto& one) { return "Case" + std::to_string(one.index + 1); });

}  // namespace
}  // namespace platetally::audit_stage
