// What a variant is called, and what is said where it cannot be.
#include <gtest/gtest.h>

#include <stdexcept>

#include "platetally/analyze.hpp"
#include "support/kept_plate.hpp"
#include "support/test_names.hpp"

namespace platetally::whatif {
namespace {

using test::HandMade;

struct Said {
  const char* words;
  void (*make)(Variant&);
};

class VariantWords : public testing::TestWithParam<Said> {};

TEST_P(VariantWords, SayWhatIsOtherwise) {
  Variant variant;
  GetParam().make(variant);
  EXPECT_EQ(describe(variant), GetParam().words);
  EXPECT_EQ(variant.is_as_it_is(), std::string_view(GetParam().words).empty());
}

INSTANTIATE_TEST_SUITE_P(
    Of, VariantWords,
    testing::Values(
        Said{"", [](Variant&) {}}, Said{"its parts 3 times", [](Variant& v) { v.repeat = 3; }},
        Said{"what tool 2 prints is printed by tool 0",
             [](Variant& v) {
               v.merge = {{2, 0}};
             }},
        Said{"without tool 1, 3",
             [](Variant& v) {
               v.without = {1, 3};
             }},
        Said{"without its prime tower", [](Variant& v) { v.drop_tower = true; }},
        Said{"no swap purges more than its colours need",
             [](Variant& v) { v.purge_as_needed = true; }},
        Said{"no swap purges less than its colours need",
             [](Variant& v) { v.purge_enough = true; }},
        Said{"its colours in another order",
             [](Variant& v) {
               v.orders = {{1, 0}};
             }},
        Said{"0.667 of its layers, each thicker", [](Variant& v) { v.layers_share = 2.0 / 3.0; }},
        Said{"moved by 0.0 mm in x and -12.5 mm in y", [](Variant& v) { v.shift_y_mm = -12.5; }},
        Said{"waiting heads at 120 degC", [](Variant& v) { v.standby_c = 120.0; }},
        Said{"a room of 30.5 degC", [](Variant& v) { v.room_c = 30.5; }},
        Said{"tool 1 heated from layer 40 on",
             [](Variant& v) {
               v.heat = {{1, 40}};
             }},
        Said{"its parts 2 times, without its prime tower, a room of 18 degC",
             [](Variant& v) {
               v.room_c = 18.0;
               v.drop_tower = true;
               v.repeat = 2;
             }}),
    [](const auto& said) { return platetally::test::numbered(said.index, said.param.words); });

struct Asked {
  const char* name;
  void (*make)(Variant&);
  const char* says;
};

class ImpossibleVariant : public testing::TestWithParam<Asked> {};

TEST_P(ImpossibleVariant, IsRefusedWithTheReason) {
  const KeptPlate plate = HandMade({{0, 1}, {0, 1}}).make();
  Variant variant;
  GetParam().make(variant);
  try {
    play(plate, variant);
    FAIL() << "was played";
  } catch (const std::invalid_argument& error) {
    EXPECT_NE(std::string(error.what()).find(GetParam().says), std::string::npos) << error.what();
  }
  try {
    varied(plate, variant);
    FAIL() << "was played";
  } catch (const UnreadablePlate& error) {
    EXPECT_NE(std::string(error.what()).find(GetParam().says), std::string::npos) << error.what();
  }
}

INSTANTIATE_TEST_SUITE_P(
    With, ImpossibleVariant,
    testing::Values(
        Asked{"a merged tool that is none",
              [](Variant& v) {
                v.merge = {{4, 0}};
              },
              "has no tool 4; its last is 3"},
        Asked{"an heir that is none",
              [](Variant& v) {
                v.merge = {{0, -1}};
              },
              "has no tool -1"},
        Asked{"a tool taken out that is none", [](Variant& v) { v.without = {7}; },
              "has no tool 7"},
        Asked{"a heated tool that is none",
              [](Variant& v) {
                v.heat = {{9, 1}};
              },
              "has no tool 9"},
        Asked{"an order with a tool that is none",
              [](Variant& v) {
                v.orders = {{0, 1}, {0, 5}};
              },
              "has no tool 5"},
        Asked{"no copy", [](Variant& v) { v.repeat = 0; }, "repeat: expected 1 to 1000"},
        Asked{"too many copies", [](Variant& v) { v.repeat = 1001; }, "repeat: expected 1 to 1000"},
        Asked{"no layers", [](Variant& v) { v.layers_share = 0.0; },
              "layers_share: expected more than 0, at most 1"},
        Asked{"more than all layers", [](Variant& v) { v.layers_share = 1.01; },
              "layers_share: expected more than 0, at most 1"},
        Asked{"a share that is no number", [](Variant& v) { v.layers_share = 0.0 / 0.0; },
              "layers_share: expected more than 0, at most 1"}),
    [](const auto& asked) { return platetally::test::readable(asked.param.name); });

TEST(Varied, SaysWhatTheVariantIsAndWhyItCannotBeTold) {
  const KeptPlate plate = HandMade({{0, 1}, {0, 1}}).make();
  Variant variant;
  variant.heat = {{1, 3}};
  try {
    varied(plate, variant);
    FAIL() << "was played";
  } catch (const UnreadablePlate& error) {
    EXPECT_STREQ(error.what(),
                 "what if (tool 1 heated from layer 3 on): cannot be told: it has no layer 3");
  }
  variant = {};
  variant.without = {1};
  EXPECT_EQ(play(plate, variant).impossible, "tool 1 lays part of the plate");
  KeptPlate forgotten = plate;
  forgotten.log.holds_turns = false;
  variant = {};
  variant.orders = {{1, 0}, {0, 1}};
  EXPECT_EQ(play(forgotten, variant).impossible, "it changes tools more often than is kept");
  variant = {};
  variant.room_c = 30.0;
  EXPECT_TRUE(play(forgotten, variant).ok()) << "the room asks for no turns";
}

TEST(Varied, NamesItsChangesInTheAccount) {
  const KeptPlate plate = HandMade({{0, 1}, {0, 1}}).make();
  Variant variant;
  variant.orders = {{0, 1}, {1, 0}};
  EXPECT_EQ(varied(plate, variant).what_if.changes, "its colours in another order");
  EXPECT_EQ(varied(plate, {}).what_if.changes, "");
  // 1 to 2 is no swap of the plate: what it purges is assumed.
  const KeptPlate three = HandMade({{0, 1, 2}, {0, 1, 2}}).make();
  variant.orders = {{0, 2, 1}, {1, 2, 0}};
  EXPECT_NE(varied(three, variant).what_if.assumed.find("a swap that the plate does not have"),
            std::string::npos);
  variant.orders = {{0, 1, 2}, {0, 1, 2}};
  EXPECT_EQ(varied(three, variant).what_if.assumed, "");
}

TEST(ChangesPlate, IsWhatIsMoreThanAnotherMachine) {
  Variant variant;
  EXPECT_FALSE(changes_plate(variant));
  variant.room_c = 30.0;
  variant.standby_c = 100.0;
  EXPECT_FALSE(changes_plate(variant));
  for (const auto& make : std::initializer_list<void (*)(Variant&)>{
           [](Variant& v) { v.repeat = 2; }, [](Variant& v) { v.shift_x_mm = 1.0; },
           [](Variant& v) {
             v.heat = {{0, 1}};
           },
           [](Variant& v) { v.drop_tower = true; }, [](Variant& v) { v.layers_share = 0.5; },
           [](Variant& v) { v.without = {1}; }}) {
    Variant changed = variant;
    make(changed);
    EXPECT_TRUE(changes_plate(changed));
  }
}

TEST(MachineWith, TakesRoomAndStandbyOfEveryHead) {
  Machine machine;
  machine.heads.resize(3);
  machine.heads[1].standby_c = 90.0;
  EXPECT_EQ(machine_with(machine, {}), machine);
  Variant variant;
  variant.standby_c = 120.0;
  variant.room_c = 12.0;
  const Machine other = machine_with(machine, variant);
  EXPECT_EQ(other.room_c, 12.0);
  for (const Head& head : other.heads)
    EXPECT_EQ(head.standby_c, 120.0);
  EXPECT_EQ(machine_with(other, variant), other) << "twice is once";
}

}  // namespace
}  // namespace platetally::whatif
