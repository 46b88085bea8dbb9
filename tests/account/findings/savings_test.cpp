// Placement, copies, and findings on accounts made by hand.
#include "account/findings/savings.hpp"

#include <gtest/gtest.h>

#include <random>

#include "platetally/account.hpp"
#include "platetally/explain.hpp"

namespace platetally::findings {
namespace {

interpreter::Move lay(double x0, double y0, double x1, double y1) {
  interpreter::Move move{};
  move.from_mm = {x0, y0, 0.2};
  move.to_mm = {x1, y1, 0.2};
  move.e_mm = 1.0;
  return move;
}

void lay_block(ledgers::Footprint& footprint, double x, double y, double width, double depth) {
  for (double at = 0.0; at <= depth; at += 1.0)
    footprint.add(lay(x, y + at, x + width, y + at));
}

Machine zoned() {
  Machine machine;
  machine.area = {0, 200, 0, 200, 200};
  machine.bed.rows = 4;
  machine.bed.columns = 4;
  machine.bed.width_mm = 200;
  machine.bed.depth_mm = 200;
  machine.bed.zone_policy = ZonePolicy::footprint;
  machine.bed.neighbour_count = 0;
  return machine;
}

TEST(Placement, ASmallPartOverFourZonesGoesIntoOne) {
  const Machine machine = zoned();
  ledgers::Footprint footprint(machine.area);
  lay_block(footprint, 90, 90, 20, 20);  // across the middle
  const Placement best = best_placement(footprint, machine);
  EXPECT_EQ(best.zones_now, 4.0);
  EXPECT_EQ(best.zones_then, 1.0);
  EXPECT_LE(std::hypot(best.shift_x_mm, best.shift_y_mm), 18.0);
}

TEST(Placement, ACornerHeatsFewestWhereNeighboursAreKeptWarm) {
  Machine machine = zoned();
  machine.bed.neighbour_count = 8;
  machine.bed.neighbour_fraction = 0.5;
  ledgers::Footprint footprint(machine.area);
  lay_block(footprint, 110, 60, 20, 20);  // inside one zone, with eight neighbours
  const Placement best = best_placement(footprint, machine);
  EXPECT_EQ(best.zones_now, 1.0 + 8 * 0.5);
  EXPECT_EQ(best.zones_then, 1.0 + 3 * 0.5);
}

TEST(Placement, AgreesWithTryingThemAll) {
  std::mt19937 random(3);
  Machine machine = zoned();
  machine.bed.neighbour_count = 4;
  for (int round = 0; round < 20; ++round) {
    ledgers::Footprint footprint(machine.area);
    const auto width = static_cast<double>(5 + random() % 90);
    const auto depth = static_cast<double>(5 + random() % 90);
    const auto x = static_cast<double>(random() % 100);
    const auto y = static_cast<double>(random() % 100);
    lay_block(footprint, x, y, width, depth);
    const Placement best = best_placement(footprint, machine);
    // A block of whole cells, moved cell by cell, zones counted from its corners.
    constexpr double kCell = ledgers::Footprint::kCellMm;
    const double left = std::floor(x / kCell) * kCell;
    const double right = (std::floor((x + width) / kCell) + 1) * kCell;
    const double front = std::floor(y / kCell) * kCell;
    const double back = (std::floor((y + depth) / kCell) + 1) * kCell;
    double fewest = 1e9;
    for (double dx = -left; right + dx <= 200.0 + 1e-9; dx += kCell)
      for (double dy = -front; back + dy <= 200.0 + 1e-9; dy += kCell) {
        const auto first_x = static_cast<int>(std::floor((left + dx) / 50.0 + 1e-9));
        const auto last_x = static_cast<int>(std::ceil((right + dx) / 50.0 - 1e-9)) - 1;
        const auto first_y = static_cast<int>(std::floor((front + dy) / 50.0 + 1e-9));
        const auto last_y = static_cast<int>(std::ceil((back + dy) / 50.0 - 1e-9)) - 1;
        const int wide = last_x - first_x + 1;
        const int deep = last_y - first_y + 1;
        const int beside = (first_x > 0) * deep + (last_x < 3) * deep;
        const int before = (first_y > 0) * wide + (last_y < 3) * wide;
        fewest = std::min(fewest, wide * deep + machine.bed.neighbour_fraction * (beside + before));
      }
    EXPECT_NEAR(best.zones_then, fewest, 1e-9) << round;
  }
}

TEST(Placement, OneZoneOrNothingLaidStaysWhereItIs) {
  Machine machine = zoned();
  ledgers::Footprint footprint(machine.area);
  EXPECT_EQ(best_placement(footprint, machine).shift_x_mm, 0.0);
  machine.bed.zone_policy = ZonePolicy::whole_bed;
  lay_block(footprint, 90, 90, 20, 20);
  EXPECT_EQ(best_placement(footprint, machine).zones_now, 0.0);
}

TEST(Copies, IslandsOfOneSizeAreCopies) {
  const Machine machine = zoned();
  ledgers::Footprint footprint(machine.area);
  EXPECT_EQ(count_copies(footprint), 1U);
  for (int i = 0; i < 5; ++i)
    lay_block(footprint, 10.0 + 30 * i, 20, 18, 12);
  lay_block(footprint, 20, 120, 60, 30);  // something else
  EXPECT_EQ(count_copies(footprint), 5U);
}

/// A plate with two heads, a tower, thin layers and a bed of zones: most levers at once.
struct Wasteful {
  Machine machine = zoned();
  Account account;
  std::vector<ledgers::ToolUse> uses;
  ledgers::Footprint footprint{machine.area};

  Wasteful() {
    machine.heads.assign(3, Head{});
    machine.tools.assign(3, Tool{});
    for (int tool = 0; tool < 3; ++tool)
      machine.tools[static_cast<std::size_t>(tool)].head = tool;
    lay_block(footprint, 90, 90, 20, 20);
    account.layers.resize(1);
    for (std::uint64_t i = 1; i <= 40; ++i) {
      LayerAccount layer;
      layer.index = i;
      layer.z_mm = 0.1 * static_cast<double>(i);
      layer.order = {0, 1};
      account.layers.push_back(layer);
      account.visits.push_back({i, {0, 1}});
    }
    account.swap_pairs = {{0, 1, 40, 8.0, 0.0}, {1, 0, 39, 7.8, 0.0}};
    account.totals.swaps = 79;
    account.totals.purge_g = 15.8;
    account.totals.purge_by.tower_g = 15.8;
    account.totals.mean_power_w = 100.0;
    account.totals.energy_wh = 200.0;
    account.totals.energy_by.bed_wh = 80.0;
    account.totals.time_by.swap_s = 79 * 17.0;
    account.tower.verdict = "tower";
    for (int tool = 0; tool < 3; ++tool) {
      ToolAccount row;
      row.tool = tool;
      row.selects = 40;
      row.part_g = tool < 2 ? 5.0 : 0.0;
      row.active_s = 3600.0;
      row.standby_s = 3600.0;
      row.energy_wh = 30.0;
      account.tools.push_back(row);
    }
    account.tools[2].selects = 0;
    uses = {{0.0, 60.0, 7000.0, 7200.0}, {0.0, 1800.0, 7100.0, 7200.0}, {0.0, -1.0, -1.0, 7200.0}};
  }
  std::vector<Finding> find() const {
    Account whole = account;
    whole.bed_picture = picture_of(footprint, machine);
    return find_levers({whole, machine, footprint, uses});
  }
  static const Finding* code(const std::vector<Finding>& findings, std::string_view code) {
    for (const Finding& finding : findings)
      if (finding.code == code)
        return &finding;
    return nullptr;
  }
};

TEST(Savings, EachSaysWhatItSavesAndWhatItAssumes) {
  const Wasteful plate;
  const std::vector<Finding> findings = plate.find();
  for (const Finding& finding : findings) {
    SCOPED_TRACE(finding.code);
    EXPECT_FALSE(finding.message.empty());
    EXPECT_FALSE(finding.advice.empty());
    EXPECT_FALSE(finding.assumes.empty());
    EXPECT_GT(finding.saves_time_s + finding.saves_purge_g + finding.saves_energy_wh, 0.0);
    EXPECT_TRUE(explain_finding(finding.code).has_value());
  }
  for (std::size_t i = 1; i < findings.size(); ++i)
    EXPECT_GE(findings[i - 1].saves_purge_g, findings[i].saves_purge_g);

  const Finding* tower = Wasteful::code(findings, "tower-without-need");
  ASSERT_NE(tower, nullptr);
  EXPECT_NEAR(tower->saves_purge_g, 15.8, 1e-12);
  EXPECT_NEAR(tower->saves_time_s, 79 * (17.0 - 8.0), 1e-9);  // head_change_s is 8 s
  EXPECT_NEAR(tower->saves_energy_wh, 79 * 9.0 * 100.0 / 3600.0, 1e-9);

  const Finding* order = Wasteful::code(findings, "cheaper-order");
  ASSERT_NE(order, nullptr);  // 0 1 | 1 0: 40 swaps instead of 79
  EXPECT_NE(order->message.find("40 swaps"), std::string::npos) << order->message;

  const Finding* thick = Wasteful::code(findings, "thicker-layers");
  ASSERT_NE(thick, nullptr);  // 0.1 mm instead of 0.3
  EXPECT_NEAR(thick->saves_purge_g, 15.8 * 2.0 / 3.0, 1e-9);

  const Finding* place = Wasteful::code(findings, "place-on-bed");
  ASSERT_NE(place, nullptr);
  EXPECT_NEAR(place->saves_energy_wh, 80.0 * 3.0 / 4.0, 1e-9);

  EXPECT_NE(Wasteful::code(findings, "copies-share-swaps"), nullptr);
  EXPECT_NE(Wasteful::code(findings, "standby-set-point"), nullptr);
  EXPECT_EQ(Wasteful::code(findings, "purge-above-need"), nullptr);  // heads of their own
  std::size_t idle = 0;
  for (const Finding& finding : findings)
    idle += finding.code == "heat-without-use";
  EXPECT_EQ(idle, 2U);  // tool 1 for half an hour, tool 2 all the time
}

TEST(Savings, OneColourSavesNothingBySwaps) {
  Wasteful plate;
  plate.account.swap_pairs.clear();
  plate.account.totals.swaps = 0;
  plate.account.tower.verdict = "no-swaps";
  for (const Finding& finding : plate.find())
    EXPECT_EQ(finding.saves_purge_g, 0.0) << finding.code;
}

TEST(Savings, PurgeAboveTheNeedOfOneNozzle) {
  Wasteful plate;
  for (Tool& tool : plate.machine.tools)
    tool.head = 0;
  plate.account.tools[0].colour = "black";
  plate.account.tools[1].colour = "white";
  plate.account.swap_pairs[0].purge_g = 2000 * 1.24e-3 * 40;  // far more than any pair needs
  plate.account.totals.purge_g = plate.account.swap_pairs[0].purge_g + 7.8;
  const std::vector<Finding> findings = plate.find();
  const Finding* over = Wasteful::code(findings, "purge-above-need");
  ASSERT_NE(over, nullptr);
  EXPECT_GT(over->saves_purge_g, 0.4 * plate.account.swap_pairs[0].purge_g);
  EXPECT_EQ(Wasteful::code(findings, "tower-without-need"), nullptr);
}

TEST(Pages, AreSortedAndComplete) {
  const std::vector<std::string> codes = finding_codes();
  EXPECT_TRUE(std::ranges::is_sorted(codes));
  for (const std::string& code : codes) {
    const std::string page = explain_finding(code).value_or("");
    for (const char* part : {"What was seen", "What to do", "What it saves", "assumes", "sample"})
      EXPECT_NE(page.find(part), std::string::npos) << code;
  }
  EXPECT_FALSE(explain_finding("no-such-code").has_value());
}

}  // namespace
}  // namespace platetally::findings
