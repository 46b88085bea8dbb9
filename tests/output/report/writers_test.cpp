// What the writers write, from one account made by hand.
#include <gtest/gtest.h>

#include <algorithm>
#include <limits>
#include <nlohmann/json.hpp>
#include <sstream>

#include "output/report/account.hpp"
#include "output/report/golden.hpp"
#include "output/report/strings.hpp"
#include "platetally/account.hpp"
#include "platetally/report.hpp"

namespace platetally {
namespace {

using nlohmann::ordered_json;

std::string golden(const std::string& name) {
  return std::string(PLATETALLY_TESTDATA) + "/report/" + name;
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);)
    lines.push_back(line);
  return lines;
}

TEST(Writers, TheTrayOfLabels) {
  const Account account = test::labels_account();
  test::expect_golden(to_text(account), golden("labels.txt"));
  test::expect_golden(to_text(account, {.colour = true, .width = 72, .verbose = true}),
                      golden("labels-coloured.txt"));
  test::expect_golden(to_json(account), golden("labels.json"));
  test::expect_golden(to_csv(account), golden("labels.csv"));
}

TEST(Writers, AnEmptyAccountIsStillAReport) {
  const Account account;
  EXPECT_NE(to_text(account).find("0 s"), std::string::npos);
  EXPECT_EQ(lines_of(to_csv(account)).size(), 1U);
  const ordered_json json = ordered_json::parse(to_json(account));
  EXPECT_EQ(json["layers"], ordered_json::array());
  EXPECT_EQ(json["totals"]["time_s"], 0);
}

/// The keys that scripts rely on, in their order; the account may have more between them.
struct Promise {
  const char* where;
  std::vector<std::string> keys;
};

const std::vector<Promise> kPromises{
    {"",
     {"schema", "job", "machine", "totals", "tools", "swap_pairs", "bed_zones", "layers",
      "findings", "diagnostics", "unaccounted"}},
    {"/job", {"path", "bytes", "lines"}},
    {"/machine", {"name"}},
    {"/totals",
     {"time_s", "time_low_s", "time_high_s", "time_by", "layers", "tool_selects", "swaps", "part_g",
      "purge_g", "purge_low_g", "purge_high_g", "energy_wh", "energy_low_wh", "energy_high_wh",
      "energy_by", "mean_power_w", "peak_power_w", "bed_zones_used"}},
    {"/totals/time_by", {"print", "travel", "swap", "heat_wait", "other"}},
    {"/totals/energy_by",
     {"bed", "hot_ends", "enclosure", "motors", "fans", "electronics", "supply_loss"}},
    {"/tools/0",
     {"tool", "selects", "filament_mm", "part_g", "purge_g", "active_s", "standby_s", "energy_wh"}},
    {"/swap_pairs/0", {"from", "to", "count", "purge_g", "needed_g"}},
    {"/bed_zones/0", {"row", "column", "active_s", "neighbour_s", "energy_wh", "peak_c"}},
    {"/layers/0",
     {"index", "z_mm", "start_s", "time_s", "swaps", "order", "part_g", "purge_g", "energy_wh",
      "energy_by", "bed_zones_active", "bed_zones_warm"}},
    {"/findings/0", {"code", "severity", "message", "saves", "layers"}},
    {"/findings/0/saves", {"time_s", "purge_g", "energy_wh", "money"}},
    {"/diagnostics/0", {"code", "severity", "line", "column", "message", "count"}},
    {"/unaccounted/0", {"word", "count"}},
};

TEST(Json, HoldsThePromisedKeysInTheirOrder) {
  const ordered_json json = ordered_json::parse(to_json(test::labels_account()));
  for (const Promise& promise : kPromises) {
    SCOPED_TRACE(promise.where);
    std::vector<std::string> promised_that_are_there;
    for (const auto& [key, value] : json.at(ordered_json::json_pointer(promise.where)).items())
      if (std::find(promise.keys.begin(), promise.keys.end(), key) != promise.keys.end())
        promised_that_are_there.push_back(key);
    EXPECT_EQ(promised_that_are_there, promise.keys);
  }
  EXPECT_EQ(json["schema"], "platetally.tally/1");
}

TEST(Json, NumbersReadBackToTheSameBits) {
  Account account = test::labels_account();
  const std::vector<double> values{0.1 + 0.2,   1.0 / 3.0, 5e-324, 1.7976931348623157e308,
                                   123456789.0, -2.5e-7};
  for (const double value : values) {
    account.totals.purge_g = value;
    const ordered_json json = ordered_json::parse(to_json(account));
    EXPECT_EQ(json["totals"]["purge_g"].get<double>(), value);
  }
}

TEST(Json, WhatIsNoNumberIsNull) {
  Account account = test::labels_account();
  account.totals.mean_power_w = std::numeric_limits<double>::quiet_NaN();
  account.totals.peak_power_w = std::numeric_limits<double>::infinity();
  const ordered_json json = ordered_json::parse(to_json(account));
  EXPECT_TRUE(json["totals"]["mean_power_w"].is_null());
  EXPECT_TRUE(json["totals"]["peak_power_w"].is_null());
  EXPECT_TRUE(json["swap_pairs"][0]["needed_g"].is_null());
  EXPECT_EQ(to_text(account).find("nan"), std::string::npos);
}

TEST(Json, StringsAreValidWhateverTheirBytes) {
  Account account = test::labels_account();
  account.path = "a\xff\"\\\n\x01 \xe2\x82\xac \xed\xa0\x80";
  const ordered_json json = ordered_json::parse(to_json(account));
  EXPECT_EQ(json["job"]["path"], "a\uFFFD\"\\\n\x01 \u20ac \uFFFD\uFFFD\uFFFD");
}

TEST(Text, FitsAHundredColumns) {
  Account account = test::labels_account();
  account.totals.purge_by = {1.5, 2.25, 3.125, 4.0, 5.0};
  for (ToolAccount& tool : account.tools) {
    tool.filament_mm = 123456.78;
    tool.part_g = tool.purge_g = 1234.56;
    tool.active_s = tool.standby_s = 86399.0;
    tool.energy_wh = 12345.6;
  }
  for (LayerAccount& layer : account.layers) {
    layer.index += 12000;
    layer.start_s = layer.time_by.print_s = 86399.0;
    layer.order = {0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15};
  }
  for (const std::string& line : lines_of(to_text(account)))
    EXPECT_LE(report::display_width(line), 100) << line;
}

TEST(Text, WrapsProseAtTheWidthItIsGiven) {
  const std::string text = to_text(test::labels_account(), {.width = 64});
  for (const std::string& line : lines_of(text.substr(0, text.find("\nEnergy"))))
    EXPECT_LE(report::display_width(line), 64) << line;
}

TEST(Text, NamesFromTheFileCannotSteerTheTerminal) {
  Account account = test::labels_account();
  account.path = "tray\x1b[2J.gcode";
  account.unaccounted[0].word = "\x1b]0;x\x07";
  account.diagnostics[1].excerpt = "G1 \x9b X\x1b[31m";
  account.diagnostics[1].message =
      "\xe2\x80\xae"
      "backwards";
  const std::string text = to_text(account);
  EXPECT_EQ(text.find('\x1b'), std::string::npos);
  EXPECT_EQ(text.find('\x07'), std::string::npos);
  EXPECT_EQ(text.find("\xe2\x80\xae"), std::string::npos);
}

TEST(Text, FoldsWhatIsManyAndShowsAllWhenAsked) {
  Account account = test::labels_account();
  account.unaccounted.clear();
  account.diagnostics.clear();
  for (int i = 0; i < 25; ++i) {
    account.unaccounted.push_back({"M" + std::to_string(7400 + i), 1, 1, "", ""});
    Diagnostic diagnostic;
    diagnostic.code = "code-" + std::to_string(i);
    diagnostic.message = "something";
    account.diagnostics.push_back(diagnostic);
  }
  const std::string folded = to_text(account, {.full = true});
  EXPECT_NE(folded.find("and 15 more; --all"), std::string::npos);
  EXPECT_NE(folded.find("and 15 more kinds; --all"), std::string::npos);
  EXPECT_EQ(folded.find("M7410"), std::string::npos);
  const std::string all = to_text(account, {.all_diagnostics = true});
  EXPECT_NE(all.find("M7424"), std::string::npos);
  EXPECT_NE(all.find("code-24"), std::string::npos);
}

TEST(Text, WithoutColourThereAreNoEscapes) {
  const Account account = test::labels_account();
  EXPECT_EQ(to_text(account).find('\x1b'), std::string::npos);
  std::string coloured = to_text(account, {.colour = true});
  ASSERT_NE(coloured.find('\x1b'), std::string::npos);
  // Taking the escapes out leaves the plain report: nothing is said by colour alone.
  for (std::size_t at = coloured.find('\x1b'); at != std::string::npos; at = coloured.find('\x1b'))
    coloured.erase(at, coloured.find('m', at) + 1 - at);
  EXPECT_EQ(coloured, to_text(account));
}

TEST(Csv, OneRowALayerUnderAsManyHeadings) {
  const Account account = test::labels_account();
  const std::vector<std::string> lines = lines_of(to_csv(account));
  ASSERT_EQ(lines.size(), 1 + account.layers.size());
  for (const std::string& line : lines)
    EXPECT_EQ(std::count(line.begin(), line.end(), ','),
              std::count(lines[0].begin(), lines[0].end(), ','));
}

}  // namespace
}  // namespace platetally
