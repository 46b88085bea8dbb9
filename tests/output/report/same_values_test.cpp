// One value, several writers: what stands in the JSON stands under the same key in the CSV, in the
// look-up by key, in columns and in the flat record of an audit.
#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "output/report/account.hpp"
#include "output/report/flat.hpp"
#include "output/report/random_account.hpp"
#include "platetally/report.hpp"
#include "support/csv_reader.hpp"
#include "support/json_schema.hpp"

namespace platetally {
namespace {

using test::Json;

/// "time_by.print" within an object of the JSON.
Json value_at(const Json& object, std::string_view key) {
  const std::size_t dot = key.find('.');
  if (dot == std::string_view::npos)
    return object.at(std::string(key));
  return object.at(std::string(key.substr(0, dot))).at(std::string(key.substr(dot + 1)));
}

/// How a value of the JSON is written where there are no quotes, brackets and nulls.
std::string bare(const Json& value, const std::string& unknown) {
  if (value.is_null())
    return unknown;
  if (value.is_string())
    return value.get<std::string>();
  if (!value.is_array())
    return value.dump();
  std::string out;
  for (const Json& item : value)
    out += (out.empty() ? "" : " ") + item.dump();
  return out;
}

/// Numbers by their value, as 1e+06 and 1000000.0 are the same.
void expect_same(const std::string& text, const Json& value, const std::string& where) {
  if (value.is_number())
    EXPECT_EQ(std::stod(text), value.get<double>()) << where;
  else
    EXPECT_EQ(text, bare(value, "null")) << where;
}

class OnRandomAccounts : public testing::TestWithParam<unsigned> {
 protected:
  const Account account_ = test::random_account(GetParam());
  const Json json_ = Json::parse(to_json(account_));
};

TEST_P(OnRandomAccounts, TheJsonHasNoKeyTwice) {
  EXPECT_EQ(test::key_that_stands_twice(to_json(account_)), "");
}

TEST_P(OnRandomAccounts, TheJsonIsAsItsSchemaSays) {
  const Json schema = Json::parse(tally_json_schema());
  for (const std::string& fault : test::faults_against(json_, schema))
    ADD_FAILURE() << fault;
}

TEST_P(OnRandomAccounts, TheLookUpGivesWhatTheJsonSays) {
  int compared = 0;
  for (const report::Section& section : report::sections())
    for (std::size_t row = 0; row < section.rows(account_); ++row)
      for (const report::Field& field : section.fields) {
        const bool is_object = section.row_name.empty();
        const Json& owner = is_object ? json_.at(std::string(section.name))
                                      : json_.at(std::string(section.name)).at(row);
        const std::string key = is_object
                                    ? fmt::format("{}.{}", section.name, field.key)
                                    : fmt::format("{}.{}.{}", section.name,
                                                  section.name_of_row(account_, row), field.key);
        const std::optional<std::string> found = get_field(account_, key);
        ASSERT_TRUE(found.has_value()) << key;
        expect_same(*found, value_at(owner, field.key), key);
        ++compared;
      }
  EXPECT_GT(compared, 150);
}

TEST_P(OnRandomAccounts, AColumnHoldsWhatTheRowsHold) {
  for (const report::Section& section : report::sections())
    for (const report::Field& field : section.fields) {
      const std::string key = fmt::format("{}.{}", section.name, field.key);
      const std::optional<std::vector<double>> column = get_column(account_, key);
      ASSERT_EQ(column.has_value(), !section.row_name.empty() && field.is_number()) << key;
      if (!column)
        continue;
      const Json& rows = json_.at(std::string(section.name));
      ASSERT_EQ(column->size(), rows.size());
      EXPECT_EQ(column->size(), count_rows(account_, section.name));
      for (std::size_t row = 0; row < rows.size(); ++row) {
        const Json value = value_at(rows[row], field.key);
        if (value.is_null())
          EXPECT_TRUE(std::isnan((*column)[row])) << key << " " << row;
        else
          EXPECT_EQ((*column)[row], value.get<double>()) << key << " " << row;
      }
    }
}

TEST_P(OnRandomAccounts, LayersAsCsvAreThoseOfTheJson) {
  const std::vector<test::CsvRow> rows = test::read_csv(to_csv(account_));
  const Json& layers = json_.at("layers");
  ASSERT_EQ(rows.size(), layers.size() + 1);
  for (std::size_t i = 0; i < layers.size(); ++i) {
    ASSERT_EQ(rows[i + 1].size(), rows[0].size());
    for (std::size_t column = 0; column < rows[0].size(); ++column) {
      const Json value = value_at(layers[i], rows[0][column]);
      if (value.is_number())
        EXPECT_EQ(std::stod(rows[i + 1][column]), value.get<double>()) << rows[0][column];
      else
        EXPECT_EQ(rows[i + 1][column], bare(value, "")) << rows[0][column];
    }
  }
}

// Spreadsheets run what begins with = + - @, so names go behind an apostrophe there.
TEST_P(OnRandomAccounts, ObjectsAsCsvAreThoseOfTheJsonButForNamesThatWouldBeFormulas) {
  const std::vector<test::CsvRow> rows = test::read_csv(objects_to_csv(account_));
  const Json& objects = json_.at("objects");
  ASSERT_EQ(rows.size(), objects.size() + 1);
  for (std::size_t i = 0; i < objects.size(); ++i)
    for (std::size_t column = 0; column < rows[0].size(); ++column) {
      const std::string& cell = rows[i + 1].at(column);
      const Json value = value_at(objects[i], rows[0][column]);
      if (value.is_number()) {
        EXPECT_EQ(std::stod(cell), value.get<double>()) << rows[0][column];
      } else if (value.is_string()) {
        EXPECT_NE(cell.find_first_of("=+-@"), 0U) << cell;
        EXPECT_EQ(cell.find('\x1b'), std::string::npos);
      } else {
        EXPECT_EQ(cell, bare(value, "")) << rows[0][column];
      }
    }
}

TEST_P(OnRandomAccounts, TheFlatRecordHoldsAllNumbersOfSectionsThatHaveABound) {
  const Json flat = Json::parse(report::flat_json(account_, {}));
  std::size_t expected = 0;
  for (const report::Section& section : report::sections())
    for (std::size_t row = 0; row < section.rows(account_); ++row)
      for (const report::Field& field : section.fields) {
        const std::string row_name = section.name_of_row(account_, row);
        const std::string key = row_name.empty()
                                    ? fmt::format("{}.{}", section.name, field.key)
                                    : fmt::format("{}.{}.{}", section.name, row_name, field.key);
        if (!field.is_number() || !report::is_flat(key))
          continue;
        const std::optional<double> number = get_number(account_, key);
        if (!row_name.empty() && number == 0.0) {
          EXPECT_FALSE(flat.contains(key)) << key << ": zeros of rows are left out";
          continue;
        }
        ++expected;
        ASSERT_TRUE(flat.contains(key)) << key;
        if (number)
          EXPECT_EQ(flat[key].get<double>(), *number) << key;
        else
          EXPECT_TRUE(flat[key].is_null()) << key;
      }
  EXPECT_EQ(flat.size(), expected);
}

TEST_P(OnRandomAccounts, ALimitAtAValueHoldsAndJustBelowItBreaks) {
  for (const FieldInfo& field : list_fields()) {
    if (!field.key.starts_with("totals."))
      continue;
    const std::optional<double> value = get_number(account_, field.key);
    if (!value)
      continue;
    EXPECT_TRUE(check_limits(account_, {{field.key, *value}}).breaches.empty()) << field.key;
    const double below = std::nextafter(*value, -INFINITY);
    const LimitCheck check = check_limits(account_, {{field.key, below}});
    ASSERT_EQ(check.breaches.size(), 1U) << field.key;
    EXPECT_EQ(check.breaches[0].value, *value);
    EXPECT_EQ(check.breaches[0].limit, below);
  }
}

// Nothing that a file names steers a terminal, and no line of prose or table grows without end.
TEST_P(OnRandomAccounts, TheTextHasOneMeaningInAnyDress) {
  for (const bool full : {false, true})
    for (const int width : {60, 100, 140}) {
      const TextOptions plain{.width = width, .verbose = true, .full = full};
      TextOptions coloured = plain;
      coloured.colour = true;
      const std::string text = to_text(account_, plain);
      EXPECT_EQ(text.find('\x1b'), std::string::npos);
      EXPECT_EQ(text.find('\x07'), std::string::npos);
      EXPECT_EQ(text.find('\r'), std::string::npos);
      EXPECT_EQ(text.find("\xe2\x80\xae"), std::string::npos);
      EXPECT_TRUE(text.ends_with('\n'));
      EXPECT_EQ(text.find("nan"), std::string::npos) << text;
      std::string undressed = to_text(account_, coloured);
      for (std::size_t at = undressed.find('\x1b'); at != std::string::npos;
           at = undressed.find('\x1b'))
        undressed.erase(at, undressed.find('m', at) + 1 - at);
      EXPECT_EQ(undressed, text);
    }
}

INSTANTIATE_TEST_SUITE_P(Seeds, OnRandomAccounts, testing::Range(0U, 25U));

/// Each value known by its own figure, so that a field that reads its neighbour shows.
TEST(SameValues, EveryMemberOfTheTotalsStandsUnderItsOwnKey) {
  Account account;
  Totals& totals = account.totals;
  totals.time = {1.0, 2.0, 3.0};
  totals.time_of_print = {4.0, 5.0, 6.0};
  totals.time_by = {7.0, 8.0, 9.0, 10.0, 11.0};
  totals.pause_s = 12.0;
  totals.pauses = 13;
  totals.layers = 14;
  totals.tool_selects = 15;
  totals.swaps = 16;
  totals.part_g = 17.0;
  totals.purge_g = 18.0;
  totals.purge_low_g = 19.0;
  totals.purge_high_g = 20.0;
  totals.purge_by = {21.0, 22.0, 23.0, 24.0, 25.0};
  totals.swaps_short = 26.0;
  totals.purge_short_g = 27.0;
  totals.start_up_g = 28.0;
  totals.energy_wh = 29.0;
  totals.energy_low_wh = 30.0;
  totals.energy_high_wh = 31.0;
  totals.energy_by = {32.0, 33.0, 34.0, 35.0, 36.0, 37.0, 38.0};
  totals.mean_power_w = 39.0;
  totals.peak_power_w = 40.0;
  totals.peak_quarter_hour_w = 41.0;
  totals.connected_load_w = 42.0;
  totals.bed_zones_used = 43;
  totals.energy_residual = 44.0;
  account.cost.emplace();
  account.cost->part_filament = 100.0;
  account.cost->purge_filament = 200.0;
  account.cost->energy = 400.0;
  account.cost->machine = 800.0;
  account.cost->labour = 1600.0;
  account.cost->failures = 3200.0;
  account.cost->drying = 6400.0;
  account.cost->wear = 12800.0;
  account.cost->per_good_part = 45.0;
  const std::vector<std::pair<const char*, double>> wanted{{"time_s", 2},
                                                           {"time_low_s", 1},
                                                           {"time_high_s", 3},
                                                           {"time_of_print_s", 5},
                                                           {"time_of_print_low_s", 4},
                                                           {"time_of_print_high_s", 6},
                                                           {"time_by.print", 7},
                                                           {"time_by.travel", 8},
                                                           {"time_by.swap", 9},
                                                           {"time_by.heat_wait", 10},
                                                           {"time_by.other", 11},
                                                           {"pause_s", 12},
                                                           {"pauses", 13},
                                                           {"layers", 14},
                                                           {"tool_selects", 15},
                                                           {"swaps", 16},
                                                           {"part_g", 17},
                                                           {"purge_g", 18},
                                                           {"purge_low_g", 19},
                                                           {"purge_high_g", 20},
                                                           {"purge_by.at_rest", 21},
                                                           {"purge_by.place", 22},
                                                           {"purge_by.comment", 23},
                                                           {"purge_by.tower", 24},
                                                           {"purge_by.hidden", 25},
                                                           {"swaps_short", 26},
                                                           {"purge_short_g", 27},
                                                           {"start_up_g", 28},
                                                           {"energy_wh", 29},
                                                           {"energy_low_wh", 30},
                                                           {"energy_high_wh", 31},
                                                           {"energy_by.bed", 32},
                                                           {"energy_by.hot_ends", 33},
                                                           {"energy_by.enclosure", 34},
                                                           {"energy_by.motors", 35},
                                                           {"energy_by.fans", 36},
                                                           {"energy_by.electronics", 37},
                                                           {"energy_by.supply_loss", 38},
                                                           {"mean_power_w", 39},
                                                           {"peak_power_w", 40},
                                                           {"peak_quarter_hour_w", 41},
                                                           {"connected_load_w", 42},
                                                           {"bed_zones_used", 43},
                                                           {"energy_residual", 44},
                                                           {"cost", 25500},
                                                           {"cost_by.part", 100},
                                                           {"cost_by.purge", 200},
                                                           {"cost_by.energy", 400},
                                                           {"cost_by.machine", 800},
                                                           {"cost_by.labour", 1600},
                                                           {"cost_by.failures", 3200},
                                                           {"cost_by.drying", 6400},
                                                           {"cost_by.wear", 12800},
                                                           {"cost_per_good_part", 45}};
  for (const auto& [key, value] : wanted)
    EXPECT_EQ(get_number(account, key), value) << key;
  // None is left out of the list above.
  EXPECT_EQ(report::section("totals").fields.size(), wanted.size());
}

TEST(SameValues, EveryMemberOfARowStandsUnderItsOwnKey) {
  Account account;
  account.tools = {{3, "fern", 4, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0, 13.0}};
  SwapPairAccount pair;
  pair.from = 1;
  pair.to = 2;
  pair.count = 3;
  pair.purge_g = 4.0;
  pair.needed_g = 5.0;
  pair.purge_each_low_g = 6.0;
  pair.purge_each_high_g = 7.0;
  pair.needed_each_low_g = 8.0;
  pair.needed_each_high_g = 9.0;
  pair.left_de00 = 10.0;
  pair.left_high_de00 = 11.0;
  pair.swaps_short = 12;
  pair.short_g = 13.0;
  account.swap_pairs = {pair};
  account.bed_zones = {{1, 2, 3.0, 4.0, 5.0, 6.0}};
  account.reading = {1, 2, 3, 4, "", 5, 6};
  account.missing_tools = {{7, 8, 9, 10, 11.0}};
  account.stated = {{"layers", -1, 12.0, 13.0, 14, true},
                    {"filament_mm", 2, 15.0, 16.0, 17, false}};
  const std::vector<std::pair<const char*, double>> wanted{{"tools.3.selects", 4},
                                                           {"tools.3.filament_mm", 5},
                                                           {"tools.3.part_g", 6},
                                                           {"tools.3.purge_g", 7},
                                                           {"tools.3.start_up_g", 8},
                                                           {"tools.3.to_have_g", 9},
                                                           {"tools.3.spools", 10},
                                                           {"tools.3.active_s", 11},
                                                           {"tools.3.standby_s", 12},
                                                           {"tools.3.energy_wh", 13},
                                                           {"swap_pairs.1.2.count", 3},
                                                           {"swap_pairs.1.2.purge_g", 4},
                                                           {"swap_pairs.1.2.needed_g", 5},
                                                           {"swap_pairs.1.2.purge_each_low_g", 6},
                                                           {"swap_pairs.1.2.purge_each_high_g", 7},
                                                           {"swap_pairs.1.2.needed_each_low_g", 8},
                                                           {"swap_pairs.1.2.needed_each_high_g", 9},
                                                           {"swap_pairs.1.2.left_de00", 10},
                                                           {"swap_pairs.1.2.left_high_de00", 11},
                                                           {"swap_pairs.1.2.swaps_short", 12},
                                                           {"swap_pairs.1.2.short_g", 13},
                                                           {"bed_zones.1.2.active_s", 3},
                                                           {"bed_zones.1.2.neighbour_s", 4},
                                                           {"bed_zones.1.2.energy_wh", 5},
                                                           {"bed_zones.1.2.peak_c", 6},
                                                           {"reading.commands", 1},
                                                           {"reading.lines_left_out", 2},
                                                           {"reading.moves", 3},
                                                           {"reading.moves_left_out", 4},
                                                           {"reading.left_out_share", 4.0 / 7.0},
                                                           {"reading.source_bytes", 5},
                                                           {"reading.source_bytes_in_all", 6},
                                                           {"reading.partial", 1},
                                                           {"missing_tools.7.selects", 8},
                                                           {"missing_tools.7.first_line", 9},
                                                           {"missing_tools.7.swaps", 10},
                                                           {"missing_tools.7.filament_mm", 11},
                                                           {"stated.layers.stated", 12},
                                                           {"stated.layers.found", 13},
                                                           {"stated.layers.line", 14},
                                                           {"stated.layers.differs", 1},
                                                           {"stated.filament_mm.2.stated", 15},
                                                           {"stated.filament_mm.2.found", 16},
                                                           {"stated.filament_mm.2.line", 17},
                                                           {"stated.filament_mm.2.differs", 0}};
  for (const auto& [key, value] : wanted) {
    const std::optional<double> number = get_number(account, key);
    ASSERT_TRUE(number.has_value()) << key;
    EXPECT_DOUBLE_EQ(*number, value) << key;
  }
}

TEST(SameValues, WithoutStartAndPricesTheClockAndTheCostAreEmpty) {
  Account account;
  account.stops = {Stop{}};
  account.totals.pauses = 2;
  account.totals.manual_changes = 3;
  EXPECT_EQ(get_field(account, "clock.start"), "");
  EXPECT_EQ(get_field(account, "clock.unattended_s"), "null");
  EXPECT_EQ(get_field(account, "clock.stops_unattended"), "null");
  EXPECT_EQ(get_field(account, "stops.1.unattended"), "null");
  EXPECT_EQ(get_field(account, "clock.stops"), "5");
  EXPECT_EQ(get_field(account, "cost"), "null");
  EXPECT_EQ(get_number(account, "cost_by.energy"), std::nullopt);
  account.clock.emplace();
  account.clock->done_attended = "2026-12-02 08:00";
  account.clock->stops_unattended = 4;
  account.stops[0].unattended = true;
  EXPECT_EQ(get_field(account, "clock.done_attended"), "2026-12-02 08:00");
  EXPECT_EQ(get_number(account, "clock.stops_unattended"), 4.0);
  EXPECT_EQ(get_number(account, "stops.1.unattended"), 1.0);
}

// What is not known is empty in a spreadsheet and null in the JSON; a name may be the word itself.
TEST(SameValues, ACellOfWhatIsNotKnownIsEmptyAndANameMayBeNull) {
  Account account;
  ObjectAccount object;
  object.number = 1;
  object.name = "null";
  account.objects = {object};
  const std::vector<test::CsvRow> rows = test::read_csv(objects_to_csv(account));
  const auto column = [&](std::string_view key) {
    return static_cast<std::size_t>(std::ranges::find(rows[0], key) - rows[0].begin());
  };
  EXPECT_EQ(rows[1].at(column("name")), "null");
  EXPECT_EQ(rows[1].at(column("cost")), "");
  account.objects[0].cost = 1.25;
  account.objects[0].energy_wh = std::nan("");
  const std::vector<test::CsvRow> known = test::read_csv(objects_to_csv(account));
  EXPECT_EQ(known[1].at(column("cost")), "1.25");
  EXPECT_EQ(known[1].at(column("energy_wh")), "") << "a number that is none is not known either";
}

TEST(SameValues, ANameThatASpreadsheetWouldRunIsText) {
  Account account;
  for (const char* name : {"=1+1", "+4", "-oak", "@tag", "oak, \"old\""}) {
    ObjectAccount object;
    object.name = name;
    account.objects.push_back(object);
  }
  const std::vector<test::CsvRow> rows = test::read_csv(objects_to_csv(account));
  EXPECT_EQ(rows.at(1).at(1), "'=1+1");
  EXPECT_EQ(rows.at(2).at(1), "'+4");
  EXPECT_EQ(rows.at(3).at(1), "'-oak");
  EXPECT_EQ(rows.at(4).at(1), "'@tag");
  EXPECT_EQ(rows.at(5).at(1), "oak, \"old\"");
}

}  // namespace
}  // namespace platetally
