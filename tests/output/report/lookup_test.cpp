// Values by key, limits, and the page that lists the keys.
#include <gtest/gtest.h>

#include <cstdlib>
#include <nlohmann/json.hpp>

#include "output/report/account.hpp"
#include "output/report/golden.hpp"
#include "platetally/account.hpp"
#include "platetally/report.hpp"

namespace platetally {
namespace {

struct Row {
  const char* key;
  std::optional<std::string> value;
};

const std::vector<Row> kRows{
    {"totals.swaps", "6"},
    {"swaps", "6"},
    {"energy_wh", "163"},
    {"totals.energy_by.bed", "80"},
    {"energy_by.bed", "80"},
    {"time_by.heat_wait", "360"},
    {"job.path", "plant-labels.gcode"},
    {"machine.name", "changer-5"},
    {"tower.verdict", "tower"},
    {"tools.4.filament_mm", "700.25"},  // by the number after T, not by the place in the list
    {"tools.2.filament_mm", std::nullopt},
    {"swap_pairs.1.4.count", "3"},
    {"swap_pairs.0.1.needed_g", "null"},
    {"swap_pairs.4.1.count", std::nullopt},
    {"bed_zones.1.0.peak_c", "41"},
    {"layers.3.energy_by.fans", "1.25"},
    {"layers.2.time_s", "500"},
    {"layers.2.order", "0 1 4"},
    {"layers.99.time_s", std::nullopt},
    {"findings.cheaper-order.saves.purge_g", "0.3"},
    {"diagnostics.number-malformed.count", "4212"},
    {"unaccounted.M7401.3.count", "12"},
    {"time_band.swap.above_s", "35.5"},
    {"nothing.such", std::nullopt},
    {"", std::nullopt},
    {"tools", std::nullopt},
    {"tools.", std::nullopt},
    {"tools..tool", std::nullopt},
    {"tools.x.tool", std::nullopt},
    {"swap_pairs.1.count", std::nullopt},
};

TEST(GetField, FindsEveryKindOfKey) {
  const Account account = test::labels_account();
  for (const Row& row : kRows) {
    SCOPED_TRACE(row.key);
    EXPECT_EQ(get_field(account, row.key), row.value);
  }
}

TEST(GetField, AgreesWithTheJsonOnEveryTotal) {
  const Account account = test::labels_account();
  const auto json = nlohmann::json::parse(to_json(account));
  int compared = 0;
  for (const FieldInfo& field : list_fields()) {
    if (!field.key.starts_with("totals."))
      continue;
    std::string pointer = "/" + field.key;
    std::replace(pointer.begin(), pointer.end(), '.', '/');
    EXPECT_EQ(nlohmann::json::parse(get_field(account, field.key).value()),
              json.at(nlohmann::json::json_pointer(pointer)))
        << field.key;
    ++compared;
  }
  EXPECT_GT(compared, 20);
}

TEST(FaultOfKey, NamesTheNearestKey) {
  EXPECT_EQ(fault_of_key("purge_g"), std::nullopt);
  EXPECT_EQ(fault_of_key("tools.9.purge_g"), std::nullopt);  // some other plate may have it
  EXPECT_NE(fault_of_key("purge_gr").value().find("'purge_g'"), std::string::npos);
  EXPECT_NE(fault_of_key("tools.0.filament").value().find("'tools.T.filament_mm'"),
            std::string::npos);
  EXPECT_TRUE(fault_of_key("").has_value());
  EXPECT_LT(fault_of_key(std::string(5000, 'x')).value().size(), 5200U);
}

TEST(FaultOfKey, EveryListedKeyIsOne) {
  for (const FieldInfo& field : list_fields()) {
    std::string key = field.key;
    for (const auto& [part, name] :
         std::vector<std::pair<std::string, std::string>>{{".FROM.TO.", ".0.1."},
                                                          {".ROW.COLUMN.", ".0.1."},
                                                          {".T.", ".0."},
                                                          {".INDEX.", ".3."},
                                                          {".N.", ".1."},
                                                          {".NUMBER.", ".3."}})
      if (const std::size_t at = key.find(part); at != std::string::npos)
        key.replace(at, part.size(), name);
    EXPECT_EQ(fault_of_key(key), std::nullopt) << key;
    EXPECT_FALSE(field.title.empty()) << key;
  }
}

TEST(Limits, AreExceededOnlyAboveThem) {
  const Account account = test::labels_account();
  const LimitCheck check = check_limits(account, {{"swaps", 6},
                                                  {"swaps", 5.5},
                                                  {"tools.1.purge_g", 0.4},
                                                  {"tools.9.purge_g", 0},
                                                  {"tools.9.purge_g", -1}});
  EXPECT_TRUE(check.errors.empty());
  ASSERT_EQ(check.breaches.size(), 3U);
  EXPECT_EQ(check.breaches[0].key, "swaps");
  EXPECT_EQ(check.breaches[0].value, 6.0);
  EXPECT_EQ(check.breaches[0].limit, 5.5);
  EXPECT_EQ(check.breaches[1].key, "tools.1.purge_g");
  EXPECT_EQ(check.breaches[2].value, 0.0);
}

TEST(Limits, ThatCannotBeCheckedAreErrors) {
  const LimitCheck check = check_limits(
      test::labels_account(),
      {{"swap_pairs.0.1.needed_g", 1}, {"job.path", 1}, {"layers.1.order", 1}, {"nonsense", 1}});
  EXPECT_EQ(check.errors.size(), 4U);
  EXPECT_TRUE(check.breaches.empty());
}

std::string table_of_keys() {
  std::string table = "| key | unit | what it is |\n|---|---|---|\n";
  for (const FieldInfo& field : list_fields())
    table += "| `" + field.key + "` | " + field.unit + " | " + field.title +
             (field.note.empty() ? "" : ": " + field.note) + " |\n";
  return table;
}

TEST(Page, ListsTheKeysAsTheTableHasThem) {
  const std::string path = std::string(PLATETALLY_TESTDATA) + "/../docs/json.md";
  const std::string begin = "<!-- keys: begin -->\n", end = "<!-- keys: end -->\n";
  std::string page = test::read_file(path);
  const std::size_t from = page.find(begin) + begin.size(), to = page.find(end);
  ASSERT_NE(to, std::string::npos);
  ASSERT_LE(from, to);
  page.replace(from, to - from, table_of_keys());
  test::expect_golden(page, path);
}

}  // namespace
}  // namespace platetally
