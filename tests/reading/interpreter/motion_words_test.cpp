// Words of motion, position and time: text in, records and diagnostics out.
// Show: L layer, T tool, from -> to, e filament, f feed in mm/s, arcs "about CENTRE by SWEEP".
#include <gtest/gtest.h>

#include "support.hpp"

namespace platetally::interpreter::test {
namespace {

const Case kCases[] = {
    {"numbers of every written form",
     "G1 X1.5 Y.5 Z-.5 F600\n"
     "G1 X+8 Y007 Z-0\n"
     "G1 X-1.5 Y5 Z-0.000",
     "L0 T0 0,0,0 -> 1.5,0.5,-0.5 f10\n"
     "L0 T0 1.5,0.5,-0.5 -> 8,7,0 f10\n"
     "L0 T0 8,7,0 -> -1.5,5,0 f10\n"},
    {"a letter without a number moves nothing",
     "G28 X\n"
     "G1 X Y E\n"
     "G1 X5 Y F600",
     "home\n"
     "L0 T0 0,0,0 -> 5,0,0 f10\n"},
    {"another fraction is another command",
     "G1 X5 F600\n"
     "G1.5 X9\n"
     "M104.7 P5\n"
     "G29.7 S2\n"
     "G92.1",
     "L0 T0 0,0,0 -> 5,0,0 f10\n"
     "? G1.5\n"
     "? G29.7\n"
     "? M104.7\n"},
    {"letters in any order", "G1 E.5 F1200 Y3 X4", "L1 T0 0,0,0 -> 4,3,0 e0.5 f20\n"},
    {"two commands on one line",
     "G90 G01 Z0.8\n"
     "G1 X31.74 Y98.8G1 Z2\n"
     "M109 S200G1 X0.1 Y200.0",
     "L0 T0 0,0,0 -> 0,0,0.8 f25\n"
     "L0 T0 0,0,0.8 -> 31.74,98.8,0.8 f25\n"
     "L0 T0 31.74,98.8,0.8 -> 31.74,98.8,2 f25\n"
     "set head0 200\n"
     "wait head0\n"
     "L0 T0 31.74,98.8,2 -> 0.1,200,2 f25\n"},
    {"no blanks, lower case, tabs",
     "g1x10y5e.2f600\n"
     "\tG1\tX20 \t ",
     "L1 T0 0,0,0 -> 10,5,0 e0.2 f10\n"
     "L1 T0 10,5,0 -> 20,5,0 f10\n"},
    {"lines without a command repeat the motion",
     "G1 X5 F600\n"
     "X-20 Y-24.5 F570\n"
     "F300\n"
     "X0",
     "L0 T0 0,0,0 -> 5,0,0 f10\n"
     "L0 T0 5,0,0 -> -20,-24.5,0 f9.5\n"
     "L0 T0 -20,-24.5,0 -> 0,-24.5,0 f5\n"},
    {"a line without a command before any motion", "X5 Y5",
     "L0 T0 0,0,0 -> 5,5,0 f25\n"
     "! motion-without-command 1:1\n"},
    {"letters without a command that mean no motion",
     "S5 P3\n"
     "G1 X1",
     "L0 T0 0,0,0 -> 1,0,0 f25\n"
     "? PS\n"},
    {"line numbers are no words",
     "N10 G1 X5 F600\n"
     "N20 X6\n"
     "N30",
     "L0 T0 0,0,0 -> 5,0,0 f10\n"
     "L0 T0 5,0,0 -> 6,0,0 f10\n"},
    {"feed alone, and feeds that are none",
     "G1 F600\n"
     "G1 X1 F0\n"
     "G1 X2 F-5",
     "L0 T0 0,0,0 -> 1,0,0 f10\n"
     "L0 T0 1,0,0 -> 2,0,0 f10\n"
     "! feed-not-positive 2:1 x2\n"},
    {"before the first feed the machine's own", "G1 X1", "L0 T0 0,0,0 -> 1,0,0 f25\n"},
    {"rapid moves",
     "G0 X5 F6000\n"
     "G0 Y5 E1",
     "L0 T0 0,0,0 -> 5,0,0 f100 rapid\n"
     "L1 T0 5,0,0 -> 5,5,0 e1 f100 rapid\n"},
    {"inches",
     "G20 G1 X1 E1 F60\n"
     "G21 G1 X26.4",
     "L1 T0 0,0,0 -> 25.4,0,0 e25.4 f25.4\n"
     "L1 T0 25.4,0,0 -> 26.4,0,0 f25.4\n"},
    {"relative moves, E by its own mode",
     "G91\n"
     "G1 X1 E2 F600\n"
     "G1 X1 E3\n"
     "G90\n"
     "G1 X0 E5",
     "L1 T0 0,0,0 -> 1,0,0 e2 f10\n"
     "L1 T0 1,0,0 -> 2,0,0 e1 f10\n"
     "L1 T0 2,0,0 -> 0,0,0 e2 f10\n"},
    {"G92 on all axes, on one, and bare",
     "G1 X4 Y1 Z1 E5 F600\n"
     "G92 X7\n"
     "G1 X8\n"
     "G92 X9 E0\n"
     "G1 X10 E1\n"
     "G92\n"
     "G1 X1 Y1 E1",
     "L1 T0 0,0,0 -> 4,1,1 e5 f10\n"
     "L1 T0 4,1,1 -> 5,1,1 f10\n"
     "L1 T0 5,1,1 -> 6,1,1 e1 f10\n"
     "L1 T0 6,1,1 -> 7,2,1 e1 f10\n"},
    {"offsets put aside and taken back",
     "G1 X4 F600\n"
     "G92 X0\n"
     "G1 X1\n"
     "G92.2\n"
     "G1 X6\n"
     "G92.3\n"
     "G1 X3\n"
     "G92.1\n"
     "G1 X1",
     "L0 T0 0,0,0 -> 4,0,0 f10\n"
     "L0 T0 4,0,0 -> 5,0,0 f10\n"
     "L0 T0 5,0,0 -> 6,0,0 f10\n"
     "L0 T0 6,0,0 -> 7,0,0 f10\n"
     "L0 T0 7,0,0 -> 1,0,0 f10\n"},
    {"machine coordinates for one line",
     "G1 X4 F600\n"
     "G92 X0\n"
     "G53 G1 X1\n"
     "G1 X1",
     "L0 T0 0,0,0 -> 4,0,0 f10\n"
     "L0 T0 4,0,0 -> 1,0,0 f10\n"
     "L0 T0 1,0,0 -> 5,0,0 f10\n"},
    {"a stored coordinate system",
     "G54\n"
     "G55\n"
     "G1 X1 F600\n"
     "G10 L2 P1 X5",
     "L0 T0 0,0,0 -> 1,0,0 f10\n"
     "! work-offset-ignored 2:1 x2\n"},
    {"homing forgets offset and place",
     "G1 X4 Y4 Z4 F600\n"
     "G92 X0 Y0\n"
     "G28 X Z\n"
     "G1 X1 Y1 Z1\n"
     "G28\n"
     "G1 X2",
     "L0 T0 0,0,0 -> 4,4,4 f10\n"
     "home\n"
     "L0 T0 0,4,0 -> 1,5,1 f10\n"
     "home\n"
     "L0 T0 0,0,0 -> 2,0,0 f10\n"},
    {"probing",
     "G29\n"
     "G30\n"
     "G38.2 Z-5 F100\n"
     "G1 Z0",
     "probe\n"
     "probe\n"
     "probe\n"
     "L0 T0 0,0,-5 -> 0,0,0 f25\n"},
    {"inverse time",
     "G93 G1 X10 F2\n"
     "G94 G1 X20 F600",
     "L0 T0 0,0,0 -> 10,0,0 f0.333333 per-move\n"
     "L0 T0 10,0,0 -> 20,0,0 f10\n"},
    {"arc with I and J",
     "G1 X7 Y7 F600\n"
     "G2 X10 Y16 I3 J4 E1",
     "L0 T0 0,0,0 -> 7,7,0 f10\n"
     "L1 T0 7,7,0 -> 10,16,0 e1 f10 about 10,11 by -2.49809\n"},
    {"arc with I alone, with J alone",
     "G1 X10 F600\n"
     "G3 X0 Y10 I-10\n"
     "G2 X10 Y0 J-10",
     "L0 T0 0,0,0 -> 10,0,0 f10\n"
     "L0 T0 10,0,0 -> 0,10,0 f10 about 0,0 by 1.5708\n"
     "L0 T0 0,10,0 -> 10,0,0 f10 about 0,0 by -1.5708\n"},
    {"a full turn and turns by P",
     "G1 X10 Y5 F600\n"
     "G3 I-5\n"
     "G2 Z0.6 I0.86 J0.86 P1\n"
     "G2 I5 P3",
     "L0 T0 0,0,0 -> 10,5,0 f10\n"
     "L0 T0 10,5,0 -> 10,5,0 f10 about 5,5 by 6.28319\n"
     "L0 T0 10,5,0 -> 10,5,0.6 f10 about 10.86,5.86 by -6.28319\n"
     "L0 T0 10,5,0.6 -> 10,5,0.6 f10 about 15,5 by -18.8496\n"},
    {"helix",
     "G1 X10 F600\n"
     "G3 X0 Y10 Z2 I-10 E5",
     "L0 T0 0,0,0 -> 10,0,0 f10\n"
     "L1 T0 10,0,0 -> 0,10,2 e5 f10 about 0,0 by 1.5708\n"},
    {"arc in radius form",
     "G2 X10 Y15 R20 F600\n"
     "G1 X0 Y0\n"
     "G2 X10 Y15 R-20",
     "L0 T0 0,0,0 -> 10,15,0 f10 about 19.8551,-2.40338 by -0.935085\n"
     "L0 T0 10,15,0 -> 0,0,0 f10\n"
     "L0 T0 0,0,0 -> 10,15,0 f10 about -9.85507,17.4034 by -5.3481\n"},
    {"radius shorter than half the chord", "G2 X10 Y0 R4 F600",
     "L0 T0 0,0,0 -> 10,0,0 f10 about 5,0 by -3.14159\n"
     "! arc-radius-mismatch 1:1\n"},
    {"arcs in the other planes",
     "G18 G2 X10 Z10 K0 I10 F600\n"
     "G17 G1 X0 Z0\n"
     "G19 G3 Y10 Z10 J10 K0",
     "L0 T0 0,0,0 -> 10,0,10 f10 about 0,10 by -4.71239\n"
     "L0 T0 10,0,10 -> 0,0,0 f10\n"
     "L0 T0 0,0,0 -> 0,10,10 f10 about 10,0 by 4.71239\n"},
    {"radius mismatch beyond 0.002 mm",
     "G2 X20.0019 Y0 I10 J0 F600\n"
     "G1 X0\n"
     "G2 X20.0021 Y0 I10 J0",
     "L0 T0 0,0,0 -> 20.0019,0,0 f10 about 10,0 by -3.14159\n"
     "L0 T0 20.0019,0,0 -> 0,0,0 f10\n"
     "L0 T0 0,0,0 -> 20.0021,0,0 f10 about 10,0 by -3.14159\n"
     "! arc-radius-mismatch 3:1\n"},
    {"arc words that tell no circle",
     "G2 X1 Y1 E1 F600\n"
     "G3 X1 Y1 R5\n"
     "G3 X2 I0 J0",
     "L1 T0 0,0,0 -> 1,1,0 e1 f10\n"
     "L1 T0 1,1,0 -> 1,1,0 f10\n"
     "L1 T0 1,1,0 -> 2,1,0 f10\n"
     "! arc-without-centre 1:1 x3\n"},
    {"modal arcs without a command",
     "G1 X10 F600\n"
     "G3 X0 Y10 I-10\n"
     "X-10 Y0 J-10",
     "L0 T0 0,0,0 -> 10,0,0 f10\n"
     "L0 T0 10,0,0 -> 0,10,0 f10 about 0,0 by 1.5708\n"
     "L0 T0 0,10,0 -> -10,0,0 f10 about 0,0 by 1.5708\n"},
    {"motion cancelled",
     "G1 X1 F600\n"
     "G80\n"
     "X2",
     "L0 T0 0,0,0 -> 1,0,0 f10\n"
     "L0 T0 1,0,0 -> 2,0,0 f10\n"
     "! motion-without-command 3:1\n"},
    {"dwell",
     "G4 P500\n"
     "G4 S2\n"
     "G4\n"
     "G4 P-5\n"
     "G4 S1000000",
     "dwell 0.5\n"
     "dwell 2\n"
     "dwell 0\n"
     "dwell 604800\n"
     "! dwell-negative 4:1\n"
     "! dwell-too-long 5:1\n"},
    {"waits for moves, pauses, timed pauses",
     "G1 X1 F600\n"
     "M400\n"
     "M0\n"
     "M1\n"
     "M600\n"
     "M226\n"
     "M0 S5\n"
     "M1 P500",
     "L0 T0 0,0,0 -> 1,0,0 f10\n"
     "dwell 0\n"
     "pause\n"
     "pause\n"
     "pause\n"
     "pause\n"
     "dwell 5\n"
     "dwell 0.5\n"},
    {"nothing runs after the end",
     "G1 X1 F600\n"
     "M2\n"
     "G1 X2\n"
     "G1 X3",
     "L0 T0 0,0,0 -> 1,0,0 f10\n"
     "! after-end 3:0 x2\n"},
    {"motors",
     "G1 X1 F600\n"
     "M84 S30\n"
     "M84 E\n"
     "M84 X Y E\n"
     "G1 X2\n"
     "M18\n"
     "M17",
     "L0 T0 0,0,0 -> 1,0,0 f10\n"
     "motors 0\n"
     "motors 1\n"
     "L0 T0 1,0,0 -> 2,0,0 f10\n"
     "motors 0\n"
     "motors 1\n"},
    {"a move beyond reason",
     "G1 X5 F600\n"
     "G1 X99999999999\n"
     "G1 X6",
     "L0 T0 0,0,0 -> 5,0,0 f10\n"
     "L0 T0 5,0,0 -> 6,0,0 f10\n"
     "! move-out-of-range 2:1\n"},
    {"feed alone before any motion, and behind an arc",
     "F600\n"
     "G1 X5\n"
     "G3 I-5\n"
     "F300\n"
     "G1 X6",
     "L0 T0 0,0,0 -> 5,0,0 f10\n"
     "L0 T0 5,0,0 -> 5,0,0 f10 about 0,0 by 6.28319\n"
     "L0 T0 5,0,0 -> 6,0,0 f5\n"},
    {"G10 L stores a coordinate system", "G10 L20 P1 X0", "! work-offset-ignored 1:1\n"},
};

TEST(MotionWords, MakeTheseRecords) {
  expect_all(kCases, machine());
}

}  // namespace
}  // namespace platetally::interpreter::test
