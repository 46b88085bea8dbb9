// Words of heaters, fans, limits and factors: text in, records and diagnostics out.
#include <gtest/gtest.h>

#include "support.hpp"

namespace platetally::interpreter::test {
namespace {

const Case kCases[] = {
    {"heads, with and without T",
     "M104 S200\n"
     "M104 T1 S210\n"
     "T1\n"
     "M104 S190",
     "set head0 200\n"
     "set head1 210\n"
     "select 1\n"
     "set head1 190\n"},
    {"waits for warming, and for cooling too",
     "M109 S200\n"
     "M109 R180\n"
     "M190 S60\n"
     "M190 R40",
     "set head0 200\n"
     "wait head0\n"
     "set head0 180\n"
     "wait head0 cooling\n"
     "set bed 60\n"
     "wait bed\n"
     "set bed 40\n"
     "wait bed cooling\n"},
    {"a wait without a set point",
     "M104 S200\n"
     "M109\n"
     "M140 S60\n"
     "M190",
     "set head0 200\n"
     "wait head0\n"
     "set bed 60\n"
     "wait bed\n"},
    {"off, by zero and below",
     "M104 S0\n"
     "M104 S-273\n"
     "M140 S0",
     "set head0 0\n"
     "set head0 0\n"
     "set bed 0\n"},
    {"R of a setting word is no set point", "M140 R60", ""},
    {"a heater of a tool that is not there",
     "M104 T7 S200\n"
     "M109 T-1 S200",
     "! word-for-missing-tool 1:1 x2\n"},
    {"enclosure",
     "M141 S45\n"
     "M191 S50",
     "set enclosure 45\n"
     "set enclosure 50\n"
     "wait enclosure\n"},
    {"wait for all",
     "M116\n"
     "M140 S60\n"
     "M104 S200\n"
     "M141 S40\n"
     "M116",
     "set bed 60\n"
     "set head0 200\n"
     "set enclosure 40\n"
     "wait bed\n"
     "wait head0\n"
     "wait enclosure\n"},
    {"fans",
     "M106\n"
     "M106 S127.5\n"
     "M106 P2 S255\n"
     "M106 S300\n"
     "M106 S0.5\n"
     "M107\n"
     "M107 P2",
     "fan0 1\n"
     "fan0 0.5\n"
     "fan2 1\n"
     "fan0 1\n"
     "fan0 0.001961\n"
     "fan0 0\n"
     "fan2 0\n"
     "! fan-duty-small 5:1\n"},
    {"temperatures of a tool by G10",
     "T0\n"
     "G10 P0 S200 R150\n"
     "G10 P1 S210 R160\n"
     "T1\n"
     "T-1\n"
     "T0\n"
     "G10 P1 S220",
     "select 0\n"
     "set head0 200\n"
     "set head1 160\n"
     "select 1\n"
     "set head0 150\n"
     "set head1 210\n"
     "select -1\n"
     "set head1 160\n"
     "select 0\n"
     "set head0 200\n"},
    {"G10 for a tool that is not there, and with an offset",
     "G10 P9 S200\n"
     "G10 P0 X1 Y2",
     "! word-for-missing-tool 1:1\n"
     "! tool-offset-ignored 2:1\n"},
    {"axis limits",
     "M201 X500 Y600\n"
     "M203 X200 E30 Z0\n"
     "M201",
     "limit axis_acceleration 500,600,nan,nan\n"
     "limit axis_speed 200,nan,nan,30\n"
     "! limit-not-positive 2:1\n"},
    {"accelerations; T is no tool",
     "M204 S800\n"
     "M204 P500 R600 T700\n"
     "M204",
     "limit print_acceleration 800,nan,nan,nan\n"
     "limit travel_acceleration 800,nan,nan,nan\n"
     "limit print_acceleration 500,nan,nan,nan\n"
     "limit travel_acceleration 700,nan,nan,nan\n"
     "limit retract_acceleration 600,nan,nan,nan\n"},
    {"corner words",
     "M205 X8 Y9 E5\n"
     "M205 J0.02\n"
     "M205 S1 T2 B20000\n"
     "M205 X0",
     "limit corner_step 8,9,nan,5\n"
     "limit junction_deviation 0.02,nan,nan,nan\n"
     "limit minimum_print_feed 1,nan,nan,nan\n"
     "limit minimum_travel_feed 2,nan,nan,nan\n"
     "limit minimum_segment_time 0.02,nan,nan,nan\n"
     "limit corner_step 0,nan,nan,nan\n"},
    {"limits that are none",
     "M204 S0\n"
     "M201 X-5\n"
     "M205 J0",
     "! limit-not-positive 1:1 x4\n"},
    {"limits in inches",
     "G20\n"
     "M203 X10",
     "limit axis_speed 254,nan,nan,nan\n"},
    {"feed and flow factors",
     "M83\n"
     "M220 S50\n"
     "G1 X10 E1 F600\n"
     "M221 S90\n"
     "G1 X20 E1\n"
     "M221 S\n"
     "M220 S0\n"
     "M221 T1 S200\n"
     "T1\n"
     "G1 X30 E1",
     "L1 T0 0,0,0 -> 10,0,0 e1 f5\n"
     "L1 T0 10,0,0 -> 20,0,0 e0.9 f5\n"
     "select 1\n"
     "L1 T1 20,0,0 -> 30,0,0 e2 f5\n"
     "! factor-not-positive 7:1\n"},
    {"settings that the account leaves out",
     "M92 E400\n"
     "M207 S1\n"
     "G1 X1",
     "L0 T0 0,0,0 -> 1,0,0 f25\n"
     "! word-not-modelled 1:1 x2\n"},
};

TEST(HeatWords, MakeTheseRecords) {
  expect_all(kCases, machine());
}

}  // namespace
}  // namespace platetally::interpreter::test
