// Pictures of the plate: every shape lies in its view box and where its millimetres say, the legend
// shows the looks that the shapes have, and words do not lie on one another.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <set>

#include "output/report/bed_drawing.hpp"
#include "output/report/plate_picture.hpp"
#include "output/report/random_account.hpp"
#include "platetally/picture.hpp"
#include "support/markup.hpp"

namespace platetally::report {
namespace {

using test::Element;
using test::Markup;

struct Box {
  double left = 0.0, top = 0.0, right = 0.0, bottom = 0.0;
};

std::vector<double> numbers_in(const std::string& text) {
  std::vector<double> numbers;
  const char* at = text.c_str();
  while (*at != '\0') {
    char* end = nullptr;
    const double number = std::strtod(at, &end);
    if (end == at) {
      ++at;
      continue;
    }
    numbers.push_back(number);
    at = end;
  }
  return numbers;
}

Box view_box_of(const Markup& markup) {
  const std::vector<double> box = numbers_in(markup.elements.at(0).get("viewBox"));
  return {box.at(0), box.at(1), box.at(0) + box.at(2), box.at(1) + box.at(3)};
}

/// Points of a path of M, L, H, V, h, v and z.
std::vector<std::array<double, 2>> points_of(const std::string& path) {
  std::vector<std::array<double, 2>> points;
  double x = 0.0, y = 0.0;
  for (std::size_t i = 0; i < path.size();) {
    const char command = path[i++];
    const std::size_t end = std::min(path.find_first_of("MLHVhvz", i), path.size());
    const std::vector<double> n = numbers_in(path.substr(i, end - i));
    i = end;
    if (command == 'M' || command == 'L') {
      x = n.at(0);
      y = n.at(1);
    } else if (command == 'H') {
      x = n.at(0);
    } else if (command == 'V') {
      y = n.at(0);
    } else if (command == 'h') {
      x += n.at(0);
    } else if (command == 'v') {
      y += n.at(0);
    } else {
      continue;
    }
    points.push_back({x, y});
  }
  return points;
}

Box around(const Element& path) {
  Box box{1e9, 1e9, -1e9, -1e9};
  for (const auto& [x, y] : points_of(path.get("d")))
    box = {std::min(box.left, x), std::min(box.top, y), std::max(box.right, x),
           std::max(box.bottom, y)};
  return box;
}

bool holds_point(const Box& box, double x, double y) {
  return x >= box.left && x <= box.right && y >= box.top && y <= box.bottom;
}

/// Shapes that are drawn, those of patterns apart.
std::vector<const Element*> drawn(const Markup& markup, std::string_view name) {
  std::vector<const Element*> shapes;
  for (const Element* element : markup.named(name))
    if (!markup.lies_in(*element, "pattern"))
      shapes.push_back(element);
  return shapes;
}

void expect_inside(const Markup& markup) {
  const Box view = view_box_of(markup);
  for (const Element* path : drawn(markup, "path"))
    for (const auto& [x, y] : points_of(path->get("d")))
      EXPECT_TRUE(holds_point(view, x, y)) << path->get("d");
  for (const Element* rect : drawn(markup, "rect")) {
    if (!rect->has("x"))
      continue;
    const double x = std::stod(rect->get("x"));
    const double y = std::stod(rect->get("y"));
    EXPECT_TRUE(holds_point(view, x, y)) << rect->get("class");
    EXPECT_TRUE(
        holds_point(view, x + std::stod(rect->get("width")), y + std::stod(rect->get("height"))))
        << rect->get("class");
  }
  for (const Element* text : markup.named("text"))
    EXPECT_TRUE(holds_point(view, std::stod(text->get("x")), std::stod(text->get("y"))))
        << text->text;
}

class OfRandomPlates : public testing::TestWithParam<unsigned> {
 protected:
  const Account account_ = test::random_account(GetParam());
};

TEST_P(OfRandomPlates, TheSvgIsWellFormedAndAllOfItLiesInItsViewBox) {
  for (const bool of_layer : {false, true}) {
    const std::string svg = to_svg(account_, {of_layer, "27 November <2026>"});
    ASSERT_TRUE(svg.starts_with("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg "));
    const Markup markup = test::read_markup(svg);
    for (const std::string& fault : markup.faults)
      ADD_FAILURE() << fault;
    expect_inside(markup);
    for (const Element& element : markup.elements)
      for (const auto& [key, value] : element.attributes) {
        EXPECT_FALSE(key.starts_with("on"));
        EXPECT_NE(key, "href");
      }
    EXPECT_TRUE(markup.named("script").empty());
  }
}

TEST_P(OfRandomPlates, TheDrawingOfAPageLiesInItsViewBox) {
  const Markup markup = test::read_markup(drawn_plate(account_));
  EXPECT_TRUE(markup.faults.empty());
  expect_inside(markup);
}

TEST_P(OfRandomPlates, TheLegendShowsEachLookThatAnAreaHas) {
  Account account = account_;
  test::Random random(GetParam());
  account.plate_picture = test::any_picture(account, random);
  const Markup markup = test::read_markup(to_svg(account));
  const auto look = [](const Element& one) {
    return one.get("class") + "|" + one.get("fill") + "|" + one.get("fill-opacity");
  };
  std::multiset<std::string> in_areas, in_legend;
  for (const Element& element : markup.elements) {
    if (!element.has_class("area"))
      continue;
    (element.name == "path" ? in_areas : in_legend).insert(look(element));
  }
  EXPECT_EQ(std::set(in_areas.begin(), in_areas.end()),
            std::set(in_legend.begin(), in_legend.end()));
  EXPECT_EQ(in_legend.size(), tools_in(*account.plate_picture).size());
  EXPECT_EQ(in_areas.size(), account.plate_picture->areas.size());
  for (const auto& [use, fill] :
       {std::pair(AreaUse::purge, "url(#purge)"), std::pair(AreaUse::start_up, "url(#start-up)")}) {
    std::size_t shown = 0;
    for (const Element& element : markup.elements)
      shown += element.get("fill") == fill ? 1 : 0;
    // An area and its row of the legend, or neither.
    EXPECT_EQ(shown, holds(*account.plate_picture, use) ? 2U : 0U) << fill;
  }
}

TEST_P(OfRandomPlates, EveryZoneIsATileByItsShareOfTheHottest) {
  double most_wh = 0.0;
  for (const BedZoneAccount& zone : account_.bed_zones)
    most_wh = std::max(most_wh, zone.energy_wh);
  std::array<std::size_t, 4> expected{};
  for (const BedZoneAccount& zone : account_.bed_zones) {
    const double share = most_wh > 0.0 ? zone.energy_wh / most_wh : 0.0;
    ++expected[share <= 0.0 ? 0 : share < 1.0 / 3.0 ? 1 : share < 2.0 / 3.0 ? 2 : 3];
  }
  const Markup markup = test::read_markup(drawn_plate(account_));
  if (account_.bed_zones.size() == 1) {
    EXPECT_EQ(markup.of_class("one").size(), 1U);
    return;
  }
  for (std::size_t step = 0; step < expected.size(); ++step)
    EXPECT_EQ(markup.of_class("m" + std::to_string(step)).size(), expected[step]) << step;
}

// What lies where is told by the areas alone; words and numbers give way to each other.
TEST_P(OfRandomPlates, NumbersOfObjectsDoNotLieOnEachOther) {
  const Markup markup = test::read_markup(to_svg(account_));
  const std::vector<const Element*> numbers = markup.of_class("number");
  EXPECT_LE(numbers.size(), account_.objects.size());
  for (std::size_t i = 0; i < numbers.size(); ++i)
    for (std::size_t k = i + 1; k < numbers.size(); ++k) {
      const double dx = std::stod(numbers[i]->get("x")) - std::stod(numbers[k]->get("x"));
      const double dy = std::stod(numbers[i]->get("y")) - std::stod(numbers[k]->get("y"));
      EXPECT_FALSE(std::abs(dx) < 8.0 && std::abs(dy) < 14.0)
          << numbers[i]->text << " and " << numbers[k]->text;
    }
}

INSTANTIATE_TEST_SUITE_P(Seeds, OfRandomPlates, testing::Range(100U, 125U));

/// A bed of 200 mm x 100 mm whose build area is the same.
Account flat_bed() {
  Account account;
  account.path = "shop/lantern.gcode";
  account.machine = "changer-5";
  BedPicture& bed = account.bed_picture;
  bed.bed_width_mm = 200.0;
  bed.bed_depth_mm = 100.0;
  bed.columns = 80;
  bed.rows = 40;
  bed.laid.assign(3200, 0);
  return account;
}

TEST(Picture, MillimetresBecomeUnitsOfTheDrawing) {
  Account account = flat_bed();
  account.plate_picture.emplace();
  account.plate_picture->areas = {test::square_area(AreaUse::part, 0, 1, 50.0, 20.0, 10.0)};
  const Markup markup = test::read_markup(to_svg(account));
  // The longest edge takes 600 units: 3 a millimetre, from 52 at the left and 76 at the top; Y
  // grows to the back, which is on top.
  const Box box = around(*drawn(markup, "path").back());
  EXPECT_DOUBLE_EQ(box.left, 52.0 + 3.0 * 50.0);
  EXPECT_DOUBLE_EQ(box.right, 52.0 + 3.0 * 60.0);
  EXPECT_DOUBLE_EQ(box.bottom, 76.0 + 3.0 * (100.0 - 20.0));
  EXPECT_DOUBLE_EQ(box.top, 76.0 + 3.0 * (100.0 - 30.0));
}

TEST(Picture, TheFrameHoldsBuildAreaAndBed) {
  BedPicture bed = flat_bed().bed_picture;
  bed.x_min_mm = -15.0;
  bed.bed_y_min_mm = 4.0;
  const BedFrame frame = frame_of(bed);
  EXPECT_DOUBLE_EQ(frame.left_mm, -15.0);
  EXPECT_DOUBLE_EQ(frame.right_mm, 200.0);
  EXPECT_DOUBLE_EQ(frame.front_mm, 0.0);
  EXPECT_DOUBLE_EQ(frame.back_mm, 104.0);
  EXPECT_DOUBLE_EQ(frame.longest_mm(), 215.0);
}

TEST(Picture, TheFrameOfALayerLeavesTenMillimetresOrEightPercent) {
  const BedPicture bed = flat_bed().bed_picture;
  PlatePicture picture;
  picture.areas = {test::square_area(AreaUse::part, 0, 1, 40.0, 30.0, 20.0)};
  BedFrame frame = frame_around(picture, bed);
  EXPECT_DOUBLE_EQ(frame.left_mm, 30.0);
  EXPECT_DOUBLE_EQ(frame.back_mm, 60.0);
  picture.areas = {test::square_area(AreaUse::part, 0, 1, 0.0, 0.0, 200.0)};
  frame = frame_around(picture, bed);
  EXPECT_DOUBLE_EQ(frame.left_mm, -16.0);
  EXPECT_DOUBLE_EQ(frame.right_mm, 216.0);
  picture.areas.clear();
  EXPECT_DOUBLE_EQ(frame_around(picture, bed).right_mm, 200.0)
      << "nothing is shown: all of the bed";
}

struct RulerCase {
  double long_mm;
  std::size_t marks;  ///< along that edge, 0 included
};

class Ruler : public testing::TestWithParam<RulerCase> {};

// Steps of 10, 20, 50, 100 or 200 mm, so that there are some five to a dozen of them.
TEST_P(Ruler, HasMarksAtRoundNumbers) {
  BedFrame frame;
  frame.right_mm = GetParam().long_mm;
  frame.back_mm = 1.0;
  const Markup markup = test::read_markup("<g>" + ruler_of(frame) + "</g>");
  std::size_t along = 0;
  for (const Element* text : markup.named("text"))
    along += text->get("text-anchor") == "middle" && text->text != "X in mm (front edge)" ? 1 : 0;
  EXPECT_EQ(along, GetParam().marks);
}

INSTANTIATE_TEST_SUITE_P(Edges, Ruler,
                         testing::Values(RulerCase{50.0, 6}, RulerCase{50.5, 3},
                                         RulerCase{120.0, 7}, RulerCase{121.0, 3},
                                         RulerCase{260.0, 6}, RulerCase{261.0, 3},
                                         RulerCase{600.0, 7}, RulerCase{601.0, 4}),
                         [](const auto& one) {
                           return "Of" + std::to_string(std::lround(10.0 * one.param.long_mm)) +
                                  "Tenths";
                         });

TEST(Picture, ABedThatIsNotKnownIsNotDrawn) {
  BedPicture bed = flat_bed().bed_picture;
  EXPECT_TRUE(has_bed(bed));
  bed.laid.pop_back();
  EXPECT_FALSE(has_bed(bed)) << "fewer cells than the area has";
  bed = flat_bed().bed_picture;
  bed.bed_depth_mm = 0.0;
  EXPECT_FALSE(has_bed(bed));
  Account nothing;
  nothing.path = "tag.gcode";
  const Markup markup = test::read_markup(to_svg(nothing));
  EXPECT_TRUE(markup.faults.empty());
  EXPECT_TRUE(markup.of_class("tile").empty());
  EXPECT_NE(to_svg(nothing).find("tag.gcode"), std::string::npos);
}

TEST(Picture, WordsTakeTheirPlaceOnce) {
  WordPlaces places;
  EXPECT_TRUE(places.take(10.0, 20.0, "fern", false));
  EXPECT_FALSE(places.take(10.0, 20.0, "oak", false));
  EXPECT_FALSE(places.take(25.0, 15.0, "oak", true)) << "its beginning lies under the other's end";
  EXPECT_TRUE(places.take(10.0, 60.0, "oak", false)) << "lower";
  EXPECT_TRUE(places.take(200.0, 20.0, "oak", true)) << "further to the right";
  EXPECT_FALSE(places.take(200.0, 24.0, "elm", true));
}

TEST(Picture, ATilesWordsGoWhereNothingLies) {
  Account account = flat_bed();
  account.bed_zones = {{0, 0, 60.0, 0.0, 20.0, 60.0}, {0, 1, 0.0, 60.0, 5.0, 40.0}};
  // The left tile is covered all over, the right one at its back left only.
  PlatePicture picture;
  picture.outlines = {{AreaUse::part, -1, 1, {{{0, 0}, {99, 0}, {99, 100}, {0, 100}}}},
                      {AreaUse::part, -1, 2, {{{101, 70}, {140, 70}, {140, 100}, {101, 100}}}}};
  BedFrame frame = frame_of(account.bed_picture);
  frame.scale = 3.0;
  WordPlaces places;
  const BedTiles tiles = tiles_of(account, &picture, frame, places);
  const Markup markup = test::read_markup("<g>" + tiles.words + "</g>");
  ASSERT_EQ(markup.named("text").size(), 2U);
  EXPECT_EQ(markup.named("text")[0]->text, "5.00 Wh");
  EXPECT_EQ(markup.named("text")[1]->text, "warm");
  EXPECT_GT(std::stod(markup.named("text")[0]->get("x")), 3.0 * 140.0) << "the right corner";
}

TEST(Picture, ALayerTellsItsHeightAndThatObjectsAreOfTheWholePlate) {
  Account account = flat_bed();
  ObjectAccount object;
  object.number = 1;
  object.name = "oak <tag>";
  object.part_g = 2.5;
  object.time_by.print_s = 90.0;
  account.objects = {object};
  account.layer_picture.emplace();
  account.layer_picture->at_mm = 4.2;
  account.layer_picture->areas = {test::square_area(AreaUse::part, 0, 1, 50.0, 20.0, 10.0)};
  account.layer_picture->is_whole = false;
  const std::string svg = to_svg(account, {true, ""});
  EXPECT_NE(svg.find("layer at 4.20 mm, from above; on changer-5"), std::string::npos) << svg;
  EXPECT_NE(svg.find(">Objects (whole plate)<"), std::string::npos);
  EXPECT_NE(svg.find(">1 oak &lt;tag&gt;: 2.50 g, 1 min 30 s<"), std::string::npos);
  EXPECT_NE(svg.find("there was more than could be drawn"), std::string::npos);
  EXPECT_NE(svg.find("<g class=\"layer\">"), std::string::npos);
  EXPECT_EQ(svg.find("the tool that lies on top is shown"), std::string::npos);
}

TEST(Picture, ThirtyObjectsAreListedAndTheOthersCounted) {
  Account account = flat_bed();
  for (std::uint64_t i = 1; i <= 33; ++i) {
    ObjectAccount object;
    object.number = i;
    object.name = "object " + std::to_string(i);
    account.objects.push_back(object);
  }
  const std::string svg = to_svg(account);
  EXPECT_NE(svg.find(">30: "), std::string::npos);
  EXPECT_EQ(svg.find(">31: "), std::string::npos);
  EXPECT_NE(svg.find(">and 3 more<"), std::string::npos);
}

TEST(Picture, AColourThatIsKnownIsPaintedAndAnUnknownOneHasItsHue) {
  Account account;
  ToolAccount white, moss;
  white.colour = "white";
  moss.tool = 1;
  moss.colour = "\"><b>";
  account.tools = {white, moss};
  EXPECT_EQ(look_of_tool(account, 0).substr(0, 20), "class=\"area\" fill=\"#");
  EXPECT_EQ(look_of_tool(account, 1), "class=\"area hue h-2\"");
  // Hues repeat behind the fifth, paler.
  EXPECT_EQ(look_of_tool(account, 6), "class=\"area hue h-2\" fill-opacity=\"0.55\"");
  EXPECT_EQ(words_of_tool(account, 0), "tool 0, white");
  EXPECT_EQ(words_of_tool(account, 6), "tool 6, colour not known");
}

TEST(Picture, PlatesBesideEachOtherHaveOneScale) {
  const Account small = flat_bed();
  const auto wide = [&](double largest_mm) {
    const Markup markup = test::read_markup(drawn_plate(small, largest_mm));
    const Box ruler = around(*drawn(markup, "path").back());
    return ruler.right - ruler.left;
  };
  EXPECT_NEAR(wide(400.0), 0.5 * wide(0.0), 0.2);
}

}  // namespace
}  // namespace platetally::report
