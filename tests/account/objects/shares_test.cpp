// What objects have in common, shared out: every sum is the plate's, whatever lies there; equal
// objects take equal shares; and where nothing of any object says how, the next wider one decides.
#include "account/objects/object_shares.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "account/objects/area.hpp"
#include "support/chance.hpp"
#include "support/records.hpp"

namespace platetally::objects {
namespace {

/// A plate under way: the ledger, and the books of the plate beside it.
class Bench {
 public:
  explicit Bench(std::size_t tools)
      : ledger(area(), tools, false, std::nullopt), material(tools), g_per_mm_(tools) {
    for (std::size_t tool = 0; tool < tools; ++tool)
      g_per_mm_[tool] = 0.002 + 0.001 * static_cast<double>(tool);
  }

  /// A square of four strokes.
  void square(std::uint32_t layer, int tool, double x_mm, double y_mm, double side_mm,
              double mm = 4.0, double seconds = 2.0) {
    const double z_mm = 0.2 * layer;
    const test::Point corners[] = {{x_mm, y_mm, z_mm},
                                   {x_mm + side_mm, y_mm, z_mm},
                                   {x_mm + side_mm, y_mm + side_mm, z_mm},
                                   {x_mm, y_mm + side_mm, z_mm},
                                   {x_mm, y_mm, z_mm}};
    for (int i = 0; i < 4; ++i) {
      ledger.lay(test::move(corners[i], corners[i + 1], 0.25 * mm, 0.25 * seconds, tool, layer),
                 0.25 * mm);
    }
    material.add(layer, static_cast<std::size_t>(tool), swaps::Use::part, mm);
    time_of(layer).print_s += seconds;
  }
  void travel(std::uint32_t layer, double seconds) {
    ledger.travel(seconds);
    time_of(layer).travel_s += seconds;
  }
  void swap(std::uint32_t layer, int tool, double seconds, double purge_mm) {
    ledger.on_way_of_swap();
    ledger.swap(layer, tool);
    ledger.add_swap_seconds(layer, tool, seconds);
    time_of(layer).swap_s += seconds;
    material.add(layer, static_cast<std::size_t>(tool), swaps::Use::purge, purge_mm);
    swaps += 1.0;
  }
  TimeBy& time_of(std::uint32_t layer) {
    if (time_.size() <= layer)
      time_.resize(layer + 1U);
    return time_[layer];
  }
  void heat(std::uint32_t layer, double wait_s, double bed_wh) {
    if (heat_.layers.size() <= layer)
      heat_.layers.resize(layer + 1U);
    heat_.layers[layer].wait_s = wait_s;
    heat_.layers[layer].energy.bed_wh = bed_wh;
  }

  std::vector<ObjectAccount> told() {
    ledger.settle({}, {});
    return share_plate(ledger, {material, g_per_mm_, time_, heat_, time_.size()});
  }
  double grams(swaps::Use use) const {
    double sum = 0.0;
    for (std::size_t tool = 0; tool < g_per_mm_.size(); ++tool) {
      const swaps::MaterialBook::Cell cell = material.of_tool(tool);
      sum += (use == swaps::Use::part    ? cell.part_mm()
              : use == swaps::Use::purge ? cell.of(use) + cell.hidden_mm
                                         : cell.of(use)) *
             g_per_mm_[tool];
    }
    return sum;
  }
  TimeBy all_time() const {
    TimeBy sum;
    for (const TimeBy& one : time_)
      sum += one;
    for (const heat::LayerHeat& one : heat_.layers)
      sum.heat_wait_s += one.wait_s;
    return sum;
  }
  double all_wh() const {
    double sum = 0.0;
    for (const heat::LayerHeat& one : heat_.layers)
      sum += one.energy.sum_wh();
    return sum;
  }

  ObjectLedger ledger;
  swaps::MaterialBook material;
  double swaps = 0.0;

 private:
  std::vector<double> g_per_mm_;
  std::vector<TimeBy> time_;
  heat::HeatResult heat_;
};

/// Sums over the objects, member by member.
struct Sums {
  double part_g = 0.0, purge_g = 0.0, start_up_g = 0.0, swaps = 0.0, energy_wh = 0.0;
  TimeBy time;
  explicit Sums(const std::vector<ObjectAccount>& objects) {
    for (const ObjectAccount& object : objects) {
      part_g += object.part_g;
      purge_g += object.purge_g;
      start_up_g += object.start_up_g;
      swaps += object.swaps;
      energy_wh += object.energy_wh;
      time += object.time_by;
    }
  }
};

void expect_whole(Bench& bench, const std::vector<ObjectAccount>& objects) {
  const Sums sums(objects);
  const auto near = [](double a, double b, const char* what) {
    EXPECT_NEAR(a, b, 1e-9 * (1.0 + std::abs(b))) << what;
  };
  const TimeBy time = bench.all_time();
  near(sums.part_g, bench.grams(swaps::Use::part), "part");
  near(sums.purge_g, bench.grams(swaps::Use::purge), "purge");
  near(sums.start_up_g, bench.grams(swaps::Use::start_up), "start-up");
  near(sums.swaps, bench.swaps, "swaps");
  near(sums.energy_wh, bench.all_wh(), "energy");
  near(sums.time.print_s, time.print_s, "print");
  near(sums.time.travel_s, time.travel_s, "travel");
  near(sums.time.swap_s, time.swap_s, "swap");
  near(sums.time.heat_wait_s, time.heat_wait_s, "waits");
  near(sums.time.other_s, time.other_s, "other");
  for (const ObjectAccount& object : objects) {
    double part_g = 0.0, waste_g = 0.0;
    for (const double g : object.part_by_tool_g)
      part_g += g;
    for (const double g : object.waste_by_tool_g)
      waste_g += g;
    near(part_g, object.part_g, "by tool");
    near(waste_g, object.purge_g + object.start_up_g, "waste by tool");
  }
}

/// Squares on a grid, each layer in any order, with all that goes between.
void lay_any(Bench& bench, test::Random& random) {
  const int objects = random.whole(1, 6);
  for (std::uint32_t layer = 1; layer <= 12; ++layer) {
    for (int k = 0; k < objects; ++k) {
      if (random.one_in(4))
        continue;
      const int tool = random.whole(0, 2);
      if (random.one_in(3))
        bench.swap(layer, tool, random.real(1.0, 20.0), random.amount() * 1e-3);
      bench.travel(layer, random.real(0.0, 1.0));
      bench.square(layer, tool, 10.0 + 30.0 * k, 20.0, 12.0, random.real(0.5, 9.0),
                   random.real(0.1, 5.0));
    }
    bench.time_of(layer).other_s += random.real(0.0, 2.0);
    bench.heat(layer, random.one_in(3) ? random.real(0.0, 30.0) : 0.0, random.real(0.0, 3.0));
    if (random.one_in(5))
      bench.material.add_hidden(layer, random.below(3), random.real(0.0, 5.0));
    if (random.one_in(5))
      bench.material.add(layer, random.below(3), swaps::Use::start_up, random.real(0.0, 5.0));
    if (random.one_in(5))
      bench.material.add(layer, random.below(3), swaps::Use::none, random.real(-2.0, 2.0));
  }
  bench.time_of(0).other_s = 60.0;
  bench.heat(0, 200.0, 40.0);
}

class AnyObjects : public testing::TestWithParam<unsigned> {};

TEST_P(AnyObjects, AddUpToThePlate) {
  test::Random random(GetParam());
  Bench bench(3);
  lay_any(bench, random);
  const std::vector<ObjectAccount> objects = bench.told();
  ASSERT_FALSE(objects.empty());
  expect_whole(bench, objects);
  for (const ObjectAccount& object : objects) {
    EXPECT_GE(object.purge_g, 0.0);
    EXPECT_GE(object.energy_wh, 0.0);
    EXPECT_GE(object.swaps, 0.0);
    EXPECT_TRUE(std::ranges::is_sorted(object.tools));
  }
}

INSTANTIATE_TEST_SUITE_P(Seeds, AnyObjects, testing::Range(0U, 30U));

TEST(Shares, EqualObjectsTakeEqualShares) {
  Bench bench(2);
  for (std::uint32_t layer = 1; layer <= 5; ++layer) {
    for (const int tool : {0, 1}) {
      bench.swap(layer, tool, 10.0, 3.0);
      for (const double x_mm : {20.0, 60.0, 100.0}) {
        bench.travel(layer, 0.0);
        bench.square(layer, tool, x_mm, 20.0, 12.0);
      }
    }
    bench.time_of(layer).other_s = 1.0;
    bench.heat(layer, 6.0, 9.0);
  }
  const std::vector<ObjectAccount> objects = bench.told();
  ASSERT_EQ(objects.size(), 3U);
  expect_whole(bench, objects);
  for (const ObjectAccount& object : objects) {
    EXPECT_NEAR(object.part_g, objects[0].part_g, 1e-12);
    EXPECT_NEAR(object.purge_g, bench.grams(swaps::Use::purge) / 3.0, 1e-12);
    EXPECT_NEAR(object.swaps, 10.0 / 3.0, 1e-12);
    EXPECT_NEAR(object.time_by.heat_wait_s, 10.0, 1e-9);
    EXPECT_NEAR(object.energy_wh, 15.0, 1e-9);
    EXPECT_EQ(object.layers, 5U);
    EXPECT_NEAR(object.height_mm, 1.0, 1e-9);
    EXPECT_EQ(object.tools, (std::vector<int>{0, 1}));
  }
  EXPECT_EQ(objects[0].x_min_mm, 20.0);
  EXPECT_EQ(objects[0].x_max_mm, 32.0);
  EXPECT_EQ(objects[2].x_min_mm, 100.0);
  EXPECT_EQ(objects[1].name, "object 2");
}

TEST(Shares, PurgeIsOfWhatTheToolLaysInTheLayer) {
  Bench bench(2);
  bench.square(1, 0, 20.0, 20.0, 12.0);
  bench.travel(1, 0.5);
  bench.square(1, 0, 60.0, 20.0, 12.0);
  bench.swap(2, 1, 10.0, 8.0);
  bench.travel(2, 0.5);
  bench.square(2, 1, 60.0, 20.0, 12.0);  // white on the second alone
  bench.travel(2, 0.5);
  const std::vector<ObjectAccount> objects = bench.told();
  ASSERT_EQ(objects.size(), 2U);
  EXPECT_EQ(objects[0].purge_g, 0.0);
  EXPECT_EQ(objects[0].swaps, 0.0);
  EXPECT_NEAR(objects[1].purge_g, 8.0 * 0.003, 1e-12);
  EXPECT_NEAR(objects[1].time_by.swap_s, 10.0, 1e-12);
}

TEST(Shares, PurgeGoesByTheFilamentOfEach) {
  Bench bench(1);
  bench.swap(1, 0, 12.0, 9.0);
  bench.travel(1, 0.5);
  bench.square(1, 0, 20.0, 20.0, 12.0, 2.0);
  bench.travel(1, 0.5);
  bench.square(1, 0, 60.0, 20.0, 12.0, 4.0);
  const std::vector<ObjectAccount> objects = bench.told();
  ASSERT_EQ(objects.size(), 2U);
  EXPECT_NEAR(objects[0].purge_g, 9.0 * 0.002 / 3.0, 1e-12);
  EXPECT_NEAR(objects[1].purge_g, 9.0 * 0.002 * 2.0 / 3.0, 1e-12);
  EXPECT_NEAR(objects[1].time_by.swap_s, 8.0, 1e-12);
}

// A tool that lays nothing in the layer it purges in: what all lay there decides, by grams.
TEST(Shares, OfAToolThatLaysNothingTheLayerDecides) {
  Bench bench(2);
  bench.swap(1, 1, 5.0, 6.0);
  bench.travel(1, 0.5);
  bench.square(1, 0, 20.0, 20.0, 12.0, 1.0);
  bench.travel(1, 0.5);
  bench.square(1, 0, 60.0, 20.0, 12.0, 3.0);
  const std::vector<ObjectAccount> objects = bench.told();
  EXPECT_NEAR(objects.at(0).purge_g, 6.0 * 0.003 * 0.25, 1e-12);
  EXPECT_NEAR(objects.at(1).purge_g, 6.0 * 0.003 * 0.75, 1e-12);
}

// Start-up comes before any object: by filament over the whole plate.
TEST(Shares, StartUpGoesByFilamentOverThePlate) {
  Bench bench(1);
  bench.material.add(0, 0, swaps::Use::start_up, 10.0);
  bench.time_of(0).other_s = 30.0;
  for (std::uint32_t layer = 1; layer <= 4; ++layer) {
    bench.travel(layer, 0.1);
    bench.square(layer, 0, 20.0, 20.0, 12.0, 1.0, 1.0);
    if (layer > 2)
      continue;
    bench.travel(layer, 0.1);
    bench.square(layer, 0, 60.0, 20.0, 12.0, 1.0, 1.0);
  }
  const std::vector<ObjectAccount> objects = bench.told();
  ASSERT_EQ(objects.size(), 2U);
  EXPECT_NEAR(objects[0].start_up_g, 10.0 * 0.002 * 4.0 / 6.0, 1e-12);
  EXPECT_NEAR(objects[1].start_up_g, 10.0 * 0.002 * 2.0 / 6.0, 1e-12);
  EXPECT_NEAR(objects[0].time_by.other_s, 20.0, 1e-9) << "seconds go by own seconds";
  expect_whole(bench, objects);
}

TEST(Shares, ATravelIsOfWhatItLeadsTo) {
  Bench bench(1);
  bench.square(1, 0, 20.0, 20.0, 12.0);
  bench.travel(1, 3.0);
  bench.square(1, 0, 60.0, 20.0, 12.0);
  bench.travel(1, 1.0);
  bench.square(1, 0, 20.0, 20.0, 12.0);
  const std::vector<ObjectAccount> objects = bench.told();
  EXPECT_NEAR(objects.at(0).time_by.travel_s, 1.0, 1e-12);
  EXPECT_NEAR(objects.at(1).time_by.travel_s, 3.0, 1e-12);
}

TEST(Shares, WhereTheyLieDoesNotMatter) {
  const auto told = [](double dx_mm, double dy_mm) {
    Bench bench(2);
    for (std::uint32_t layer = 1; layer <= 6; ++layer) {
      bench.swap(layer, static_cast<int>(layer % 2), 7.0, 2.0);
      bench.travel(layer, 0.4);
      bench.square(layer, static_cast<int>(layer % 2), 20.0 + dx_mm, 20.0 + dy_mm, 12.0, 5.0);
      bench.travel(layer, 0.6);
      bench.square(layer, 0, 60.0 + dx_mm, 40.0 + dy_mm, 22.0, 3.0);
      bench.heat(layer, 3.0, 2.0);
    }
    return bench.told();
  };
  const std::vector<ObjectAccount> here = told(0.0, 0.0);
  const std::vector<ObjectAccount> there = told(37.0, 91.0);
  ASSERT_EQ(here.size(), there.size());
  for (std::size_t i = 0; i < here.size(); ++i) {
    EXPECT_NEAR(here[i].purge_g, there[i].purge_g, 1e-12);
    EXPECT_NEAR(here[i].energy_wh, there[i].energy_wh, 1e-12);
    EXPECT_NEAR(here[i].x_min_mm + 37.0, there[i].x_min_mm, 1e-3);
    EXPECT_NEAR(here[i].y_max_mm + 91.0, there[i].y_max_mm, 1e-3);
  }
}

TEST(Shares, APlateWithoutPartIsTheRestAlone) {
  Bench bench(1);
  bench.time_of(0).other_s = 30.0;
  bench.heat(0, 10.0, 5.0);
  const std::vector<ObjectAccount> objects = bench.told();
  ASSERT_EQ(objects.size(), 1U);
  EXPECT_EQ(objects[0].number, 0U);
  EXPECT_EQ(objects[0].name, "rest");
  expect_whole(bench, objects);
}

}  // namespace
}  // namespace platetally::objects
