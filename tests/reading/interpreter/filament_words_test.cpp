// Words of tools and filament: text in, records and diagnostics out.
#include <gtest/gtest.h>

#include "support.hpp"

namespace platetally::interpreter::test {
namespace {

const Case kCases[] = {
    {"absolute E and G92",
     "G1 X1 E1 F600\n"
     "G1 X2 E1.5\n"
     "G92 E0\n"
     "G1 X3 E.25\n"
     "G92 E10\n"
     "G1 X4 E9",
     "L1 T0 0,0,0 -> 1,0,0 e1 f10\n"
     "L1 T0 1,0,0 -> 2,0,0 e0.5 f10\n"
     "L1 T0 2,0,0 -> 3,0,0 e0.25 f10\n"
     "L1 T0 3,0,0 -> 4,0,0 e-1 f10\n"},
    {"relative E",
     "M83\n"
     "G1 X1 E1 F600\n"
     "G1 X2 E0.5\n"
     "G1 E-2\n"
     "G1 E2",
     "L1 T0 0,0,0 -> 1,0,0 e1 f10\n"
     "L1 T0 1,0,0 -> 2,0,0 e0.5 f10\n"
     "L1 T0 2,0,0 -> 2,0,0 e-2 f10\n"
     "L1 T0 2,0,0 -> 2,0,0 e2 f10\n"},
    {"switched twice before anything is laid",
     "M83\n"
     "M82\n"
     "G1 X1 E1 F600\n"
     "G1 X2 E2",
     "L1 T0 0,0,0 -> 1,0,0 e1 f10\n"
     "L1 T0 1,0,0 -> 2,0,0 e1 f10\n"},
    {"a switch keeps the register",
     "M83\n"
     "G1 X1 E1 F600\n"
     "M82\n"
     "G1 X2 E1.5",
     "L1 T0 0,0,0 -> 1,0,0 e1 f10\n"
     "L1 T0 1,0,0 -> 2,0,0 e0.5 f10\n"},
    {"E on travels that feeds nothing",
     "G1 X1 E0.0000 F600\n"
     "G1 X2 E0.0000",
     "L0 T0 0,0,0 -> 1,0,0 f10\n"
     "L0 T0 1,0,0 -> 2,0,0 f10\n"},
    {"E alone, drawn back and returned",
     "G1 E5 F300\n"
     "G1 E4\n"
     "G1 E5",
     "L0 T0 0,0,0 -> 0,0,0 e5 f5\n"
     "L0 T0 0,0,0 -> 0,0,0 e-1 f5\n"
     "L0 T0 0,0,0 -> 0,0,0 e1 f5\n"},
    {"E on G0 and on arcs",
     "G0 X1 E1 F600\n"
     "G3 X3 I1 E2",
     "L1 T0 0,0,0 -> 1,0,0 e1 f10 rapid\n"
     "L1 T0 1,0,0 -> 3,0,0 e1 f10 about 2,0 by 3.14159\n"},
    {"one register for all tools",
     "T0\n"
     "G1 X1 E5 F600\n"
     "T1\n"
     "G1 X2 E6",
     "select 0\n"
     "L1 T0 0,0,0 -> 1,0,0 e5 f10\n"
     "select 1\n"
     "L1 T1 1,0,0 -> 2,0,0 e1 f10\n"},
    {"volumetric E",
     "M200 D1.75\n"
     "G1 X1 E2.405281875 F600\n"
     "M200 D0\n"
     "G1 X2 E3.405281875\n"
     "M200 S1 D2\n"
     "M200 D99",
     "L1 T0 0,0,0 -> 1,0,0 e1 f10\n"
     "L1 T0 1,0,0 -> 2,0,0 e1 f10\n"
     "! filament-diameter 6:1\n"},
    {"extruder words without E",
     "G1 X1 F600\n"
     "M101\n"
     "G1 X2\n"
     "G1 X3\n"
     "M103\n"
     "G1 X4",
     "L0 T0 0,0,0 -> 1,0,0 f10\n"
     "L1 T0 1,0,0 -> 2,0,0 f10 on\n"
     "L1 T0 2,0,0 -> 3,0,0 f10 on\n"
     "L1 T0 3,0,0 -> 4,0,0 f10\n"
     "! filament-not-stated 3:1 x2\n"},
    {"extruder words beside E words",
     "G1 E1 F600\n"
     "M101\n"
     "G1 X2 E2\n"
     "G1 X3\n"
     "M103",
     "L0 T0 0,0,0 -> 0,0,0 e1 f10\n"
     "L1 T0 0,0,0 -> 2,0,0 e1 f10\n"
     "L1 T0 2,0,0 -> 3,0,0 f10\n"},
    {"firmware retraction",
     "G10\n"
     "G1 X1 F600\n"
     "G11\n"
     "G10 S1",
     "retract\n"
     "L0 T0 0,0,0 -> 1,0,0 f10\n"
     "return\n"
     "retract\n"},
    {"selections: first, repeated, other",
     "T0\n"
     "T0\n"
     "T1\n"
     "T1\n"
     "t0",
     "select 0\n"
     "select 1\n"
     "select 0\n"},
    {"parking",
     "T0\n"
     "G1 X1 E1 F600\n"
     "T-1\n"
     "G1 X2\n"
     "T0\n"
     "T-1\n"
     "T-1\n"
     "T1",
     "select 0\n"
     "L1 T0 0,0,0 -> 1,0,0 e1 f10\n"
     "select -1\n"
     "L1 T-1 1,0,0 -> 2,0,0 f10\n"
     "select 0\n"
     "select -1\n"
     "select 1\n"},
    {"material while parked",
     "T1\n"
     "T-1\n"
     "G1 X1 E1 F600\n"
     "G1 X2",
     "select 1\n"
     "select -1\n"
     "L1 T1 0,0,0 -> 1,0,0 e1 f10\n"
     "L1 T-1 1,0,0 -> 2,0,0 f10\n"
     "! material-while-parked 3:1\n"},
    {"numbers that are no tools",
     "T1\n"
     "T70\n"
     "T4000\n"
     "G1 X1 E1 F600",
     "select 1\n"
     "L1 T1 0,0,0 -> 1,0,0 e1 f10\n"
     "! tool-not-on-machine 2:1 x2\n"},
    {"T alone asks, T with a fraction is unknown",
     "T\n"
     "T1.5",
     "? T1.5\n"},
    {"M6 after T, and with it",
     "T1\n"
     "M6\n"
     "M6 T0",
     "select 1\n"
     "select 0\n"},
    {"T in other words selects nothing",
     "M104 T1 S200\n"
     "M204 T500",
     "set head1 200\n"
     "limit travel_acceleration 500,nan,nan,nan\n"},
    {"without a selection the first tool prints", "G1 X1 E1 F600", "L1 T0 0,0,0 -> 1,0,0 e1 f10\n"},
    {"volumetric E of one tool",
     "M83\n"
     "M200 D2 T1\n"
     "G1 X1 E2.405281875 F600\n"
     "T1\n"
     "G1 X2 E3.14159265",
     "L1 T0 0,0,0 -> 1,0,0 e1 f10\n"
     "select 1\n"
     "L1 T1 1,0,0 -> 2,0,0 e1 f10\n"},
};

TEST(FilamentWords, MakeTheseRecords) {
  expect_all(kCases, machine());
}

}  // namespace
}  // namespace platetally::interpreter::test
