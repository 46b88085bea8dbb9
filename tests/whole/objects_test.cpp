// Objects of plates whose parts are known, because plate-maker laid them.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "platetally/account.hpp"
#include "platetally/picture.hpp"
#include "platetally/prices.hpp"
#include "platetally/report.hpp"
#include "support.hpp"
#include "support/temp_folder.hpp"

namespace platetally {
namespace {

AnalyzeOptions with_objects() {
  AnalyzeOptions options;
  options.objects = true;
  options.findings = false;
  return options;
}

Account tally(const std::string& arguments, const char* machine = "changer-5") {
  return analyze_bytes(test::made_plate(arguments), test::embedded(machine), with_objects());
}

void expect_same(double a, double b, const char* what) {
  EXPECT_NEAR(a, b, 1e-9 * std::max(1e-6, std::abs(b))) << what;
}

/// The law of all shares.
void expect_sums(const Account& account) {
  double time_s = 0, print_s = 0, swap_s = 0, part_g = 0, purge_g = 0, start_up_g = 0, wh = 0,
         swaps = 0;
  for (const ObjectAccount& object : account.objects) {
    time_s += object.time_by.sum_s();
    print_s += object.time_by.print_s;
    swap_s += object.time_by.swap_s;
    part_g += object.part_g;
    purge_g += object.purge_g;
    start_up_g += object.start_up_g;
    wh += object.energy_wh;
    swaps += object.swaps;
    EXPECT_GE(object.time_by.sum_s(), 0.0);
    EXPECT_GE(object.swaps, 0.0);
    EXPECT_GE(object.energy_wh, 0.0);
  }
  const Totals& totals = account.totals;
  expect_same(time_s, totals.time.expected, "time");
  expect_same(print_s, totals.time_by.print_s, "print");
  expect_same(swap_s, totals.time_by.swap_s, "swap");
  expect_same(part_g, totals.part_g, "part");
  expect_same(purge_g, totals.purge_g, "purge");
  expect_same(start_up_g, totals.start_up_g, "start-up");
  expect_same(wh, totals.energy_wh, "energy");
  expect_same(swaps, static_cast<double>(totals.swaps), "swaps");
}

TEST(Objects, EqualCopiesTakeEqualGramsAndTheirSumIsThePlate) {
  const Account account = tally("blocks --tools 2 --copies 4x3 --size 20,20 --gap 5 --layers 12");
  ASSERT_EQ(account.objects.size(), 12U);
  expect_sums(account);
  for (const ObjectAccount& object : account.objects) {
    EXPECT_NEAR(object.part_g, account.totals.part_g / 12.0, 0.01 * account.totals.part_g / 12.0);
    EXPECT_EQ(object.tools, (std::vector<int>{0, 1}));
    EXPECT_EQ(object.layers, 12U);
    EXPECT_NEAR(object.height_mm, 2.4, 1e-6);
    EXPECT_NEAR(object.x_max_mm - object.x_min_mm, 20.0, 0.6);
    EXPECT_NEAR(object.y_max_mm - object.y_min_mm, 20.0, 0.6);
    EXPECT_GT(object.time_by.print_s, 0.0);
  }
}

TEST(Objects, TheTowerIsNone) {
  const Account account = tally(
      "blocks --tools 3 --copies 3x2 --size 20,20 --gap 10 --layers 20 --purge tower "
      "--purge-at 180,180");
  ASSERT_EQ(account.tower.verdict, "tower");
  ASSERT_EQ(account.objects.size(), 6U);
  expect_sums(account);
  EXPECT_GT(account.totals.purge_g, 1.0);
  for (const ObjectAccount& object : account.objects) {
    EXPECT_LT(object.x_max_mm, 130.0);
    EXPECT_NEAR(object.purge_g, account.totals.purge_g / 6.0, 0.01 * account.totals.purge_g);
    EXPECT_NEAR(object.swaps, static_cast<double>(account.totals.swaps) / 6.0, 0.1);
  }
}

TEST(Objects, OneOfManyTakesWhatItTakesAlone) {
  const std::string recipe = "blocks --tools 2 --size 24,18 --layers 10 --gap 6 ";
  const Account alone = tally(recipe + "--copies 1x1");
  const Account many = tally(recipe + "--copies 2x3 --purge tower --purge-at 200,200");
  ASSERT_EQ(alone.objects.size(), 1U);
  ASSERT_EQ(many.objects.size(), 6U);
  expect_sums(alone);
  for (const ObjectAccount& object : many.objects) {
    EXPECT_NEAR(object.part_g, alone.objects[0].part_g, 0.01 * alone.objects[0].part_g);
    EXPECT_NEAR(object.time_by.print_s, alone.objects[0].time_by.print_s,
                0.02 * alone.objects[0].time_by.print_s);
  }
}

TEST(Objects, OneAfterTheOtherAreToldApartInTheOrderOfPrinting) {
  const Account account =
      tally("blocks --copies 3x1 --size 20,20 --gap 30 --layers 15 --sequential yes");
  ASSERT_EQ(account.objects.size(), 3U);
  expect_sums(account);
  EXPECT_LT(account.objects[0].x_max_mm, account.objects[1].x_min_mm);
  EXPECT_LT(account.objects[1].x_max_mm, account.objects[2].x_min_mm);
  for (const ObjectAccount& object : account.objects)
    EXPECT_EQ(object.layers, 15U);
}

TEST(Objects, UnlikeOnesTakeUnlikeAmounts) {
  const Account account = tally("figures --figures 4 --tools 2 --layers 10 --size 30,30");
  ASSERT_EQ(account.objects.size(), 4U);
  expect_sums(account);
  double least_g = 1e9, most_g = 0.0;
  for (const ObjectAccount& object : account.objects) {
    least_g = std::min(least_g, object.part_g);
    most_g = std::max(most_g, object.part_g);
  }
  EXPECT_GT(most_g, 1.2 * least_g);
}

TEST(Objects, CopiesThatTouchAreOne) {
  const Account account = tally("blocks --copies 2x2 --size 20,20 --gap 0.5 --layers 5");
  ASSERT_EQ(account.objects.size(), 1U);
  expect_sums(account);
}

std::string square(double x, double y, double z, double side) {
  std::string text = fmt::format("G1 X{} Y{} Z{} F9000\n", x, y, z);
  for (const auto& [dx, dy] :
       {std::pair(side, 0.0), std::pair(side, side), std::pair(0.0, side), std::pair(0.0, 0.0)})
    text += fmt::format("G1 X{} Y{} E0.5 F1800\n", x + dx, y + dy);
  return text;
}

TEST(Objects, CommentsNameThemAndTellTouchingOnesApart) {
  std::string text = "G90\nM83\nM104 S210\n";
  for (int layer = 1; layer <= 10; ++layer) {
    text += "; begin object fern 1\n" + square(50, 50, 0.2 * layer, 10);
    text += "; end of object fern 1\n; begin object moss\n";
    text += square(60.3, 50, 0.2 * layer, 20) + "; end of object moss\n";
  }
  const Account account = analyze_bytes(text, test::embedded("changer-5"), with_objects());
  ASSERT_EQ(account.objects.size(), 2U);
  expect_sums(account);
  EXPECT_EQ(account.objects[0].name, "fern 1");
  EXPECT_EQ(account.objects[1].name, "moss");
  EXPECT_NEAR(account.objects[0].part_g, account.objects[1].part_g, 1e-9);
  EXPECT_GT(account.objects[1].time_by.print_s, 1.5 * account.objects[0].time_by.print_s);
  EXPECT_NEAR(account.objects[1].x_max_mm, 80.3, 1e-4);

  // Comments change nothing but the names: the same without them, further apart.
  AnalyzeOptions plain;
  plain.findings = false;
  const Account as_it_is = analyze_bytes(text, test::embedded("changer-5"), plain);
  expect_same(account.totals.time.expected, as_it_is.totals.time.expected, "time");
  expect_same(account.totals.energy_wh, as_it_is.totals.energy_wh, "energy");
  EXPECT_TRUE(as_it_is.objects.empty());
}

TEST(Objects, ASkirtIsNoneAndATravelIsOfWhatItLeadsTo) {
  std::string text = "G90\nM83\nM104 S210\n" + square(30, 30, 0.2, 100);
  for (int layer = 1; layer <= 12; ++layer)
    text += square(50, 50, 0.2 * layer, 8) + square(110, 110, 0.2 * layer, 8);
  const Account account = analyze_bytes(text, test::embedded("changer-5"), with_objects());
  ASSERT_EQ(account.objects.size(), 2U);
  expect_sums(account);
  EXPECT_NEAR(account.objects[0].part_g, account.objects[1].part_g,
              0.001 * account.objects[0].part_g);
  EXPECT_NEAR(account.objects[0].time_by.travel_s, account.objects[1].time_by.travel_s,
              0.15 * account.objects[0].time_by.travel_s);
}

TEST(Objects, APlateWithoutPartIsAllRest) {
  const Account account = analyze_bytes("G90\nG1 X10 Y10 F3000\nG1 X100\n",
                                        test::embedded("changer-5"), with_objects());
  ASSERT_EQ(account.objects.size(), 1U);
  EXPECT_EQ(account.objects[0].name, "rest");
  EXPECT_EQ(account.objects[0].number, 0U);
  expect_sums(account);
}

TEST(Objects, CostsAreSharedToo) {
  Account account = tally(
      "blocks --tools 2 --copies 3x1 --size 20,20 --gap 10 --layers 10 --purge tower "
      "--purge-at 180,180");
  Prices prices;
  prices.filament_per_kg = 25.0;
  prices.tool_per_kg = {30.0, std::nullopt};
  prices.energy_per_kwh = 0.3;
  prices.machine_price = 900.0;
  prices.labour_per_plate = 2.0;
  prices.failure_per_h = 0.01;
  prices.drying_per_kg = 1.0;
  add_prices(account, prices, 3);
  double sum = 0.0;
  for (const ObjectAccount& object : account.objects) {
    ASSERT_TRUE(object.cost);
    EXPECT_NEAR(*object.cost, account.cost->total() / 3.0, 0.02 * account.cost->total());
    sum += *object.cost;
  }
  expect_same(sum, account.cost->total(), "cost");
}

TEST(Objects, RowsAndColumnsAreThereByKey) {
  const Account account = tally("blocks --copies 2x1 --size 20,20 --gap 10 --layers 5");
  EXPECT_EQ(count_rows(account, "objects"), 2U);
  const auto column = get_column(account, "objects.time_s");
  ASSERT_TRUE(column);
  EXPECT_EQ(column->size(), 2U);
  EXPECT_EQ(get_field(account, "objects.2.name"), "object 2");
  EXPECT_TRUE(to_text(account).find("Objects") != std::string::npos);
  const std::string csv = objects_to_csv(account);
  EXPECT_EQ(std::ranges::count(csv, '\n'), 3);
}

/// Without a picture most layers are not followed cell by cell.
TEST(Objects, ThePictureChangesNothingOfThem) {
  const std::string plate = test::made_plate(
      "figures --figures 5 --tools 3 --layers 40 --size 30,30 --purge tower --purge-at 200,200");
  AnalyzeOptions options = with_objects();
  const Account without = analyze_bytes(plate, test::embedded("changer-5"), options);
  options.picture = true;
  const Account with = analyze_bytes(plate, test::embedded("changer-5"), options);
  ASSERT_EQ(without.objects.size(), 5U);
  ASSERT_EQ(with.objects.size(), 5U);
  for (std::size_t i = 0; i < 5; ++i) {
    expect_same(without.objects[i].part_g, with.objects[i].part_g, "part");
    expect_same(without.objects[i].time_by.sum_s(), with.objects[i].time_by.sum_s(), "time");
  }
}

class EveryPlateHasObjects : public testing::TestWithParam<std::string> {};

TEST_P(EveryPlateHasObjects, WhoseSumsAreThePlate) {
  for (const char* machine : {"changer-5", "switcher-4"}) {
    SCOPED_TRACE(machine);
    const Account account =
        analyze_file(test::testdata(GetParam()), test::embedded(machine), with_objects());
    ASSERT_FALSE(account.objects.empty());
    expect_sums(account);
  }
}

INSTANTIATE_TEST_SUITE_P(Testdata, EveryPlateHasObjects,
                         testing::ValuesIn(test::plates_of_testdata()), [](const auto& row) {
                           std::string name = row.param;
                           for (char& c : name)
                             if (!std::isalnum(static_cast<unsigned char>(c)))
                               c = '_';
                           return name;
                         });

TEST(Objects, OfRealPlatesAddUpToo) {
  const std::string folder = std::string(PLATETALLY_SHARED) + "/plates";
  if (!std::filesystem::exists(folder))
    GTEST_SKIP() << folder << " is not there";
  std::size_t read = 0;
  for (const auto& entry : std::filesystem::directory_iterator(folder)) {
    const std::string name = entry.path().filename().string();
    if (name.find(".gcode") == std::string::npos ||
        std::filesystem::file_size(entry.path()) > 4'000'000)
      continue;
    SCOPED_TRACE(name);
    AnalyzeOptions options = with_objects();
    options.partial = true;
    try {
      expect_sums(analyze_file(entry.path().string(), test::embedded("changer-5"), options));
      ++read;
    } catch (const UnreadablePlate&) {
      continue;  // several in one container, or more tools than the machine has
    }
  }
  EXPECT_GT(read, 0U);
}

TEST(Picture, ALayerWithTwoToolsHasTwoFillsAndTheTowerIsHatched) {
  AnalyzeOptions options = with_objects();
  options.picture = true;
  options.picture_at_mm = 1.1;
  options.tool_colours = {"white", "black"};
  const std::string plate = test::made_plate(
      "blocks --tools 2 --copies 3x2 --size 20,20 --gap 10 --layers 20 --purge tower "
      "--purge-at 180,180");
  const Account account = analyze_bytes(plate, test::embedded("changer-5"), options);
  ASSERT_TRUE(account.plate_picture && account.layer_picture);
  EXPECT_NEAR(*account.layer_picture->at_mm, 1.2, 1e-9);
  EXPECT_EQ(account.layer_picture->outlines.size(), 6U);
  std::vector<int> part_tools;
  for (const PictureArea& area : account.layer_picture->areas) {
    if (area.use == AreaUse::part)
      part_tools.push_back(area.tool);
    for (const auto& ring : area.rings)
      for (const auto& [x_mm, y_mm] : ring)
        EXPECT_EQ(x_mm > 170.0 && y_mm > 170.0, area.use == AreaUse::purge);
  }
  EXPECT_EQ(std::ranges::count(part_tools, 0), 6);
  EXPECT_EQ(std::ranges::count(part_tools, 1), 6);

  PictureOptions of_layer;
  of_layer.of_layer = true;
  const std::string svg = to_svg(account, of_layer);
  EXPECT_NE(svg.find("tool 0, white"), std::string::npos);
  EXPECT_NE(svg.find("tool 1, black"), std::string::npos);
  EXPECT_NE(svg.find("url(#purge)"), std::string::npos);
  EXPECT_NE(svg.find("layer at 1.20 mm"), std::string::npos);
  EXPECT_EQ(svg, to_svg(account, of_layer));
  options.threads = 1;
  const Account again = analyze_bytes(plate, test::embedded("changer-5"), options);
  EXPECT_EQ(to_svg(again, of_layer), svg);
  EXPECT_EQ(to_svg(again), to_svg(account));
}

TEST(Picture, OfAHeightThatNothingReachesIsNone) {
  AnalyzeOptions options = with_objects();
  options.picture = true;
  options.picture_at_mm = 50.0;
  const Account account =
      analyze_bytes(test::made_plate("blocks --layers 5"), test::embedded("changer-5"), options);
  EXPECT_FALSE(account.layer_picture);
  EXPECT_TRUE(account.plate_picture);
}

TEST(Picture, NamesMeanNothingToTheDrawing) {
  std::string text = "G90\nM83\n";
  for (int layer = 1; layer <= 3; ++layer)
    text += "; begin object <script>&\"\n" + square(50, 50, 0.2 * layer, 10);
  AnalyzeOptions options = with_objects();
  options.picture = true;
  const Account account = analyze_bytes(text, test::embedded("changer-5"), options);
  ASSERT_EQ(account.objects.size(), 1U);
  EXPECT_EQ(to_svg(account).find("<script>"), std::string::npos);
}

}  // namespace
}  // namespace platetally
