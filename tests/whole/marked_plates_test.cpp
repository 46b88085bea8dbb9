// Real plates whose own comments marked purge, where they are at hand: what is found from the
// motion and what marks say, against a count of the marked lines that is made here from E words
// alone.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <numbers>
#include <regex>
#include <sstream>
#include <vector>

#include "platetally/account.hpp"
#include "support.hpp"
#include "support/test_names.hpp"

namespace platetally {
namespace {

constexpr double kGPerMm =
    1.24e-3 * std::numbers::pi / 4.0 * 1.75 * 1.75;  // the usual plastic and filament

struct Row {
  const char* name;
  bool decided;  ///< the motion alone tells, but for what is fed and drawn back at rest
};

std::vector<std::string> lines_of(const std::string& name) {
  const std::string command = fmt::format("gzip -dc '{}'", test::shared_plate(name + ".gcode.gz"));
  std::string text;
  FILE* pipe = popen(command.c_str(), "r");
  EXPECT_NE(pipe, nullptr);
  char buffer[4096];
  for (std::size_t got = 0; (got = fread(buffer, 1, sizeof buffer, pipe)) > 0;)
    text.append(buffer, got);
  EXPECT_EQ(pclose(pipe), 0);
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);)
    lines.push_back(line);
  return lines;
}

using Ranges = std::vector<std::pair<std::size_t, std::size_t>>;

Ranges ranges_of(const std::string& name) {
  const auto known = test::read_json(std::string(PLATETALLY_SHARED) + "/plates/marked_purge.json");
  Ranges ranges;
  for (const auto& range : known[name]["marked_purge_lines"])
    ranges.emplace_back(range[0].get<std::size_t>(), range[1].get<std::size_t>());
  return ranges;
}

/// Filament that the marked lines feed beyond what their tool has drawn back: each tool's debt its
/// own, M82 and M83, G92 E.
double marked_mm(const std::vector<std::string>& lines, const Ranges& ranges) {
  const std::regex e_word("E(-?[0-9.]+)");
  std::vector<double> debt_mm(256, 0.0);
  std::size_t tool = 0;
  bool relative = false;
  double at_mm = 0.0;
  double sum_mm = 0.0;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    std::string code = lines[i].substr(0, lines[i].find(';'));
    code.erase(0, code.find_first_not_of(" \t"));
    const std::string word = code.substr(0, code.find_first_of(" \t\r"));
    relative = word == "M83" || (relative && word != "M82");
    if (word.size() > 1 && word[0] == 'T' && std::isdigit(word[1]) != 0 &&
        std::stoi(word.substr(1)) < 64)
      tool = static_cast<std::size_t>(std::stoi(word.substr(1)));
    std::smatch found;
    if (!std::regex_search(code, found, e_word))
      continue;
    const double value_mm = std::stod(found[1]);
    if (word == "G92")
      at_mm = value_mm;
    if (word != "G0" && word != "G1" && word != "G2" && word != "G3")
      continue;
    const double fed_mm = relative ? value_mm : value_mm - at_mm;
    at_mm = value_mm;
    const double fresh_mm = std::max(0.0, fed_mm - debt_mm[tool]);
    debt_mm[tool] = std::max(0.0, debt_mm[tool] - fed_mm);
    if (std::ranges::any_of(ranges, [&](const auto& range) {
          return range.first <= i + 1 && i + 1 <= range.second;
        }))
      sum_mm += fresh_mm;
  }
  return sum_mm;
}

class MarkedPlate : public testing::TestWithParam<Row> {
 protected:
  void SetUp() override {
    if (test::shared_plate(std::string(GetParam().name) + ".gcode.gz").empty())
      GTEST_SKIP() << GetParam().name << " is not at hand";
    lines_ = lines_of(GetParam().name);
    ranges_ = ranges_of(GetParam().name);
    true_g_ = marked_mm(lines_, ranges_) * kGPerMm;
    ASSERT_GT(true_g_, 0.1);
  }

  std::vector<std::string> lines_;
  Ranges ranges_;
  double true_g_ = 0.0;
};

TEST_P(MarkedPlate, TruthLiesInTheBandOfWhatTheMotionTells) {
  const std::string path = test::shared_plate(std::string(GetParam().name) + ".gcode.gz");
  for (const char* machine : {"changer-5", "switcher-4"}) {
    const Totals totals = analyze_file(path, test::embedded(machine)).totals;
    EXPECT_LE(totals.purge_low_g, 1.01 * true_g_) << machine;
    EXPECT_GE(totals.purge_high_g, 0.99 * true_g_) << machine;
    if (GetParam().decided) {
      EXPECT_NEAR(totals.purge_g, true_g_, 0.035 * true_g_) << machine;
      EXPECT_LE(totals.purge_high_g - totals.purge_low_g, 0.035 * true_g_) << machine;
    }
  }
}

TEST_P(MarkedPlate, WithItsMarksTheTruthIsFound) {
  std::string text;
  for (std::size_t i = 0; i < lines_.size(); ++i) {
    for (const auto& [first, last] : ranges_)
      text += first == i + 1 ? "; purge start\n" : "";
    text += lines_[i] + "\n";
    for (const auto& [first, last] : ranges_)
      text += last == i + 1 ? "; purge end\n" : "";
  }
  const Totals totals = analyze_bytes(text, test::embedded("switcher-4")).totals;
  EXPECT_NEAR(totals.purge_g, true_g_, 0.01 * true_g_);
  EXPECT_LE(totals.purge_low_g, 1.01 * true_g_);
  EXPECT_GE(totals.purge_high_g, 0.99 * true_g_);
}

INSTANTIATE_TEST_SUITE_P(Plates, MarkedPlate,
                         testing::Values(Row{"chute_one_change", false},
                                         Row{"chute_two_changes", true},
                                         Row{"chute_and_tower", true},
                                         Row{"tower_four_changes", true},
                                         Row{"chute_tool_numbers_beyond", true}),
                         [](const auto& row) { return test::readable(row.param.name); });

}  // namespace
}  // namespace platetally
