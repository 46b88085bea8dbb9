// Turns of the tools, from records made by hand.
#include "account/ledgers/turn_ledger.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "support/records.hpp"

namespace platetally::ledgers {
namespace {

using interpreter::Record;
using interpreter::RecordKind;
using swaps::Feed;
using swaps::Mark;
using swaps::Use;

struct Book {
  TurnLedger turns;

  void move(int tool, std::uint32_t layer, double e_mm, double length_mm, double seconds,
            const Feed& feed) {
    Record record{};
    record.kind = RecordKind::move;
    record.tool = static_cast<std::int16_t>(tool);
    record.layer = layer;
    record.move.e_mm = e_mm;
    record.move.to_mm = {length_mm, 0.0, 0.0};
    record.motion_s = seconds;
    turns.add_move(record, feed);
  }
  void part(int tool, std::uint32_t layer, double e_mm, double seconds) {
    move(tool, layer, e_mm, 10.0, seconds, {Use::part, Mark::none, e_mm, 0.0});
  }
  void travel(int tool, std::uint32_t layer, double seconds) {
    move(tool, layer, 0.0, 10.0, seconds, {});
  }
  void rest(int tool, std::uint32_t layer, double e_mm, double seconds, const Feed& feed = {}) {
    move(tool, layer, e_mm, 0.0, seconds, feed);
  }
  void swap(int from, int to, std::uint32_t layer, double own_s = 7.0) {
    Record record{};
    record.kind = RecordKind::select_tool;
    record.tool = static_cast<std::int16_t>(from);
    record.layer = layer;
    timeline::Duration duration;
    duration.time_s = Range::exactly(own_s);
    duration.swap = {timeline::Selection::swap, from, to};
    turns.add(record, duration, {});
  }
};

TEST(TurnLedger, ATurnEndsWithItsToolLayerOrSwap) {
  Book book;
  book.travel(0, 0, 1.0);
  book.part(0, 1, 5.0, 2.0);
  book.swap(0, 1, 1);
  book.travel(1, 1, 0.5);
  book.part(1, 1, 6.0, 3.0);
  book.part(1, 2, 7.0, 4.0);
  const std::vector<Turn> turns = book.turns.take();
  ASSERT_EQ(turns.size(), 5U);  // before anything; 0 in layer 0, 1; 1 in layer 1, 2
  EXPECT_EQ(turns[3].from, 0);
  EXPECT_EQ(turns[3].tool, 1);
  EXPECT_EQ(turns[3].segment, 1U);
  EXPECT_EQ(turns[3].landing_travel_s, 0.5);
  EXPECT_EQ(turns[3].print_s, 3.0);
  EXPECT_EQ(turns[3].motion_s(), 3.5);  // the swap's own seconds are the machine's
  EXPECT_EQ(turns[4].from, -1);
  EXPECT_EQ(turns[4].layer, 2U);
  EXPECT_EQ(turns[4].part_mm(), 7.0);
  EXPECT_EQ(turns[4].landing_travel_s, 0.0);
}

TEST(TurnLedger, PurgeBehindThePartIsFiller) {
  Book book;
  book.part(0, 1, 5.0, 2.0);
  book.swap(0, 1, 1);
  book.move(1, 1, 4.0, 10.0, 2.0, {Use::purge, Mark::comment, 4.0, 0.0});
  book.part(1, 1, 6.0, 3.0);
  book.move(1, 1, 3.0, 10.0, 1.5, {Use::purge, Mark::comment, 3.0, 0.0});
  const Turn turn = book.turns.take().back();
  EXPECT_EQ(turn.purge_mm, 4.0);
  EXPECT_EQ(turn.purge_s, 2.0);
  EXPECT_EQ(turn.filler_mm, 3.0);
  EXPECT_EQ(turn.filler_s, 1.5);
  EXPECT_EQ(turn.part_mm(), 6.0);
  EXPECT_TRUE(turn.purge_stands);
}

TEST(TurnLedger, AChuteDoesNotStand) {
  Book book;
  book.part(0, 1, 5.0, 2.0);
  book.swap(0, 1, 1);
  book.rest(1, 1, 8.0, 2.0, {Use::purge, Mark::at_rest, 7.5, 0.5});
  book.rest(1, 1, -0.8, 0.1);
  const Turn turn = book.turns.take().back();
  EXPECT_EQ(turn.purge_mm, 8.0);  // the first of it was part before the run had passed the bound
  EXPECT_FALSE(turn.purge_stands);
  EXPECT_NEAR(turn.rest_s, 0.1, 1e-12);
}

TEST(TurnLedger, ATowerIsTakenOutOfThePart) {
  Book book;
  book.part(0, 1, 5.0, 2.0);
  for (std::uint32_t layer = 1; layer <= 3; ++layer) {
    book.swap(layer % 2 == 1 ? 0 : 1, layer % 2 == 1 ? 1 : 0, layer);
    book.part(layer % 2 == 1 ? 1 : 0, layer, 6.0 + layer, 3.0);
  }
  const auto on_tower = [&](std::uint32_t segment, std::uint32_t layer, bool is_filler, double mm) {
    book.turns.recount({.layer = layer,
                        .mm = mm,
                        .print_s = 0.5 * mm,
                        .mark = swaps::Mark::tower,
                        .only_keeps_standing = is_filler,
                        .segment = segment});
  };
  on_tower(1, 1, false, 2.0);
  on_tower(2, 2, false, 2.0);
  on_tower(2, 2, true, 1.0);
  on_tower(0, 1, true, 1.0);  // below the first swap; out of order
  const std::vector<Turn> turns = book.turns.take();
  EXPECT_EQ(turns[2].purge_mm, 2.0);
  EXPECT_EQ(turns[2].print_s, 2.0);
  EXPECT_EQ(turns[3].purge_mm, 2.0);
  EXPECT_EQ(turns[3].filler_mm, 1.0);
  EXPECT_EQ(turns[3].filler_s, 0.5);
  EXPECT_EQ(turns[1].filler_mm, 1.0);
  EXPECT_EQ(turns[4].purge_mm, 0.0);
  EXPECT_TRUE(turns[3].purge_stands);
}

TEST(TurnLedger, WhatIsRecountedBelongsToATurnOfItsTool) {
  Book book;
  book.part(0, 1, 5.0, 2.0);
  book.swap(0, 1, 1);
  book.part(1, 1, 4.0, 2.0);
  book.turns.recount({.layer = 1,
                      .tool = 1,
                      .mm = 3.0,
                      .print_s = 1.5,
                      .mark = swaps::Mark::place,
                      .from = 0,
                      .to = 1});
  book.turns.recount({.layer = 1, .tool = 0, .mm = 1.0, .is = swaps::Use::start_up});
  book.turns.recount({.layer = 1, .tool = 1, .mm = 2.0});  // more than is left: of no turn
  const std::vector<Turn> turns = book.turns.take();
  EXPECT_EQ(turns[1].start_up_mm, 1.0);
  EXPECT_EQ(turns[1].part_mm(), 4.0);
  EXPECT_EQ(turns[2].purge_mm, 3.0);
  EXPECT_EQ(turns[2].purge_s, 1.5);
  EXPECT_EQ(turns[2].print_s, 0.5);
  EXPECT_FALSE(turns[2].purge_stands);
}

// The part ends at x 10; the tower lies at x 100, the next part at x 30. The way back is 70 mm
// long, straight from part to part it is 20 mm.
TEST(TurnLedger, TheWayFromATowerIsHeldAgainstTheStraightOne) {
  Book book;
  const auto go = [&](int tool, double from_mm, double to_mm, double e_mm, double feed_mm_s,
                      const Feed& feed) {
    Record record{};
    record.kind = RecordKind::move;
    record.tool = static_cast<std::int16_t>(tool);
    record.layer = 1;
    record.move.from_mm = {from_mm, 0.0, 0.2};
    record.move.to_mm = {to_mm, 0.0, 0.2};
    record.move.e_mm = e_mm;
    record.move.feed_mm_s = feed_mm_s;
    record.motion_s = std::abs(to_mm - from_mm) / feed_mm_s;
    book.turns.add_move(record, feed);
  };
  const Feed part{Use::part, Mark::none, 1.0, 0.0};
  go(0, 0.0, 10.0, 1.0, 50.0, part);
  book.swap(0, 1, 1);
  go(1, 10.0, 100.0, 0.0, 200.0, {});
  go(1, 100.0, 110.0, 1.0, 50.0, {Use::purge, Mark::comment, 1.0, 0.0});
  go(1, 110.0, 100.0, 1.0, 50.0, {Use::purge, Mark::comment, 1.0, 0.0});
  go(1, 100.0, 30.0, 0.0, 200.0, {});
  go(1, 30.0, 40.0, 1.0, 50.0, part);
  go(1, 40.0, 45.0, 0.0, 200.0, {});
  const Turn turn = book.turns.take().back();
  EXPECT_NEAR(turn.way_mm, 70.0, 1e-4);
  EXPECT_NEAR(turn.way_s, 0.35, 1e-6);
  EXPECT_NEAR(turn.way_feed_mm_s, 200.0, 1e-4);
  EXPECT_NEAR(turn.direct_mm, 20.0, 1e-4);
}

TEST(TurnLedger, ManyTurnsAreNotKept) {
  Book book;
  for (std::size_t i = 0; i <= TurnLedger::kMostTurns; ++i)
    book.part(static_cast<int>(i % 2), 1, 1.0, 1.0);
  EXPECT_LE(book.turns.current(), TurnLedger::kMostTurns);
  EXPECT_TRUE(book.turns.take().empty());
}

}  // namespace
}  // namespace platetally::ledgers
