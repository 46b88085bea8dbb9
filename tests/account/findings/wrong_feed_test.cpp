// Tools and layers that come to less than no part, and material of which it is not certain what it
// is: what is said, where, and from which amount on.
#include "account/findings/wrong_feed.hpp"

#include <gtest/gtest.h>

#include "support/records.hpp"

namespace platetally::findings {
namespace {

using ledgers::LayerGrams;
using ledgers::LayerLedger;

LayerLedger ledger_of(const std::vector<interpreter::Record>& records, std::size_t tools = 2) {
  LayerLedger ledger(tools);
  for (const interpreter::Record& record : records)
    ledger.add(record, {});
  return ledger;
}

interpreter::Record drawn(double e_mm, std::uint64_t line, int tool = 0, std::uint32_t layer = 1) {
  interpreter::Record record = test::feed(e_mm, tool, layer);
  record.line = line;
  return record;
}

Account with_parts(const std::vector<double>& parts_g) {
  Account account;
  for (const double part_g : parts_g) {
    account.tools.emplace_back();
    account.tools.back().tool = static_cast<int>(account.tools.size()) - 1;
    account.tools.back().part_g = part_g;
  }
  return account;
}

LayerGrams grams(double part_g, double drawn_g = 0.0) {
  LayerGrams layer;
  layer.part_g = part_g;
  layer.drawn_g = drawn_g;
  return layer;
}

TEST(Feed, APlateThatFeedsMoreThanItDrawsIsSilent) {
  const LayerLedger ledger = ledger_of({drawn(-2.0, 3), drawn(2.0, 4)});
  EXPECT_TRUE(
      check_feed(with_parts({1.0, 0.0}), ledger, {grams(0.0), grams(1.0)}, {0.0, 0.2}).empty());
}

TEST(Feed, AToolThatDrawsBackMoreIsNamedWithItsDeepestRetraction) {
  const LayerLedger ledger = ledger_of({drawn(-2.0, 3, 1), drawn(-40.0, 8, 1), drawn(-5.0, 9, 1)});
  const std::vector<Diagnostic> warnings =
      check_feed(with_parts({1.0, -0.123}), ledger, {grams(0.0), grams(1.0)}, {0.0, 0.2});
  ASSERT_EQ(warnings.size(), 1U);
  EXPECT_EQ(warnings[0].code, "tool-part-negative");
  EXPECT_EQ(warnings[0].severity, Severity::warning);
  EXPECT_EQ(warnings[0].line, 8U);
  EXPECT_EQ(warnings[0].message,
            "tool 1 comes to -0.123 g of part: more is drawn back than fed, most at once 40 mm; "
            "expected 0 g or more; counted as it is");
}

TEST(Feed, RoundingIsNoFault) {
  const LayerLedger ledger = ledger_of({drawn(-2.0, 3)});
  EXPECT_TRUE(check_feed(with_parts({-1e-7}), ledger, {grams(0.0), grams(-1e-7)}, {}).empty());
  EXPECT_EQ(check_feed(with_parts({-2e-6}), ledger, {grams(0.0), grams(0.0)}, {}).size(), 1U);
}

// What is drawn back at the end of a layer comes back in the next one.
TEST(Feed, ALayerMayOweWhatItDrewBack) {
  const LayerLedger usual = ledger_of({drawn(-5.0, 3)});
  EXPECT_TRUE(check_feed(Account(), usual, {grams(0.0), grams(-0.01, -0.01)}, {}).empty());
  EXPECT_EQ(check_feed(Account(), usual, {grams(0.0), grams(-0.02, -0.01)}, {}).size(), 1U)
      << "it owes more than that";
  const LayerLedger long_ones = ledger_of({drawn(-100.0, 3)});
  EXPECT_EQ(check_feed(Account(), long_ones, {grams(0.0), grams(-0.01, -0.01)}, {}).size(), 1U)
      << "nobody draws back so much at once";
  const LayerLedger just_below = ledger_of({drawn(-99.0, 3)});
  EXPECT_TRUE(check_feed(Account(), just_below, {grams(0.0), grams(-0.01, -0.01)}, {}).empty());
}

TEST(Feed, LayersOfOneKindAreCountedAndTheFirstIsSaid) {
  const LayerLedger ledger = ledger_of({drawn(-300.0, 7, 0, 1), drawn(-400.0, 9, 0, 2)});
  const std::vector<Diagnostic> warnings =
      check_feed(Account(), ledger, {grams(0.0), grams(-0.5), grams(-0.7)}, {0.0, 0.2, 0.4});
  ASSERT_EQ(warnings.size(), 1U);
  EXPECT_EQ(warnings[0].code, "layer-part-negative");
  EXPECT_EQ(warnings[0].count, 2U);
  EXPECT_EQ(warnings[0].line, 7U);
  EXPECT_TRUE(warnings[0].message.starts_with("the layer at 0.20 mm comes to -0.5 g of part: "))
      << warnings[0].message;
  EXPECT_NE(warnings[0].message.find("most at once 300 mm"), std::string::npos);
}

TEST(Outside, IsSaidWhereAnythingIsDoubtful) {
  EXPECT_TRUE(check_outside(0.0).empty());
  EXPECT_TRUE(check_outside(-1.0).empty());
  const std::vector<Diagnostic> notes = check_outside(1.234);
  ASSERT_EQ(notes.size(), 1U);
  EXPECT_EQ(notes[0].code, "outside-area-doubtful");
  EXPECT_EQ(notes[0].severity, Severity::note);
  EXPECT_TRUE(notes[0].message.starts_with("1.23 g are laid outside the build area "))
      << notes[0].message;
}

TEST(Flushes, BelowAHundredthOfThePurgeAreNotWorthAWord) {
  EXPECT_TRUE(check_flushes(0.1, 10.0).empty());
  const std::vector<Diagnostic> notes = check_flushes(0.1001, 10.0);
  ASSERT_EQ(notes.size(), 1U);
  EXPECT_EQ(notes[0].code, "flush-doubtful");
  EXPECT_EQ(notes[0].severity, Severity::note);
  EXPECT_TRUE(notes[0].message.starts_with("0.1 g are fed at rest")) << notes[0].message;
  EXPECT_FALSE(check_flushes(1e-9, 0.0).empty()) << "where nothing else is purge, any is";
  EXPECT_TRUE(check_flushes(0.0, 0.0).empty());
}

}  // namespace
}  // namespace platetally::findings
