// Limits in words that nothing explains, by the plain English in their keys. The words are
// invented.
#include <gtest/gtest.h>

#include "support.hpp"

namespace platetally::interpreter::test {
namespace {

TEST(LimitKeys, ArePlainEnglish) {
  constexpr Case kCases[] = {
      {"acceleration", "PACE ACCEL=900\nPACE Max_Acceleration=800",
       "limit path_acceleration 900,nan,nan,nan\nlimit path_acceleration 800,nan,nan,nan\n"
       "= PACE x2\n"},
      {"highest speed, of X and Y", "PACE VELOCITY=120\npace top_speed=90",
       "limit axis_speed 120,120,nan,nan\nlimit axis_speed 90,90,nan,nan\n= PACE x2\n"},
      {"corner speed", "PACE RIGHT_CORNER_VELOCITY=9\nPACE CORNER.SPEED=0",
       "limit corner_speed 9,nan,nan,nan\nlimit corner_speed 0,nan,nan,nan\n= PACE x2\n"},
      {"cruise share", "PACE LEAST_CRUISE_RATIO=0.25\nPACE CRUISE_SHARE=0",
       "limit cruise_share 0.25,nan,nan,nan\nlimit cruise_share 0,nan,nan,nan\n= PACE x2\n"},
      {"deceleration beside acceleration is looked for first", "PACE ACCEL_AND_DECEL=400 ACCEL=800",
       "limit path_acceleration 800,nan,nan,nan\nlimit braking_acceleration 400,nan,nan,nan\n"
       "= PACE\n"},
      {"a share on the same line wins over it", "PACE ACCEL_AND_DECEL=400 CRUISE_RATIO=0.3",
       "limit cruise_share 0.3,nan,nan,nan\n= PACE\n"},
      {"of several the last counts, and quotes go", "PACE ACCEL=800 ACCEL=\"700\"",
       "limit path_acceleration 700,nan,nan,nan\n= PACE\n"},
      {"listed by their number, whatever their keys",
       "PACE ACCEL=900\nRUN CRUISE_SHARE=0.2\nRUN CRUISE_SHARE=0.3",
       "limit path_acceleration 900,nan,nan,nan\nlimit cruise_share 0.2,nan,nan,nan\n"
       "limit cruise_share 0.3,nan,nan,nan\n= RUN x2\n= PACE\n"},
      {"all at once", "PACE VELOCITY=200 ACCEL=3000 CORNER_SPEED=5 CRUISE_SHARE=0.5",
       "limit path_acceleration 3000,nan,nan,nan\nlimit cruise_share 0.5,nan,nan,nan\n"
       "limit corner_speed 5,nan,nan,nan\nlimit axis_speed 200,200,nan,nan\n= PACE\n"},
  };
  expect_all(kCases, machine());
}

TEST(LimitKeys, AreLeftWhereAKeyOrAValueIsNone) {
  constexpr Case kCases[] = {
      {"a share of a fan", "BREEZE SPEED=0.5", "? BREEZE\n"},
      {"a fan by its name", "PART_FAN SPEED=120\nBREEZE FAN_SPEED=120", "? BREEZE\n? PART_FAN\n"},
      {"another key among them", "BREEZE FAN=1 SPEED=120", "? BREEZE\n"},
      {"a retraction's", "DRAW RETRACT_SPEED=35", "? DRAW\n"},
      {"no keys at all", "PACE\nPACE 120", "? PACE x2\n"},
      {"a value that is no number", "PACE ACCEL={quick}\nPACE ACCEL=1E3", "? PACE x2\n"},
      {"one implausible value among them", "PACE ACCEL=900 VELOCITY=2", "? PACE\n"},
      {"a share of all", "PACE CRUISE_RATIO=1", "? PACE\n"},
      {"negative", "PACE ACCEL=-900", "? PACE\n"},
      {"parts are whole words", "PACE ACCELERATOR=900 SPEEDUP=90", "? PACE\n"},
      {"deceleration alone", "PACE DECEL=900", "? PACE\n"},
  };
  expect_all(kCases, machine());
}

TEST(LimitKeys, ARowOfTheMachineFileWins) {
  Machine ours = machine();
  DialectRow row;
  row.word = "PACE";
  row.action = DialectAction::set_limits;
  row.keys = {{"ACCEL", "travel_acceleration_mm_s2"},
              {"CORNER", "corner_speed_mm_s"},
              {"CRUISE", "least_cruise_share"},
              {"BRAKE", "braking_acceleration_mm_s2"}};
  ours.dialect.rows = {row};
  constexpr Case kCases[] = {
      {"its own meaning", "PACE ACCEL=900 CORNER=0 CRUISE=0 BRAKE=450",
       "limit travel_acceleration 900,nan,nan,nan\nlimit corner_speed 0,nan,nan,nan\n"
       "limit cruise_share 0,nan,nan,nan\nlimit braking_acceleration 450,nan,nan,nan\n"},
      {"other words are read as ever", "RUN ACCEL=900",
       "limit path_acceleration 900,nan,nan,nan\n= RUN\n"}};
  expect_all(kCases, ours);
}

TEST(LimitKeys, CanBeTurnedOff) {
  Machine ours = machine();
  ours.dialect.limits_by_key = false;
  constexpr Case kCases[] = {{"listed", "PACE ACCEL=900", "? PACE\n"}};
  expect_all(kCases, ours);
}

TEST(LimitKeys, AControllerOfCornerSpeedsKeepsOneAcceleration) {
  Machine ours = machine();
  ours.motion.corner_model = CornerModel::corner_speed;
  constexpr Case kCases[] = {
      {"S, whatever is beside it", "M204 S900 T100",
       "limit print_acceleration 900,nan,nan,nan\nlimit travel_acceleration 900,nan,nan,nan\n"},
      {"the lesser of P and T", "M204 P900 T700",
       "limit print_acceleration 700,nan,nan,nan\nlimit travel_acceleration 700,nan,nan,nan\n"},
      {"neither alone", "M204 P900\nM204 T900\nM204 R900", ""},
  };
  expect_all(kCases, ours);
}

}  // namespace
}  // namespace platetally::interpreter::test
