// A record with the time that the machine's motion gives it.
#pragma once

#include "reading/interpreter/record.hpp"

namespace platetally::motion {

/// `motion_s` is the time of a move or of a stated stand-still (dwell, takes_seconds, firmware
/// retraction, homing, probing, pause, swap seconds are added by the stages that know them: 0 here
/// for select_tool, wait_heater, home, probe, pause). `length_mm` is the path length of X Y Z.
struct TimedRecord {
  interpreter::Record record;
  double motion_s = 0.0;
  double length_mm = 0.0;
};

}  // namespace platetally::motion
