#include "motion/timeline/heat_log_builder.hpp"

#include <gtest/gtest.h>

#include <numeric>

#include "base/units.hpp"
#include "support/records.hpp"

namespace platetally::timeline {
namespace {

using test::event;
using test::feed;
using test::move;
using test::RecordKind;
using test::select;

class Builder {
 public:
  explicit Builder(const Machine& machine) : durations_(machine), builder_(machine) {}
  Builder& operator<<(const interpreter::Record& timed) {
    const bool feeds = timed.kind == RecordKind::move;
    const double fresh_mm = feeds && !timed.move.is_stationary() ? timed.move.e_mm : 0.0;
    builder_.take(timed, durations_.of(timed), fresh_mm);
    return *this;
  }
  HeatLog log() { return builder_.finish(); }

 private:
  Durations durations_;
  HeatLogBuilder builder_;
};

Machine two_tools() {
  Machine machine;
  machine.heads = {Head{}, Head{}};
  machine.tools = {Tool{}, Tool{}};
  machine.tools[1].head = 1;
  return machine;
}

template <typename Member>
double sum(const HeatLog& log, Member member) {
  return std::accumulate(
      log.events.begin(), log.events.end(), 0.0,
      [member](double total, const HeatEvent& one) { return total + one.*member; });
}

TEST(HeatLogBuilder, SpansHoldAllSecondsAndAllFreshFilament) {
  const Machine machine = two_tools();
  Builder builder(machine);
  for (int i = 0; i < 100; ++i)
    builder << move({0, 0, 0.2}, {5, 0, 0.2}, 0.5, 0.13) << feed(-0.8) << feed(0.8);
  const HeatLog log = builder.log();
  EXPECT_NEAR(sum(log, &HeatEvent::duration_s), 100 * (0.13 + 0.2), 1e-9);
  EXPECT_NEAR(sum(log, &HeatEvent::volume_mm3), 50 * base::filament_area_mm2(1.75), 1e-9);
  for (const HeatEvent& span : log.events)
    EXPECT_LT(span.duration_s, 1.0 + 0.13 + 1e-9);
}

TEST(HeatLogBuilder, SpansAreCutWhereAnotherLayerOrToolPays) {
  const Machine machine = two_tools();
  Builder builder(machine);
  builder << move({0, 0, 0.2}, {5, 0, 0.2}, 0.5, 0.3, 0, 1)
          << move({0, 0, 0.4}, {5, 0, 0.4}, 0.5, 0.3, 0, 2)
          << move({0, 0, 0.4}, {5, 0, 0.4}, 0.5, 0.3, 1, 2);
  const HeatLog log = builder.log();
  ASSERT_EQ(log.events.size(), 3U);
  EXPECT_EQ(log.events[0].layer, 1U);
  EXPECT_EQ(log.events[1].layer, 2U);
  EXPECT_EQ(log.events[2].tool, 1);
}

TEST(HeatLogBuilder, ASetPointOverwrittenAtOnceLeavesNoTrace) {
  const Machine machine = two_tools();
  Builder builder(machine);
  builder << event(RecordKind::set_heater, 50) << event(RecordKind::set_heater, 60)
          << move({0, 0, 0.2}, {5, 0, 0.2}, 0.5, 0.3) << event(RecordKind::set_heater, 70);
  const HeatLog log = builder.log();
  ASSERT_EQ(log.events.size(), 3U);
  EXPECT_DOUBLE_EQ(log.events[0].value, 60.0);
  EXPECT_EQ(log.events[1].kind, HeatEventKind::span);
  EXPECT_DOUBLE_EQ(log.events[2].value, 70.0);
}

TEST(HeatLogBuilder, HiddenPurgeIsMeltedByTheToolThatComes) {
  Machine machine = two_tools();
  machine.swap.hidden_purge_mm3 = 120;
  machine.swap.head_change_s = {7, 7, 7};
  Builder builder(machine);
  builder << move({0, 0, 0.2}, {5, 0, 0.2}, 0.5, 0.3) << select(1, 0);
  const HeatLog log = builder.log();
  ASSERT_EQ(log.events.size(), 3U);
  EXPECT_EQ(log.events[1].kind, HeatEventKind::take_tool);
  EXPECT_EQ(log.events[2].tool, 1);
  EXPECT_DOUBLE_EQ(log.events[2].volume_mm3, 120.0);
  EXPECT_DOUBLE_EQ(log.events[2].duration_s, 7.0);
}

TEST(HeatLogBuilder, FootprintIsKeptByLayer) {
  Machine machine = two_tools();
  machine.bed.rows = machine.bed.columns = 2;
  machine.bed.width_mm = machine.bed.depth_mm = 200;
  Builder builder(machine);
  builder << move({10, 10, 0.2}, {20, 10, 0.2}, 0.5, 0.3, 0, 1)
          << move({10, 10, 0.2}, {150, 150, 0.2}, 0.0, 0.3, 0, 1)  // travel touches nothing
          << move({150, 150, 0.4}, {160, 150, 0.4}, 0.5, 0.3, 0, 2);
  const HeatLog log = builder.log();
  ASSERT_EQ(log.footprint_by_layer.size(), 3U);
  EXPECT_EQ(log.footprint_by_layer[1], 1U);
  EXPECT_EQ(log.footprint_by_layer[2], 8U);
}

TEST(HeatLogBuilder, TheLogStaysBoundedAndLosesNoSecond) {
  const Machine machine = two_tools();
  Builder builder(machine);
  constexpr int kMoves = 1'500'000;
  for (int i = 0; i < kMoves; ++i)
    builder << move({0, 0, 0.2}, {50, 0, 0.2}, 0.5, 1.0);
  const HeatLog log = builder.log();
  EXPECT_LE(log.events.size(), std::size_t{1} << 18);
  EXPECT_NEAR(sum(log, &HeatEvent::duration_s), kMoves, 1e-6 * kMoves);
}

TEST(HeatLogBuilder, APlateOfNothingButSettingsIsBoundedAndSaysSo) {
  const Machine machine = two_tools();
  Builder builder(machine);
  for (int i = 0; i < 1'000'000; ++i)
    builder << event(RecordKind::set_heater, 50 + i % 7)
            << move({0, 0, 0.2}, {5, 0, 0.2}, 0.5, 1e-4, 0, static_cast<std::uint32_t>(1 + i % 2));
  const HeatLog log = builder.log();
  EXPECT_LE(log.events.size(), std::size_t{1} << 19);
  EXPECT_GT(log.left_out, 0U);
  EXPECT_NEAR(sum(log, &HeatEvent::duration_s), 100.0, 1e-6);
}

}  // namespace
}  // namespace platetally::timeline
