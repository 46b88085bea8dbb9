// Seconds of a record that is no move, as far as it states them or they follow from the machine's
// own motion: dwell, and retraction and its return by the machine, a move of E from rest to rest
// within the retract acceleration and E's limits, then the lift of Z, if any, within the travel
// acceleration and Z's. A cruise share s leaves a move from rest to rest a peak of
// v^2 = (1 - s) a L, as cruise_share.hpp has it.
#pragma once

#include "platetally/machine.hpp"
#include "reading/interpreter/record.hpp"

namespace platetally::motion {

double standing_s(const interpreter::Record& record, const MotionLimits& limits,
                  const Procedures& procedures);

}  // namespace platetally::motion
