// Prints and tallies of a history: laws of what is the same print, the latest tally, and what is
// refused.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <random>

#include "meter/history/store.hpp"
#include "support/temp_folder.hpp"

namespace platetally::history {
namespace {

Setting setting(const std::string& hash) {
  return {hash, "machine of " + hash, "described " + hash, "1.0", "colours red"};
}

Print print_at(std::int64_t finished_s, double time_s = 1000.0) {
  Print print;
  print.content = "c1";
  print.setting = setting("s1");
  print.finished_s = finished_s;
  print.origin = "by hand";
  print.path = "fern\xff house.gcode";
  print.time_s = time_s;
  return print;
}

class Prints : public testing::Test {
 protected:
  std::vector<Print> since(std::int64_t since_s) {
    std::vector<Print> all;
    store_.prints_since(since_s, [&](const Print& one) { all.push_back(one); });
    return all;
  }

  test::TempFolder folder_;
  Store store_{(folder_.path() / "h.sqlite").string()};
};

TEST_F(Prints, KeepEveryFigure) {
  Print kept = print_at(5000, 1234.5);
  kept.member = "plate 2";
  kept.unit = "the left one";
  kept.logged_s = 6000;
  kept.failed = true;
  kept.share_used = 0.3;
  kept.good_parts = 7;
  kept.swaps = 12;
  kept.part_g = 31.25;
  kept.purge_g = 4.5;
  kept.energy_wh = 210.0;
  kept.cost = 2.75;
  kept.currency = "EUR";
  store_.keep_print(kept);
  const Print one = since(0).at(0);
  EXPECT_EQ(one.content, kept.content);
  EXPECT_EQ(one.member, kept.member);
  EXPECT_EQ(one.setting.machine, kept.setting.machine);
  EXPECT_EQ(one.setting.machine_hash, kept.setting.machine_hash);
  EXPECT_EQ(one.setting.version, kept.setting.version);
  EXPECT_EQ(one.setting.options, kept.setting.options);
  EXPECT_EQ(one.unit, kept.unit);
  EXPECT_EQ(one.finished_s, 5000);
  EXPECT_EQ(one.logged_s, 6000);
  EXPECT_EQ(one.path, kept.path) << "bytes that are no text";
  EXPECT_TRUE(one.failed);
  EXPECT_EQ(one.share_used, 0.3);
  EXPECT_EQ(one.good_parts, 7U);
  EXPECT_EQ(one.time_s, 1234.5);
  EXPECT_EQ(one.swaps, 12.0);
  EXPECT_EQ(one.part_g, 31.25);
  EXPECT_EQ(one.purge_g, 4.5);
  EXPECT_EQ(one.energy_wh, 210.0);
  EXPECT_EQ(one.cost, 2.75);
  EXPECT_EQ(one.currency, "EUR");
}

TEST_F(Prints, WhatIsNotKnownIsNoNumber) {
  Print kept = print_at(5000);
  const double not_known = std::numeric_limits<double>::quiet_NaN();
  kept.time_s = kept.swaps = kept.part_g = kept.purge_g = kept.energy_wh = kept.cost = not_known;
  store_.keep_print(kept);
  const Print one = since(0).at(0);
  for (const double figure :
       {one.time_s, one.swaps, one.part_g, one.purge_g, one.energy_wh, one.cost})
    EXPECT_TRUE(std::isnan(figure));
  EXPECT_FALSE(one.good_parts);
  EXPECT_FALSE(one.failed);
  EXPECT_TRUE(one.currency.empty());
}

TEST_F(Prints, ComeInTheOrderOfTheirEnds) {
  for (const std::int64_t finished_s : {700, 100, 500, 300})
    store_.keep_print(print_at(finished_s));
  std::vector<std::int64_t> ends_s;
  for (const Print& one : since(300))
    ends_s.push_back(one.finished_s);
  EXPECT_EQ(ends_s, (std::vector<std::int64_t>{300, 500, 700})) << "that very second too";
  EXPECT_TRUE(since(701).empty());
}

TEST_F(Prints, TheVerySamePrintTwiceIsRefused) {
  store_.keep_print(print_at(5000));
  EXPECT_THROW(store_.keep_print(print_at(5000)), HistoryError);
  EXPECT_EQ(since(0).size(), 1U);
  Print other = print_at(5000);
  other.origin = "log plug.csv";
  EXPECT_NO_THROW(store_.keep_print(other));
}

// Whichever of the two was logged first.
TEST_F(Prints, BeingTheSameDoesNotHangOnTheOrder) {
  std::mt19937 random(3);
  std::uniform_int_distribution<int> apart(0, 900), time(0, 2000), tenths(1, 10), coin(0, 1);
  int same = 0;
  for (int round = 0; round < 60; ++round) {
    Print a = print_at(100'000, time(random)), b = print_at(100'000 + apart(random), time(random));
    a.failed = coin(random) != 0;
    b.failed = coin(random) != 0;
    a.share_used = 0.1 * tenths(random);
    b.share_used = 0.1 * tenths(random);
    a.content = b.content = "c" + std::to_string(round);
    store_.keep_print(a);
    const bool forth = store_.same_print(b).has_value();
    a.content = b.content = "d" + std::to_string(round);
    store_.keep_print(b);
    EXPECT_EQ(store_.same_print(a).has_value(), forth) << round;
    same += forth ? 1 : 0;
  }
  EXPECT_GT(same, 5);
  EXPECT_LT(same, 55);
}

TEST_F(Prints, ThoseThatDifferInWhatTheyAreAreNeverTheSame) {
  store_.keep_print(print_at(5000));
  EXPECT_TRUE(store_.same_print(print_at(5000)));
  const auto differs = [&](const auto& change) {
    Print other = print_at(5000);
    change(other);
    return !store_.same_print(other).has_value();
  };
  EXPECT_TRUE(differs([](Print& one) { one.content = "c2"; }));
  EXPECT_TRUE(differs([](Print& one) { one.member = "plate 2"; }));
  EXPECT_TRUE(differs([](Print& one) { one.unit = "2"; }));
  EXPECT_TRUE(differs([](Print& one) { one.setting.machine = "another"; }));
  EXPECT_FALSE(differs([](Print& one) { one.setting.options = "others"; })) << "a print is a print";
  EXPECT_FALSE(differs([](Print& one) { one.path = "elsewhere.gcode"; }));
}

TEST_F(Prints, OfSeveralTheNearestIsTheSame) {
  for (const std::int64_t finished_s : {9'600, 10'000, 10'450})
    store_.keep_print(print_at(finished_s));
  EXPECT_EQ(store_.same_print(print_at(10'180))->finished_s, 10'000);
  EXPECT_EQ(store_.same_print(print_at(10'280))->finished_s, 10'450);
  EXPECT_EQ(store_.same_print(print_at(9'700))->finished_s, 9'600);
}

TEST_F(Prints, OfUnknownLengthOnlyTheSameSecondIsTheSame) {
  store_.keep_print(print_at(10'000, std::numeric_limits<double>::quiet_NaN()));
  EXPECT_TRUE(store_.same_print(print_at(10'000)));
  EXPECT_FALSE(store_.same_print(print_at(10'001)));
}

TEST_F(Prints, FromOneOriginTheFirstIsFound) {
  for (const std::int64_t finished_s : {700, 300, 500})
    store_.keep_print(print_at(finished_s));
  EXPECT_EQ(store_.print_from(print_at(99))->finished_s, 300);
  Print other = print_at(99);
  other.member = "plate 2";
  EXPECT_FALSE(store_.print_from(other));
}

constexpr source::FileState kState{100, 5};

TEST_F(Prints, TheLastTallyIsThatOfTheMachineOrOfAny) {
  store_.keep("a.gcode", kState, "c1", setting("s1"), {"first"}, 100);
  store_.keep("b.gcode", kState, "c1", setting("s2"), {"second"}, 200);
  EXPECT_EQ(store_.last_tally("c1", "")->records, std::vector<std::string>{"second"});
  const auto of_first = store_.last_tally("c1", "described s1");
  ASSERT_TRUE(of_first);
  EXPECT_EQ(of_first->records, std::vector<std::string>{"first"});
  EXPECT_EQ(of_first->setting, setting("s1"));
  EXPECT_EQ(of_first->path, "a.gcode");
  EXPECT_EQ(of_first->first_s, 100);
  EXPECT_EQ(of_first->content, "c1");
  EXPECT_FALSE(store_.last_tally("c1", "described s3"));
  EXPECT_FALSE(store_.last_tally("c2", ""));
  // What was tallied anew, with another result, is the last.
  store_.keep("a.gcode", kState, "c1", setting("s1"), {"again"}, 300);
  EXPECT_EQ(store_.last_tally("c1", "")->records, std::vector<std::string>{"again"});
  EXPECT_EQ(store_.last_tally("c1", "")->first_s, 100) << "it was known all along";
}

TEST_F(Prints, MachinesAreCountedByTheirDescription) {
  EXPECT_EQ(store_.machines_of("c1"), 0U);
  store_.keep("a.gcode", kState, "c1", setting("s1"), {"r"}, 100);
  Setting same = setting("s2");
  same.machine_hash = setting("s1").machine_hash;
  store_.keep("a.gcode", kState, "c1", same, {"r"}, 100);
  EXPECT_EQ(store_.machines_of("c1"), 1U) << "two settings of one machine";
  store_.keep("a.gcode", kState, "c1", setting("s3"), {"r"}, 100);
  EXPECT_EQ(store_.machines_of("c1"), 2U);
}

TEST_F(Prints, AFileThatChangedHasItsNewContent) {
  store_.keep("a.gcode", kState, "c1", setting("s1"), {"r"}, 100);
  store_.keep("a.gcode", {100, 6}, "c2", setting("s1"), {"r"}, 200);
  EXPECT_FALSE(store_.content_at("a.gcode", kState)) << "it is that no longer";
  EXPECT_EQ(store_.content_at("a.gcode", {100, 6}), "c2");
  EXPECT_FALSE(store_.content_at("b.gcode", {100, 6}));
  EXPECT_TRUE(store_.find("c1", "s1")) << "what was tallied stays";
}

TEST_F(Prints, ATallyOfNoPlatesIsOneAllTheSame) {
  store_.keep("a.gcode", kState, "c1", setting("s1"), {}, 100);
  ASSERT_TRUE(store_.find("c1", "s1"));
  EXPECT_TRUE(store_.find("c1", "s1")->empty());
}

TEST_F(Prints, ASettingIsKnownByItsLatestWords) {
  Setting first = setting("s1");
  store_.keep("a.gcode", kState, "c1", first, {"r"}, 100);
  first.version = "2.0";
  first.options = "colours blue";
  store_.keep("b.gcode", kState, "c2", first, {"r"}, 200);
  EXPECT_EQ(store_.last_tally("c1", "")->setting.version, "2.0");
  EXPECT_EQ(store_.last_tally("c1", "")->setting.options, "colours blue");
}

TEST_F(Prints, MeasurementsAreOfTheLatestAndWithoutAPredictionNoNumber) {
  const auto measure = [&](const char* content, const char* key, double predicted, double measured,
                           std::int64_t at_s) {
    store_.keep_measured({content, setting("s1"), key, predicted, measured, at_s, "scale"});
  };
  measure("c2", "purge_g", std::numeric_limits<double>::quiet_NaN(), 4.0, 10);
  measure("c1", "time_s", 100.0, 110.0, 30);
  measure("c1", "time_s", 100.0, 120.0, 20);
  measure("c1", "purge_g", 3.0, 5.0, 10);
  measure("c1", "purge_g", 3.0, 6.0, 10);  // the same moment: what was said last
  std::size_t unknown = 0;
  const std::vector<Measured> all = store_.measured("machine of s1", unknown);
  ASSERT_EQ(all.size(), 3U);
  EXPECT_EQ(all[0].content, "c1");
  EXPECT_EQ(all[0].key, "purge_g");
  EXPECT_EQ(all[0].measured, 6.0);
  EXPECT_EQ(all[1].content, "c2");
  EXPECT_TRUE(std::isnan(all[1].predicted));
  EXPECT_EQ(all[2].measured, 110.0) << "by when it was measured, not by when it was kept";
}

}  // namespace
}  // namespace platetally::history
