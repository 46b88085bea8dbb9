#include "machine/description/motion_keys.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

namespace platetally::machine {

namespace {

const char* name_of(CornerModel model) {
  switch (model) {
    case CornerModel::junction_deviation:
      return "junction_deviation";
    case CornerModel::speed_step:
      return "speed_step";
    case CornerModel::corner_speed:
      break;
  }
  return "corner_speed";
}

/// The models that a corner key belongs to, the usual one first; empty: it is no corner's.
std::vector<CornerModel> models_of(const std::string& key) {
  if (key == "junction_deviation_mm")
    return {CornerModel::junction_deviation};
  if (key == "corner_speed_mm_s")
    return {CornerModel::corner_speed};
  if (key == "e_corner_step_mm_s")
    return {CornerModel::speed_step, CornerModel::corner_speed};
  if (key.ends_with("_corner_step_mm_s"))
    return {CornerModel::speed_step};
  return {};
}

double value_of(const std::string& motion_key, const Machine& machine) {
  Machine copy = machine;
  for (const Key& key : machine_keys())
    if (key.table == "motion" && key.name == motion_key)
      if (const auto* number = std::get_if<NumberAt>(&key.value))
        return number->at(copy);
  return 0.0;
}

void say(MachineLoad& load, Severity severity, const char* code, const StatedKey& where,
         std::string message) {
  Diagnostic diagnostic;
  diagnostic.code = code;
  diagnostic.severity = severity;
  diagnostic.line = where.line;
  diagnostic.column = where.column;
  diagnostic.message = std::move(message);
  load.diagnostics.push_back(std::move(diagnostic));
}

/// A key of another corner model than the chosen one. Files that state every key, as one that was
/// printed to start from, have such keys at their defaults.
void check_corner_key(const StatedKey& stated, const Machine& before, MachineLoad& load) {
  const CornerModel model = as_read(load).motion.corner_model;
  const double value = value_of(stated.name, as_read(load));
  const bool is_new = stated.name == "corner_speed_mm_s";  // which no older file has
  if (has_effect(stated.name, model) || (!is_new && value == value_of(stated.name, before)))
    return;
  say(load, Severity::warning, "corner-key-without-effect", stated,
      fmt::format("motion.{}: found {} beside corner_model = \"{}\", by which it has no effect; "
                  "expected corner_model = \"{}\"; the key was left out",
                  stated.name, value, name_of(model), name_of(models_of(stated.name).front())));
}

void check_deviation(const StatedKey& stated, MachineLoad& load) {
  const MotionLimits& motion = as_read(load).motion;
  if (stated.name == "junction_deviation_mm" &&
      motion.corner_model == CornerModel::junction_deviation &&
      motion.junction_deviation_mm > kLargeDeviation_mm)
    say(load, Severity::warning, "deviation-too-large", stated,
        fmt::format(
            "motion.junction_deviation_mm: found {} mm, more than any corner can be cut by; "
            "expected 0.005 to 0.05; went on with it. A speed at a right angle is another "
            "model: corner_model = \"corner_speed\", corner_speed_mm_s",
            motion.junction_deviation_mm));
}

/// A share wins over a window that the file did not state itself.
void check_window(const std::vector<StatedKey>& stated, MachineLoad& load) {
  MotionLimits& motion = as_read(load).motion;
  const auto states = [&](const char* name) {
    return std::ranges::find(stated, name, &StatedKey::name);
  };
  const auto share = states("least_cruise_share");
  if (!(motion.least_cruise_share > 0.0) || motion.look_ahead_moves == 0 || share == stated.end() ||
      states("look_ahead_moves") != stated.end())
    return;
  say(load, Severity::note, "cruise-and-window", *share,
      fmt::format("motion.least_cruise_share: the machine that this file extends sees {} moves "
                  "ahead, and a window and a share exclude one another; went on with "
                  "look_ahead_moves = 0",
                  motion.look_ahead_moves));
  motion.look_ahead_moves = 0;
}

}  // namespace

bool has_effect(const std::string& motion_key, CornerModel model) {
  const std::vector<CornerModel> models = models_of(motion_key);
  return models.empty() || std::ranges::find(models, model) != models.end();
}

void check_motion_keys(const std::vector<StatedKey>& stated, const Machine& before,
                       MachineLoad& load) {
  for (const StatedKey& one : stated) {
    check_corner_key(one, before, load);
    check_deviation(one, load);
  }
  check_window(stated, load);
}

}  // namespace platetally::machine
