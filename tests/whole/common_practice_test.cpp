// What people who run such machines see: check values, common practice, no source, each with the
// tolerance that we hold it to. The machines and plates are built here from those values; what the
// values do not say (losses, heat capacities, motion) is that of the embedded machines. Where the
// model misses, the test holds the miss that docs/methods-heat.md states.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "platetally/account.hpp"
#include "platetally/compare.hpp"
#include "support.hpp"
#include "support/temp_folder.hpp"

namespace platetally {
namespace {

/// Five heads of 40 W over a bed of 16 tiles of 90 mm and 27 W. Common practice, no source.
Machine changer() {
  Machine machine = test::embedded("changer-5");
  machine.area = {0.0, 360.0, 0.0, 360.0, 360.0};
  machine.bed.rows = machine.bed.columns = 4;
  machine.bed.width_mm = machine.bed.depth_mm = 360.0;
  machine.bed.tile_power_w = 27.0;
  machine.supply.idle_w = 20.0;
  machine.swap.head_change_s = {6.0, 7.0, 8.0};
  machine.swap.long_swap_extra_s = 15.0;
  machine.swap.tower_each_mm3 = 50.0;
  for (Head& head : machine.heads)
    head.power_w = 40.0;
  return machine;
}

/// One nozzle of 100 W, four feeds, a bed of 350 mm in one zone of 800 W, enclosed, but with door
/// and lid open for a plastic that goes soft in a warm enclosure; a change takes about 50 s without
/// its purge. Common practice, no source.
Machine switcher() {
  Machine machine = test::embedded("switcher-4");
  machine.area = {0.0, 350.0, 0.0, 350.0, 350.0};
  machine.bed.width_mm = machine.bed.depth_mm = 350.0;
  machine.bed.tile_power_w = 800.0;
  machine.supply.idle_w = 20.0;
  machine.swap.filament_change_s = {40.0, 52.0, 72.0};
  machine.heads[0].power_w = 100.0;
  machine.enclosure.door_open = true;
  return machine;
}

/// A plate that our plate-maker writes for one test.
class MadePlate {
 public:
  explicit MadePlate(const std::string& arguments)
      : path_((temp_.path() / "plate.gcode").string()) {
    const std::string command =
        fmt::format("'{}' {} -o '{}'", PLATETALLY_PLATE_MAKER, arguments, path_);
    EXPECT_EQ(std::system(command.c_str()), 0) << command;
  }
  const std::string& path() const { return path_; }

 private:
  test::TempFolder temp_;
  std::string path_;
};

/// 11 g in four colours, a bit over 300 changes; 19 g of purge on a tower, 190 g through one
/// nozzle. Common practice, no source.
constexpr std::string_view kSmallPlate =
    "lantern --tools 4 --size 44.3,44.3 --ripple 0.6 --origin 60,60 --layers 103 --layer-height "
    "0.28 "
    "--first-layer-height 0.28 --order carry-over --speeds 40,60,60,250,25,50 --comments none";
MadePlate small_with_tower() {
  return MadePlate(
      std::string(kSmallPlate) +
      " --purge tower --purge-mm3 49.43 --tower-side 23 --tower-brim 3 --purge-at 120,60");
}
MadePlate small_with_chute() {
  return MadePlate(std::string(kSmallPlate) +
                   " --purge chute --purge-mm3 496 --purge-at 5,5 --purge-speed 9");
}

Account tally(const std::string& text, const Machine& machine) {
  return analyze_bytes(text, machine);
}

/// Lines over a square, so that the zones under it are in use.
std::string square(double x_mm, double y_mm, double side_mm) {
  std::string text = "G90\nM83\nG1 Z0.2 F600\n";
  for (double y = y_mm; y <= y_mm + side_mm; y += 5.0)
    text += fmt::format("G1 X{} Y{} F9000\nG1 X{} E0.5 F3000\n", x_mm, y, x_mm + side_mm);
  return text;
}

/// W at the wall for the bed alone, while it holds `bed_c` under a square: the difference between
/// two and four hours of standing still.
double holding_w(const Machine& machine, double x_mm, double y_mm, double side_mm, double bed_c) {
  const auto bed_wh = [&](int seconds) {
    const std::string text = fmt::format("M190 S{}\n", bed_c) + square(x_mm, y_mm, side_mm) +
                             fmt::format("G4 S{}\n", seconds);
    return tally(text, machine).totals.energy_by.bed_wh;
  };
  return (bed_wh(14400) - bed_wh(7200)) / 2.0;
}

/// Zones are 90 mm: a square well inside n of them in a row.
double zoned_w(int zones, double bed_c) {
  const Machine machine = changer();
  return holding_w(machine, 5.0, 5.0, zones * 90.0 - 10.0, bed_c);
}
double full_bed_w(double bed_c) {
  return holding_w(switcher(), 100.0, 100.0, 50.0, bed_c);
}

TEST(CommonPractice, BothIdleAtTwentyWatts) {
  for (const Machine& machine : {changer(), switcher()}) {
    const Account account = tally("G1 X10 F6000\nM84\nG4 S36000\n", machine);
    EXPECT_NEAR(account.totals.mean_power_w, 20.0, 0.5) << machine.name;
    EXPECT_NEAR(account.totals.mean_power_w * 8.76, 175.0, 5.0) << machine.name;  // kWh a year
  }
}

TEST(CommonPractice, SixteenTilesHeatingTogetherDrawAboutFourHundredAndThirtyWatts) {
  const Machine machine = changer();
  // All of them heating: about 430 W of heaters, so a little more at the wall, and the idle draw.
  const Account account = tally("M140 S100\n" + square(5.0, 5.0, 350.0) + "G4 S60\n", machine);
  EXPECT_GT(account.totals.peak_power_w, 430.0);
  EXPECT_LT(account.totals.peak_power_w, 430.0 * 1.2 + 20.0 + 25.0);
}

TEST(CommonPractice, FewZonesHoldBelowTheFullBedOfTheOtherMachineAndAllAbove) {
  const double full_w = full_bed_w(60.0);
  EXPECT_LT(zoned_w(1, 60.0), 0.6 * full_w);
  EXPECT_LT(zoned_w(2, 60.0), 0.85 * full_w);
  EXPECT_NEAR(zoned_w(3, 60.0), full_w, 0.35 * full_w);
  EXPECT_GT(zoned_w(4, 60.0), 1.1 * full_w);
}

TEST(CommonPractice, TheDisadvantageGrowsWithTemperatureAndTiles) {
  const auto more_w = [](int zones, double bed_c) {
    return zoned_w(zones, bed_c) - full_bed_w(bed_c);
  };
  EXPECT_GT(more_w(4, 80.0), more_w(4, 60.0));
  EXPECT_GT(more_w(4, 60.0), more_w(3, 60.0));
  EXPECT_GT(more_w(4, 80.0), more_w(3, 80.0));
}

TEST(CommonPractice, ACornerHeatsFewestTilesAndASmallPartMoreThanOne) {
  const Machine machine = changer();
  const auto heated = [&](double x_mm, double y_mm) {
    const Account account = tally("M190 S60\n" + square(x_mm, y_mm, 40.0) + "G4 S600\n", machine);
    std::size_t zones = 0;
    for (const BedZoneAccount& zone : account.bed_zones)
      zones += zone.active_s > 0.0 || zone.neighbour_s > 0.0;
    return zones;
  };
  const std::size_t corner = heated(20.0, 20.0);
  const std::size_t edge = heated(110.0, 20.0);
  const std::size_t middle = heated(110.0, 110.0);
  EXPECT_GT(corner, 1U);
  EXPECT_LT(corner, edge);
  EXPECT_LT(edge, middle);
}

/// Seconds from the room to 215 degC.
double heat_up_s(const Machine& machine) {
  return tally("G1 X10 F6000\nM109 S215\n", machine).totals.time_by.heat_wait_s;
}
double nozzle_holding_w(const Machine& machine, double nozzle_c) {
  const auto wh = [&](int seconds) {
    return tally(fmt::format("G1 X10 F6000\nM109 S{}\nG4 S{}\n", nozzle_c, seconds), machine)
        .totals.energy_by.hot_ends_wh;
  };
  return wh(7200) - wh(3600);
}

TEST(CommonPractice, TheStrongNozzleHeatsMoreThanTwiceAsFastAndHoldsWithSomewhatMore) {
  EXPECT_GT(heat_up_s(changer()), 2.0 * heat_up_s(switcher()));
  const double weak_w = nozzle_holding_w(changer(), 215.0);
  const double strong_w = nozzle_holding_w(switcher(), 215.0);
  EXPECT_GT(strong_w, weak_w);
  EXPECT_LT(strong_w, 2.0 * weak_w);
}

TEST(CommonPractice, MaterialsDifferLittleAtTheNozzle) {
  const Machine machine = changer();
  const double pla_w = nozzle_holding_w(machine, 215.0);
  const double abs_w = nozzle_holding_w(machine, 255.0);
  EXPECT_GT(abs_w, pla_w);
  EXPECT_LT(abs_w - pla_w, 6.0);  // little beside what the whole machine draws
}

TEST(CommonPractice, FourColoursTakeThirtyToFiftyWattsMoreThanOne) {
  const Account four = analyze_file(small_with_tower().path(), changer());
  // One colour: the same heat and the same area, one head hot, for an hour of printing.
  std::string one = "M140 S60\nM104 T0 S215\nM190 S60\nM109 T0 S215\nT0\n";
  for (int i = 0; i < 60; ++i)
    one += square(60.0, 60.0, 44.0);
  const Account single = tally(one + "G4 S1\n", changer());
  const double four_w = four.totals.energy_by.hot_ends_wh / four.totals.time.expected * 3600.0;
  const double one_w = single.totals.energy_by.hot_ends_wh / single.totals.time.expected * 3600.0;
  // Hot ends before the supply's loss of about a tenth.
  EXPECT_GT(1.1 * (four_w - one_w), 25.0);
  EXPECT_LT(1.1 * (four_w - one_w), 55.0);
}

TEST(CommonPractice, ASmallFourColourPlate) {
  const Account tower = analyze_file(small_with_tower().path(), changer());
  const Account chute = analyze_file(small_with_chute().path(), switcher());
  EXPECT_NEAR(tower.totals.part_g, 11.0, 0.3);
  EXPECT_NEAR(static_cast<double>(tower.totals.swaps), 305.0, 15.0);
  EXPECT_NEAR(tower.totals.purge_g, 19.0, 0.5);
  EXPECT_NEAR(chute.totals.purge_g, 190.0, 3.0);
  // About two hours against close to nine: the band of the second one holds it, nearly.
  EXPECT_NEAR(tower.totals.time.expected / 3600.0, 2.0, 0.3);
  EXPECT_GT(chute.totals.time.expected / 3600.0, 6.5);
  EXPECT_GT(chute.totals.time.high / 3600.0, 8.5);
  // About 127 W and 164 W at the wall: see docs/methods-heat.md.
  EXPECT_NEAR(tower.totals.mean_power_w, 127.0, 0.12 * 127.0);
  EXPECT_NEAR(chute.totals.mean_power_w, 164.0, 0.12 * 164.0);
}

CompareOptions four_colours() {
  CompareOptions options;
  options.analyze.tool_colours = {"black", "white", "red", "yellow"};
  return options;
}

TEST(CommonPractice, TheSmallPlateFromTheChangerToTheSwitcher) {
  const Comparison comparison =
      compare_plate(small_with_tower().path(), {changer(), switcher()}, four_colours());
  const Totals& first = comparison.machines[0].account.totals;
  const Totals& second = comparison.machines[1].account.totals;
  EXPECT_NEAR(first.time.expected / 3600.0, 2.0, 0.3);   // about 2 h
  EXPECT_NEAR(second.time.expected / 3600.0, 9.0, 0.9);  // close to 9 h
  // The needs lie at the low end of what practice purges: the model misses by a fifth.
  EXPECT_NEAR(second.purge_g, 190.0, 0.22 * 190.0);
}

TEST(CommonPractice, ALargePlateTakesAlmostTwoDaysAndOverAKilogramOnTheSwitcher) {
  const MadePlate plate(
      "lantern --tools 4 --size 120,120 --layers 500 --order carry-over --purge chute "
      "--purge-mm3 699 --purge-at 5,5");
  const Machine other = changer();
  const Comparison comparison = compare_plate(plate.path(), {switcher(), other}, four_colours());
  const Totals& totals = comparison.machines[0].account.totals;
  EXPECT_NEAR(static_cast<double>(totals.swaps), 1500.0, 75.0);
  EXPECT_NEAR(totals.time.expected / 3600.0, 44.0, 4.0);  // almost two days
  EXPECT_NEAR(totals.purge_g, 1300.0, 65.0);
  double changes_s = 0.0;
  for (const SwapPairAccount& pair : comparison.machines[1].account.swap_pairs)
    changes_s += static_cast<double>(pair.count) * other.swap.head_change_s.expected;
  EXPECT_NEAR(changes_s / 3600.0, 2.8, 0.3);  // just under three hours
}

TEST(CommonPractice, FifteenHundredToolChangesAddJustUnderThreeHours) {
  const Machine machine = changer();
  std::string text = "M83\nG1 Z0.2 F600\nT0\nG1 X10 E0.1 F9000\n";
  for (int i = 0; i < 1500; ++i)
    text += fmt::format("T{}\nG1 X{} E0.01\n", (i + 1) % 2, i % 2 == 0 ? 10.1 : 10.0);
  const Account account = tally(text, machine);
  EXPECT_EQ(account.totals.swaps, 1500U);
  EXPECT_NEAR(account.totals.time_by.swap_s / 3600.0, 2.95, 0.15);
}

}  // namespace
}  // namespace platetally
