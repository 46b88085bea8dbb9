// What the truth files say, against a second count of the plates themselves.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <memory>
#include <nlohmann/json.hpp>
#include <numbers>

#include "recount.hpp"

namespace plate_maker::test {
namespace {

using nlohmann::json;

// Truth files state volumes with four decimals: each is off by half a digit at most.
constexpr double kRounding_mm3 = 0.5e-4;
constexpr double kFilament_mm2 = std::numbers::pi / 4.0 * 1.75 * 1.75;
// E words have five decimals (seven in inches), and binary sums of at most 1e5 of them lose less
// than 1e5 x 2^-53 x 1e4 mm = 1e-7 mm.
constexpr double kFilamentSum_mm = 1e-6;
// Places have three decimals of a mm, or five of an inch; they are compared as written.
constexpr double kPlace_mm = 1e-5;

std::string output_of(const std::string& command, int* status = nullptr) {
  std::FILE* pipe = popen(command.c_str(), "r");
  std::string text;
  char buffer[65536];
  while (const std::size_t length = std::fread(buffer, 1, sizeof buffer, pipe))
    text.append(buffer, length);
  const int ended = pclose(pipe);
  if (status != nullptr)
    *status = WEXITSTATUS(ended);
  return text;
}

std::vector<std::string> plates() {
  std::vector<std::string> found;
  const std::string ending = ".gcode.gz";
  for (const char* folder : {"demo", "plates"})
    for (const auto& entry :
         std::filesystem::directory_iterator(std::string(PLATETALLY_TESTDATA "/") + folder))
      if (entry.path().string().ends_with(ending)) {
        const std::string file = entry.path().filename().string();
        found.push_back(std::string(folder) + "/" + file.substr(0, file.size() - ending.size()));
      }
  std::sort(found.begin(), found.end());
  return found;
}

class Truths : public testing::TestWithParam<std::string> {
 protected:
  void SetUp() override {
    const std::string path = std::string(PLATETALLY_TESTDATA "/") + GetParam();
    text_ = output_of("gzip -dc '" + path + ".gcode.gz'");
    count_ = recount(text_);
    std::ifstream file(path + ".truth.json");
    truth_ = json::parse(file);
  }

  std::string text_;
  Recount count_;
  json truth_;
};

TEST_P(Truths, CountTheFile) {
  EXPECT_EQ(truth_["bytes"], text_.size());
  EXPECT_EQ(truth_["lines"], count_.lines);
  EXPECT_EQ(truth_["tool_selects"], count_.selects);
  EXPECT_EQ(truth_["parkings"], count_.parkings);
  EXPECT_EQ(truth_["swaps"], count_.swaps);
  EXPECT_EQ(truth_["moves"]["travel"], count_.travels);
  EXPECT_EQ(truth_["moves"]["lay"], count_.strokes);
  EXPECT_EQ(truth_["moves"]["arc"], count_.arcs);
  EXPECT_TRUE(count_.checksums_hold);
}

TEST_P(Truths, SumTheFilament) {
  std::size_t tools = 0;
  for (const json& tool : truth_["tools"]) {
    SCOPED_TRACE(tool.dump());
    const double filament_mm = tool["filament_mm"];
    EXPECT_NEAR(count_.filament_mm[tool["tool"]], filament_mm, kFilamentSum_mm);
    const double laid_mm3 = tool["part_mm3"].get<double>() + tool["purge_mm3"].get<double>() +
                            tool["start_up_mm3"].get<double>();
    const double left_mm = tool["left_drawn_back_mm"];
    EXPECT_NEAR(laid_mm3, (filament_mm + left_mm) * kFilament_mm2, 4 * kRounding_mm3);
    ++tools;
  }
  EXPECT_EQ(count_.filament_mm.size(), tools);
}

TEST_P(Truths, PointAtThePurge) {
  double at_lines_mm = 0.0;
  std::size_t range = 0;
  const json& ranges = truth_["purge_lines"];
  for (const LaidMove& move : count_.laid) {
    while (range < ranges.size() && ranges[range][1] < move.line)
      ++range;
    if (range < ranges.size() && ranges[range][0] <= move.line)
      at_lines_mm += move.e_mm;
  }
  const double purge_mm3 = truth_["purge_mm3"];
  EXPECT_NEAR(purge_mm3, at_lines_mm * kFilament_mm2, 2 * kRounding_mm3);
  double pairs_mm3 = truth_["purge_before_first_swap_mm3"];
  int swaps = 0;
  for (const json& pair : truth_["swap_pairs"]) {
    pairs_mm3 += pair["purge_mm3"].get<double>();
    swaps += pair["count"].get<int>();
  }
  const double roundings = static_cast<double>(truth_["swap_pairs"].size()) + 2.0;
  EXPECT_NEAR(purge_mm3, pairs_mm3, roundings * kRounding_mm3);
  EXPECT_EQ(truth_["swaps"], swaps);
}

TEST_P(Truths, SumOverLayers) {
  int swaps = 0;
  for (const json& layer : truth_["by_layer"])
    swaps += layer["swaps"].get<int>();
  EXPECT_EQ(truth_["swaps"], swaps);
  EXPECT_EQ(truth_["layers"], truth_["by_layer"].size());
  for (const char* key : {"part_mm3", "purge_mm3", "start_up_mm3"}) {
    double sum_mm3 = truth_["before_layers"][key];
    for (const json& layer : truth_["by_layer"])
      sum_mm3 += layer[key].get<double>();
    const double roundings = static_cast<double>(truth_["by_layer"].size()) + 2.0;
    EXPECT_NEAR(truth_[key].get<double>(), sum_mm3, roundings * kRounding_mm3) << key;
  }
}

TEST_P(Truths, KnowHeightsAndPlaces) {
  if (count_.laid.empty()) {
    EXPECT_TRUE(truth_["laid_box_mm"].is_null());
    return;
  }
  std::set<std::int64_t> heights_um;
  for (const json& layer : truth_["by_layer"])
    heights_um.insert(std::llround(layer["z_mm"].get<double>() * 1000.0));
  // A tower that runs ahead ends above the part; all of the part's heights occur.
  if (!count_.has_slopes && GetParam() != "plates/tower-ahead") {
    EXPECT_EQ(count_.heights_um, heights_um);
  }
  if (!count_.has_slopes) {
    EXPECT_TRUE(std::includes(count_.heights_um.begin(), count_.heights_um.end(),
                              heights_um.begin(), heights_um.end()));
  }
  for (std::size_t axis = 0; axis < 3; ++axis) {
    const double low_mm = truth_["laid_box_mm"][0][axis];
    const double high_mm = truth_["laid_box_mm"][1][axis];
    if (!count_.has_arcs || axis == 2) {
      EXPECT_NEAR(low_mm, count_.low_mm[axis], kPlace_mm);
      EXPECT_NEAR(high_mm, count_.high_mm[axis], kPlace_mm);
    } else {  // arcs reach beyond their ends
      EXPECT_LE(low_mm, count_.low_mm[axis] + kPlace_mm);
      EXPECT_GE(high_mm, count_.high_mm[axis] - kPlace_mm);
    }
  }
}

std::string test_name(const testing::TestParamInfo<std::string>& info) {
  std::string name = info.param;
  for (char& c : name)
    if (std::isalnum(static_cast<unsigned char>(c)) == 0)
      c = '_';
  return name;
}

INSTANTIATE_TEST_SUITE_P(Committed, Truths, testing::ValuesIn(plates()), test_name);

TEST(Twins, DifferInLineEndsAlone) {
  const std::string folder = PLATETALLY_TESTDATA "/plates/";
  std::string crlf = output_of("gzip -dc '" + folder + "twin-crlf.gcode.gz'");
  const std::string lf = output_of("gzip -dc '" + folder + "twin-lf.gcode.gz'");
  EXPECT_GT(crlf.size(), lf.size());
  std::erase(crlf, '\r');
  EXPECT_EQ(crlf, lf);
}

TEST(CommandLine, SaysWhatIsWrong) {
  struct Row {
    const char* arguments;
    const char* message;
  };
  for (const Row& row : {
           Row{"teapot -o /dev/null", "'teapot' is no kind of plate"},
           Row{"blocks", "-o FILE is missing"},
           Row{"blocks --layers", "'--layers' lacks its value"},
           Row{"blocks --layers many -o /dev/null", "--layers takes NUMBER, not 'many'"},
           Row{"blocks --tools 9 -o /dev/null", "--tools takes 1 .. 8, not '9'"},
           Row{"blocks --shine yes -o /dev/null", "'--shine' is no option"},
           Row{"labels --tools 2 --layers 3 -o /dev/null", "above some of the first tool"},
           Row{"blocks --sequential yes --purge tower -o /dev/null", "neither with a tower"},
           Row{"blocks --purge chute --extruder-words yes -o /dev/null", "has no E"},
           Row{"blocks -o /nowhere/plate.gcode", "cannot write /nowhere/plate.gcode"},
       }) {
    SCOPED_TRACE(row.arguments);
    int status = 0;
    const std::string said =
        output_of(std::string(PLATE_MAKER) + " " + row.arguments + " 2>&1", &status);
    EXPECT_EQ(status, 2);
    EXPECT_NE(said.find(row.message), std::string::npos) << said;
  }
}

TEST(Size, GrowsByWholeLayers) {
  const std::string made = output_of(std::string(PLATE_MAKER) +
                                     " blocks --copies 3x3 --megabytes 2 -o /dev/stdout | wc -c");
  const long bytes = std::atol(made.c_str());
  EXPECT_GE(bytes, 2000000);
  EXPECT_LT(bytes, 2100000);
}

}  // namespace
}  // namespace plate_maker::test
