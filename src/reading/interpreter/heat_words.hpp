// Words that heat, wait for heat, and blow.
#pragma once

#include "reading/gcode/words.hpp"
#include "reading/interpreter/events.hpp"
#include "reading/interpreter/remarks.hpp"
#include "reading/interpreter/set_points.hpp"
#include "reading/interpreter/tool_in_hand.hpp"

namespace platetally::interpreter {

class HeatWords {
 public:
  /// All must outlive it.
  HeatWords(Events& events, Remarks& remarks, const ToolInHand& hand)
      : events_(events), remarks_(remarks), hand_(hand), points_(hand.count()) {}

  /// S sets and waits for warming only, R sets and waits for cooling too; without either a waiting
  /// word waits for the set point in force. A setting word's R is another machine's standby: no set
  /// point.
  void run(Heater heater, const gcode::Words& words, bool waits);
  void wait_for_all();
  void run_fan(const gcode::Words& words, bool on);
  /// G10 P S R: what a tool is heated to in hand, and while it waits.
  void set_tool(const gcode::Words& words);
  /// Where a standby temperature was given, the tool that goes sinks to it and the tool that comes
  /// rises to its active one.
  void change_tool(int from, int to);

  /// A set point by other means than those words; `tool`: of a head.
  void set(Heater heater, int tool, double set_c);
  void wait(Heater heater, int tool, bool cooling);
  /// The same of a head, in hand.
  void set_active(int tool, double set_c) { points_.set_active_c(tool, set_c); }

  const SetPoints& points() const { return points_; }

 private:
  void turn(int tool, bool active);

  Events& events_;
  Remarks& remarks_;
  const ToolInHand& hand_;
  SetPoints points_;
};

}  // namespace platetally::interpreter
