#include <gtest/gtest.h>

#include "account/ledgers/layer_ledger.hpp"
#include "account/ledgers/time_ledger.hpp"
#include "support/records.hpp"

namespace platetally::ledgers {
namespace {

using test::move;

struct Step {
  interpreter::Record record;
  timeline::Duration duration;
  swaps::Feed feed;
};

/// A little plate of two layers and two tools, with a swap and some purge.
std::vector<Step> steps() {
  std::vector<Step> plate;
  const auto add = [&plate](interpreter::Record record, swaps::Use use, timeline::Cause cause,
                            Range time_s, timeline::Swap swap = {}) {
    swaps::Feed feed;
    feed.use = use;
    feed.fresh_mm = std::max(0.0, record.move.e_mm);
    plate.push_back({record, {time_s, cause, {}, {}, swap}, feed});
  };
  for (std::uint32_t layer = 1; layer <= 2; ++layer) {
    add(move({0, 0, 0.2}, {9, 0, 0.2}, 0.5, 0.25, 0, layer), swaps::Use::part,
        timeline::Cause::motion, Range::exactly(0.25));
    add(move({9, 0, 0.2}, {0, 0, 0.2}, 0.0, 0.125, 0, layer), swaps::Use::none,
        timeline::Cause::motion, Range::exactly(0.125));
    auto selection = test::select(layer == 1 ? 1 : 0, 0, layer);
    plate.push_back({selection,
                     {{5, 7, 9}, timeline::Cause::swap, {}, {}, {timeline::Selection::swap, 0, 1}},
                     {}});
    add(move({50, 0, 0.2}, {59, 0, 0.2}, 2.0, 0.5, 1, layer), swaps::Use::purge,
        timeline::Cause::motion, Range::exactly(0.5));
  }
  return plate;
}

TEST(TimeLedger, EverySecondLandsInOneClassOfOneLayer) {
  TimeLedger ledger;
  for (const Step& step : steps())
    ledger.add(step.record, step.duration, step.feed);
  ASSERT_EQ(ledger.layers().size(), 3U);
  const TimeBy& layer = ledger.layers()[1];
  EXPECT_DOUBLE_EQ(layer.print_s, 0.25);
  EXPECT_DOUBLE_EQ(layer.travel_s, 0.125);
  EXPECT_DOUBLE_EQ(layer.swap_s, 7.5);  // the machine's seven seconds and the purge it lays
  EXPECT_DOUBLE_EQ(ledger.total().expected, 2 * layer.sum_s());
  EXPECT_DOUBLE_EQ(ledger.total().low, ledger.total().expected - 4);
  EXPECT_DOUBLE_EQ(ledger.total().high, ledger.total().expected + 4);
  EXPECT_EQ(ledger.of_cause(timeline::Cause::swap), (Range{10, 14, 18}));
}

TEST(TimeLedger, TheSpanOfThePrintBeginsAtItsMarkAndLeavesOutWhatLogsLeaveOut) {
  using timeline::Cause;
  TimeLedger ledger;
  const auto add = [&](Cause cause, Range time_s, Range start_s = {}) {
    timeline::Duration duration;
    duration.time_s = time_s;
    duration.cause = cause;
    duration.start_s = start_s;
    ledger.add(test::event(interpreter::RecordKind::dwell, 0.0), duration, {});
  };
  add(Cause::motion, {17, 17, 17}, {10, 10, 10});
  add(Cause::homing, {20, 30, 40});
  EXPECT_EQ(ledger.of_print(), Range{}) << "nothing is extruded yet";
  EXPECT_EQ(ledger.print_motion_band(), Range{});
  ledger.begin_print();
  add(Cause::motion, {100, 100, 100});
  ledger.begin_print();  // the first one counts
  add(Cause::swap, {5, 7, 9});
  add(Cause::probing, {60, 90, 120});
  add(Cause::pause, {600, 900, 1200});
  add(Cause::start_and_end, {1, 2, 3});
  EXPECT_EQ(ledger.of_print(), (Range{106, 109, 112}));
  EXPECT_NEAR(ledger.print_motion_band().low, -0.012 * 100, 1e-12);
  EXPECT_NEAR(ledger.print_motion_band().high, 0.012 * 100 + 3.0, 1e-12);
  EXPECT_NEAR(ledger.motion_band().high, 0.012 * 107 + 3.0, 1e-12);
}

TEST(LayerLedger, SwapsAndToolsByFirstAppearance) {
  LayerLedger ledger(2);
  for (const Step& step : steps())
    ledger.add(step.record, step.duration.swap);
  const LayerRow& row = ledger.layers()[1];
  EXPECT_EQ(row.swaps, 1U);
  EXPECT_EQ(row.order, (std::vector<int>{0, 1}));
}

TEST(LayerLedger, ALayerBeginsAtTheFirstLineThatLaysMaterial) {
  const auto laid = [](std::uint32_t layer, std::uint64_t line, double e_mm) {
    interpreter::Record record = move({0, 0, 0.2}, {9, 0, 0.2}, e_mm, 0.25, 0, layer);
    record.line = line;
    return record;
  };
  LayerLedger ledger(1);
  ledger.add(laid(1, 39, 0.0), {});  // travel
  ledger.add(laid(1, 40, 0.5), {});
  ledger.add(laid(2, 70, 0.5), {});
  ledger.add(laid(1, 90, 0.5), {});  // another object's
  EXPECT_EQ(ledger.layers()[0].first_line, 0U);
  EXPECT_EQ(ledger.layers()[1].first_line, 40U);
  EXPECT_EQ(ledger.layers()[2].first_line, 70U);
}

/// Layer 2: 0.5 mm of part and 0.3 of a return that is still owed by tool 0, purge of tool 1.
swaps::MaterialBook filled_book() {
  swaps::MaterialBook book(2);
  book.add(2, 0, swaps::Use::part, 0.5);
  book.add(2, 0, swaps::Use::none, -0.3);
  book.add(2, 1, swaps::Use::purge, 2.0);
  book.add_hidden(2, 1, 10.0);
  return book;
}

TEST(LayerGrams, EveryToolsFilamentByUse) {
  const LayerGrams grams = grams_of_layer(filled_book(), 2, {0.003, 0.004});
  EXPECT_NEAR(grams.part_g, 0.2 * 0.003, 1e-15);
  EXPECT_NEAR(grams.drawn_g, -0.3 * 0.003, 1e-15);
  EXPECT_NEAR(grams.purge_g, 12.0 * 0.004, 1e-15);
  EXPECT_EQ(grams.start_up_g, 0.0);
  EXPECT_EQ(grams_of_layer(filled_book(), 7, {0.003, 0.004}).purge_g, 0.0);  // no such layer
}

TEST(LayerGrams, OwesOnlyWhatIsUsuallyDrawnBack) {
  swaps::MaterialBook book(1);
  book.add(1, 0, swaps::Use::part, 0.5);
  book.add(1, 0, swaps::Use::none, -2.0);
  const LayerGrams grams = grams_of_layer(book, 1, {0.003});
  EXPECT_LT(grams.part_g, 0.0);
  EXPECT_TRUE(grams.owes_only_retraction({-2.0, 1}));
  EXPECT_FALSE(grams.owes_only_retraction({-101.0, 1}));
}

TEST(Ledgers, WhatIsMovedToPurgeLeavesTheSumsAlone) {
  TimeLedger time;
  for (const Step& step : steps())
    time.add(step.record, step.duration, step.feed);
  const double seconds = time.layers()[1].sum_s();
  time.move_to_swap(1, 0.25);
  EXPECT_DOUBLE_EQ(time.layers()[1].sum_s(), seconds);
  EXPECT_DOUBLE_EQ(time.layers()[1].print_s, 0.0);
  swaps::MaterialBook book = filled_book();
  book.move(2, 0, swaps::Use::part, swaps::Use::purge, 0.5);
  EXPECT_DOUBLE_EQ(book.at(2, 0).fed_mm(), filled_book().at(2, 0).fed_mm());
  EXPECT_DOUBLE_EQ(book.at(2, 0).of(swaps::Use::purge), 0.5);
  EXPECT_DOUBLE_EQ(book.at(2, 0).of(swaps::Use::part), 0.0);
}

}  // namespace
}  // namespace platetally::ledgers
