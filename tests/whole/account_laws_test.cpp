// Laws that every account obeys, on every plate and machine that comes with the project.
#include <algorithm>
#include <cmath>
#include <functional>
#include <sstream>

#include "platetally/account.hpp"
#include "platetally/report.hpp"
#include "reading/source/open.hpp"
#include "support.hpp"

namespace platetally {
namespace {

class EveryPlate : public testing::TestWithParam<std::string> {
 protected:
  static std::string path() { return test::testdata(GetParam()); }
};

#define EXPECT_SAME(a, b) EXPECT_NEAR(a, b, 1e-9 * std::max(1e-6, std::abs(b)))

TEST_P(EveryPlate, SumsOverLayersEqualTheTotals) {
  for (const std::string& name : embedded_machine_names()) {
    SCOPED_TRACE(name);
    const Account account = analyze_file(path(), test::embedded(name));
    const Totals& totals = account.totals;
    double time_s = 0, part_g = 0, purge_g = 0, start_up_g = 0, energy_wh = 0;
    std::uint64_t swaps = 0;
    for (const LayerAccount& layer : account.layers) {
      time_s += layer.time_by.sum_s();
      part_g += layer.part_g;
      purge_g += layer.purge_g;
      start_up_g += layer.start_up_g;
      energy_wh += layer.energy_by.sum_wh();
      swaps += layer.swaps;
    }
    EXPECT_SAME(time_s, totals.time.expected);
    EXPECT_SAME(part_g, totals.part_g);
    EXPECT_SAME(purge_g, totals.purge_g);
    EXPECT_SAME(start_up_g, totals.start_up_g);
    EXPECT_SAME(energy_wh, totals.energy_wh);
    EXPECT_EQ(swaps, totals.swaps);
  }
}

TEST_P(EveryPlate, TheTablesAgreeWithEachOther) {
  const Account account = analyze_file(path(), test::embedded("changer-5"));
  double part_g = 0, purge_g = 0, pair_purge_g = 0;
  std::uint64_t pair_swaps = 0;
  for (const ToolAccount& tool : account.tools) {
    part_g += tool.part_g;
    purge_g += tool.purge_g;
  }
  for (const SwapPairAccount& pair : account.swap_pairs) {
    pair_swaps += pair.count;
    pair_purge_g += pair.purge_g;
  }
  EXPECT_SAME(part_g, account.totals.part_g);
  EXPECT_SAME(purge_g, account.totals.purge_g);
  EXPECT_SAME(pair_purge_g, account.totals.purge_g);
  EXPECT_EQ(pair_swaps, account.totals.swaps);
}

TEST_P(EveryPlate, TheEnergyBookCloses) {
  for (const std::string& name : embedded_machine_names()) {
    SCOPED_TRACE(name);
    const Account account = analyze_file(path(), test::embedded(name));
    EXPECT_LT(account.totals.energy_residual, 1e-9);
    EXPECT_GE(account.totals.peak_power_w, account.totals.mean_power_w);
    EXPECT_LE(account.totals.peak_power_w, account.totals.connected_load_w * (1 + 1e-9));
  }
}

TEST_P(EveryPlate, BandsHoldTheExpectedValueAndNothingIsNegative) {
  const Account account = analyze_file(path(), test::embedded("changer-5"));
  EXPECT_LE(account.totals.time.low, account.totals.time.expected);
  EXPECT_LE(account.totals.time.expected, account.totals.time.high);
  EXPECT_LE(account.totals.time_of_print.low, account.totals.time_of_print.expected);
  EXPECT_LE(account.totals.time_of_print.expected, account.totals.time_of_print.high);
  EXPECT_LE(account.totals.time_of_print.expected, account.totals.time.expected);
  EXPECT_LE(account.totals.purge_low_g, account.totals.purge_g);
  EXPECT_LE(account.totals.purge_g, account.totals.purge_high_g);
  for (const LayerAccount& layer : account.layers) {
    EXPECT_GE(layer.time_by.sum_s(), 0.0);
    EXPECT_GE(layer.energy_by.sum_wh(), 0.0);
    EXPECT_TRUE(std::isfinite(layer.energy_by.sum_wh()));
  }
}

TEST_P(EveryPlate, ThreadsChangeNothing) {
  const Machine machine = test::embedded("changer-5");
  AnalyzeOptions one;
  one.threads = 1;
  AnalyzeOptions two;
  two.threads = 2;
  const Account a = analyze_file(path(), machine, one);
  const Account b = analyze_file(path(), machine, two);
  EXPECT_EQ(a.totals.time, b.totals.time);
  EXPECT_EQ(a.totals.energy_wh, b.totals.energy_wh);
  EXPECT_EQ(a.totals.part_g, b.totals.part_g);
  ASSERT_EQ(a.layers.size(), b.layers.size());
  for (std::size_t i = 0; i < a.layers.size(); ++i)
    EXPECT_EQ(a.layers[i].energy_by.sum_wh(), b.layers[i].energy_by.sum_wh());
}

/// The plate's lines, each changed.
std::string with_lines(const std::string& path,
                       const std::function<std::string(const std::string&)>& changed) {
  const auto plates = source::open_path(path);
  const auto bytes = plates->next();
  std::string text;
  std::vector<char> chunk(1 << 16);
  while (const std::size_t got = bytes->read({chunk.data(), chunk.size()}))
    text.append(chunk.data(), got);
  std::string result;
  std::istringstream lines(text);
  for (std::string line; std::getline(lines, line);) {
    if (line.ends_with('\r'))
      line.pop_back();
    result += changed(line) + "\n";
  }
  return result;
}

/// Numbers to 1e-9, all else exactly; what names the file or its lines is left out.
void expect_alike(const nlohmann::json& a, const nlohmann::json& b, const std::string& where) {
  ASSERT_EQ(a.type() == nlohmann::json::value_t::string, b.is_string()) << where;
  if (a.is_object() || a.is_array()) {
    ASSERT_EQ(a.size(), b.size()) << where;
    if (a.is_array()) {
      for (std::size_t i = 0; i < a.size(); ++i)
        expect_alike(a[i], b[i], where + "/" + std::to_string(i));
      return;
    }
    for (const auto& [key, value] : a.items())
      if (key != "job" && key != "diagnostics") {
        ASSERT_TRUE(b.contains(key)) << where << "/" << key;
        expect_alike(value, b[key], where + "/" + key);
      }
  } else if (a.is_number() && b.is_number()) {
    EXPECT_SAME(a.get<double>(), b.get<double>()) << where;
  } else {
    EXPECT_EQ(a, b) << where;
  }
}

/// Plain moves and strokes in a row are taken by shorter ways. What a line says must not depend on
/// the way that it took.
TEST_P(EveryPlate, TheShortWaysLeadToTheSameAccount) {
  const auto is_move = [](const std::string& line) {
    return line.starts_with("G1 ") && line.find_first_of(";(*") == std::string::npos;
  };
  const std::string plain = with_lines(path(), [](const std::string& line) { return line; });
  const std::string commented = with_lines(path(), [&](const std::string& line) {
    return is_move(line) ? line + " ; a word" : line;  // no plain move for the interpreter
  });
  const std::string rapid = with_lines(path(), [&](const std::string& line) {
    return is_move(line) ? "G0" + line.substr(2) : line;  // no stroke in a row for the ledgers
  });
  for (const char* name : {"changer-5", "switcher-4"}) {
    SCOPED_TRACE(name);
    const Machine machine = test::embedded(name);
    ASSERT_TRUE(machine.dialect.rapid_moves_use_feed);
    const auto account_of = [&](const std::string& text) {
      Account account = analyze_bytes(text, machine);
      account.made_from.plates.clear();  // another content is what was asked for
      return nlohmann::json::parse(to_json(account));
    };
    const nlohmann::json expected = account_of(plain);
    expect_alike(account_of(commented), expected, "comment");
    expect_alike(account_of(rapid), expected, "rapid");
  }
}

TEST(Outside, APlateAroundTheOriginIsPartAndNoWaste) {
  std::string text = "M83\nG90\n";
  for (int layer = 1; layer <= 20; ++layer) {
    text += "G1 Z" + std::to_string(0.2 * layer) + " F600\n";
    for (const char* corner : {"X-50 Y-50", "X-10 Y-50", "X-10 Y-10", "X-50 Y-10", "X-50 Y-50"})
      text += std::string("G1 ") + corner + " E1\n";
  }
  const Totals totals = analyze_bytes(text, test::embedded("changer-5")).totals;
  // The first two heights, and the stroke at the third that decides it, may be purge lines.
  EXPECT_LT(totals.start_up_g, 0.15 * totals.part_g);
  EXPECT_EQ(totals.purge_g, 0.0);
}

TEST(Band, WordsThatNothingIsKnownOfWidenItAboveOnly) {
  Machine machine = test::embedded("changer-5");
  machine.procedures.unknown_word_most_s = 2.0;
  const std::string plate = "M83\nG1 Z0.2 F600\nG1 X10 E1\n";
  const Totals known = analyze_bytes(plate, machine).totals;
  const Totals odd = analyze_bytes(plate + "M7401.7\nWARM_SHELF\nM7401.7\n", machine).totals;
  EXPECT_EQ(odd.time.low, known.time.low);
  EXPECT_EQ(odd.time.expected, known.time.expected);
  EXPECT_NEAR(odd.time.high, known.time.high + 6.0, 1e-9);

  const auto unknown = std::ranges::find(odd.time_band, "unknown-words", &TimeBandCause::cause);
  ASSERT_NE(unknown, odd.time_band.end());
  EXPECT_NEAR(unknown->above_s, 6.0, 1e-12);
}

std::string plate_name(const testing::TestParamInfo<std::string>& info) {
  std::string name = info.param;
  for (char& c : name)
    if (!std::isalnum(static_cast<unsigned char>(c)))
      c = '_';
  return name;
}

INSTANTIATE_TEST_SUITE_P(Testdata, EveryPlate, testing::ValuesIn(test::plates_of_testdata()),
                         plate_name);

}  // namespace
}  // namespace platetally
