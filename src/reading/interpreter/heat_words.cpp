#include "reading/interpreter/heat_words.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace platetally::interpreter {

namespace {

constexpr double kFanFull = 255.0;

}  // namespace

void HeatWords::set(Heater heater, int tool, double set_c) {
  points_.set(heater, tool, set_c);
  Record setting = events_.make(RecordKind::set_heater);
  setting.event.heater = heater;
  setting.event.tool = tool;
  setting.event.value = set_c;
  events_.push(setting);
}

void HeatWords::wait(Heater heater, int tool, bool cooling) {
  Record wait = events_.make(RecordKind::wait_heater);
  wait.event.heater = heater;
  wait.event.tool = tool;
  wait.event.wait_cooling = cooling;
  events_.push(wait);
}

void HeatWords::run(Heater heater, const gcode::Words& words, bool waits) {
  int tool = -1;
  if (heater == Heater::head) {
    tool = hand_.named_by(words, remarks_);
    if (tool < 0)
      return;
  }
  const bool cooling = waits && !words.has('S') && words.has('R');
  if (words.has('S') || cooling) {
    const double set_c = std::max(0.0, words[cooling ? 'R' : 'S']);
    set(heater, tool, set_c);
    if (heater == Heater::head)
      points_.set_active_c(tool, set_c);
  }
  if (waits)
    wait(heater, tool, cooling);
}

void HeatWords::wait_for_all() {
  if (points_.bed_c() > 0.0)
    wait(Heater::bed, -1, false);
  for (int tool = 0; tool < static_cast<int>(hand_.count()); ++tool)
    if (points_.head_c(tool) > 0.0)
      wait(Heater::head, tool, false);
  if (points_.enclosure_c() > 0.0)
    wait(Heater::enclosure, -1, false);
}

void HeatWords::run_fan(const gcode::Words& words, bool on) {
  const double said = on ? words.get('S', kFanFull) : 0.0;
  if (said > 0.0 && said < 1.0)
    remarks_.say("fan-duty-small", Severity::note, [said] {
      return fmt::format("fan duty S{} was read as {} of 255, not as a share of 1", said, said);
    });
  Record setting = events_.make(RecordKind::set_fan);
  setting.event.tool = static_cast<std::int32_t>(std::clamp(words.get('P', 0.0), 0.0, 255.0));
  setting.event.value = std::clamp(said / kFanFull, 0.0, 1.0);
  events_.push(setting);
}

void HeatWords::set_tool(const gcode::Words& words) {
  if (!hand_.has(words['P'])) {
    remarks_.say("word-for-missing-tool", Severity::warning, [&] {
      return fmt::format("G10 for tool {}; the machine has tools 0 to {}; the word was left out",
                         words['P'], hand_.count() - 1);
    });
    return;
  }
  const auto tool = static_cast<int>(words['P']);
  if (words.has('R'))
    points_.set_standby_c(tool, std::max(0.0, words['R']));
  if (words.has('S'))
    points_.set_active_c(tool, std::max(0.0, words['S']));
  const bool active = tool == hand_.in_hand() || !points_.has_standby(tool);
  if (active ? words.has('S') : words.has('R'))
    set(Heater::head, tool, active ? points_.active_c(tool) : points_.standby_c(tool));
  if (words.has('X') || words.has('Y') || words.has('Z'))
    remarks_.say("tool-offset-ignored", Severity::note, [] {
      return std::string(
          "G10 P with axis words sets where a tool's tip is; positions were taken as those of the "
          "tip");
    });
}

void HeatWords::turn(int tool, bool active) {
  if (tool < 0 || !points_.has_standby(tool))
    return;
  const double set_c = active ? points_.active_c(tool) : points_.standby_c(tool);
  if (set_c != points_.head_c(tool))
    set(Heater::head, tool, set_c);
}

void HeatWords::change_tool(int from, int to) {
  if (from == to)
    return;
  turn(from, false);
  turn(to, true);
}

}  // namespace platetally::interpreter
