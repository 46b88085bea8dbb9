// One plate in many writings: units, modes, offsets, line numbers and remarks change no move.
#include <gtest/gtest.h>

#include <random>

#include "support.hpp"
#include "support/test_names.hpp"

namespace platetally::interpreter::test {
namespace {

struct Stroke {
  double x_mm, y_mm, z_mm, e_mm, feed_mm_min;
};

/// Layers of strokes, travels and retractions; coordinates of three digits.
std::vector<Stroke> any_plate(unsigned seed) {
  std::mt19937 random(seed);
  const auto tick = [&random](unsigned below) {
    return 0.001 * static_cast<double>(random() % below);
  };
  std::vector<Stroke> strokes;
  for (int layer = 1; layer <= 6; ++layer) {
    strokes.push_back({20 + tick(200'000), 20 + tick(200'000), 0.2 * layer, 0.0, 6000});
    for (int i = 0; i < 40; ++i) {
      const bool retracts = random() % 8 == 0;
      const Stroke& last = strokes.back();
      if (retracts)
        strokes.push_back({last.x_mm, last.y_mm, last.z_mm, random() % 2 == 0 ? -0.8 : 0.8, 1800});
      else
        strokes.push_back({20 + tick(200'000), 20 + tick(200'000), last.z_mm,
                           random() % 4 == 0 ? 0.0 : 0.01 + tick(3000),
                           1200.0 + tick(3000) * 1000});
    }
  }
  return strokes;
}

struct Writing {
  const char* name;
  bool inches = false;
  bool relative = false;    ///< G91
  bool relative_e = false;  ///< M83
  double offset_mm = 0.0;   ///< G92 X Y
  bool numbered = false;    ///< with checksums
  bool remarked = false;
  bool in_lower_case = false;
  bool resets_e = false;
};

std::string written(const std::vector<Stroke>& strokes, const Writing& writing) {
  const double unit_mm = writing.inches ? 25.4 : 1.0;
  std::string text = writing.inches ? "G20\n" : "G21\n";
  text += "G90\nG1 X0 Y0 Z0 F6000\n";
  text += writing.relative_e ? "M83\n" : "M82\nG92 E0\n";
  if (writing.offset_mm != 0.0)
    text += fmt::format("G92 X{:.12f} Y{:.12f}\n", writing.offset_mm / unit_mm,
                        writing.offset_mm / unit_mm);
  text += writing.relative ? (writing.relative_e ? "G91\n" : "G91\nM82\n") : "";
  Stroke last{0, 0, 0, 0, 0};
  double e_mm = 0.0;
  std::size_t number = 0;
  for (const Stroke& stroke : strokes) {
    const auto coordinate = [&](double to_mm, double from_mm, double offset_mm) {
      return (writing.relative ? to_mm - from_mm : to_mm + offset_mm) / unit_mm;
    };
    e_mm += stroke.e_mm;
    std::string line =
        fmt::format("G1 X{:.12f} Y{:.12f} Z{:.12f} F{:.12f}",
                    coordinate(stroke.x_mm, last.x_mm, writing.offset_mm),
                    coordinate(stroke.y_mm, last.y_mm, writing.offset_mm),
                    coordinate(stroke.z_mm, last.z_mm, 0), stroke.feed_mm_min / unit_mm);
    if (stroke.e_mm != 0.0)
      line += fmt::format(" E{:.12f}", (writing.relative_e ? stroke.e_mm : e_mm) / unit_mm);
    if (writing.in_lower_case)
      for (char& c : line)
        c = static_cast<char>(std::tolower(c));
    if (writing.numbered) {
      line = fmt::format("N{} {}", ++number, line);
      unsigned sum = 0;
      for (const char c : line)
        sum ^= static_cast<unsigned char>(c);
      line += fmt::format("*{}", sum);
    }
    if (writing.remarked)
      line += " ; a seed tray tag\n\n; another remark";
    text += line + "\n";
    if (writing.resets_e && !writing.relative_e && e_mm > 20.0) {
      text += "G92 E0\n";
      e_mm = 0.0;
    }
    last = stroke;
  }
  return text;
}

class OnePlate : public testing::TestWithParam<Writing> {};

TEST_P(OnePlate, HasTheSameMovesInEveryWriting) {
  for (unsigned seed = 1; seed <= 5; ++seed) {
    SCOPED_TRACE(seed);
    const std::vector<Stroke> strokes = any_plate(seed);
    const auto plain = run(written(strokes, {"plain"}), machine());
    const auto other = run(written(strokes, GetParam()), machine());
    const auto expected = plain.moves(), found = other.moves();
    ASSERT_EQ(found.size(), expected.size());
    for (std::size_t i = 0; i < expected.size(); ++i) {
      for (std::size_t axis = 0; axis < 3; ++axis)
        ASSERT_NEAR(found[i].move.to_mm[axis], expected[i].move.to_mm[axis], 1e-6) << i;
      ASSERT_NEAR(found[i].move.e_mm, expected[i].move.e_mm, 1e-6) << i;
      ASSERT_NEAR(found[i].move.feed_mm_s, expected[i].move.feed_mm_s, 1e-6) << i;
      ASSERT_EQ(found[i].layer, expected[i].layer) << i;
      ASSERT_EQ(found[i].tool, expected[i].tool);
    }
    ASSERT_EQ(other.heights_mm.size(), plain.heights_mm.size());
    // What a controller makes of E there, a plate does not say.
    const bool leaves_doubt = GetParam().relative && !GetParam().relative_e;
    EXPECT_EQ(other.diagnostics.size(), leaves_doubt ? 1U : 0U);
  }
}

INSTANTIATE_TEST_SUITE_P(
    In, OnePlate,
    testing::Values(Writing{.name = "relative filament", .relative_e = true},
                    Writing{.name = "relative distances", .relative = true},
                    Writing{.name = "relative everything", .relative = true, .relative_e = true},
                    Writing{.name = "inches", .inches = true},
                    Writing{.name = "inches and relative",
                            .inches = true,
                            .relative = true,
                            .relative_e = true},
                    Writing{.name = "an offset", .offset_mm = 37.5},
                    Writing{.name = "an offset in inches", .inches = true, .offset_mm = -12.7},
                    Writing{.name = "numbered lines", .numbered = true},
                    Writing{.name = "remarks", .remarked = true},
                    Writing{.name = "lower case", .in_lower_case = true},
                    Writing{.name = "resets of filament", .resets_e = true},
                    Writing{.name = "all at once",
                            .inches = true,
                            .relative_e = true,
                            .offset_mm = 25.4,
                            .numbered = true,
                            .remarked = true,
                            .in_lower_case = true}),
    [](const auto& writing) { return platetally::test::readable(writing.param.name); });

}  // namespace
}  // namespace platetally::interpreter::test
