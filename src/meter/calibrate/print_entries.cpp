// Widths are standard deviations of what is known of an entry before any print was seen, of its
// logarithm where `by_logarithm`: machine files that were typed from a data sheet, or an embedded
// machine that stands for another of its kind. All assumed, like the correlations: who is wrong
// about one acceleration is mostly wrong about the others by the same factor.
#include "meter/calibrate/print_entries.hpp"

#include <algorithm>
#include <cmath>

#include "meter/calibrate/parameters.hpp"
#include "meter/calibrate/statistics.hpp"

namespace platetally::calibrate {

namespace {

constexpr double kLogStep = 0.04;  // of a logarithm: beyond what the model rounds

using Get = double (*)(const Machine&);
using Set = void (*)(Machine&, double);

PrintEntry by_log(std::vector<std::string> keys, std::string unit, double low, double high,
                  double width, const char* settled_by, Get get, Set set) {
  return {std::move(keys), std::move(unit), true, low, high, width, settled_by, get, set};
}

PrintEntry plain(std::vector<std::string> keys, const char* unit, double low, double high,
                 double width, const char* settled_by, Get get, Set set) {
  return {std::move(keys), unit, false, low, high, width, settled_by, get, set};
}

/// Low and high keep their ratio to what is expected.
void scale(Range& range, double expected) {
  if (range.expected <= 0.0) {
    range = {expected, expected, expected};
    return;
  }
  const double factor = expected / range.expected;
  range = {range.low * factor, expected, range.high * factor};
}

void add_corner(CornerModel model, std::vector<PrintEntry>& entries) {
  constexpr const char* kCurves = "a print of fine curves and small details";
  constexpr const char* kFilament = "a print with short extruding moves of changing width";
  switch (model) {
    case CornerModel::corner_speed:
      entries.push_back(by_log(
          {"motion.corner_speed_mm_s"}, "mm/s", 0.1, 200.0, 0.5, kCurves,
          [](const Machine& m) { return m.motion.corner_speed_mm_s; },
          [](Machine& m, double v) { m.motion.corner_speed_mm_s = v; }));
      entries.push_back(plain(
          {"motion.least_cruise_share"}, "", 0.0, 0.95, 0.25,
          "a print with much narrow zigzag infill",
          [](const Machine& m) { return m.motion.least_cruise_share; },
          [](Machine& m, double v) { m.motion.least_cruise_share = v; }));
      entries.push_back(by_log(
          {"motion.e_corner_step_mm_s"}, "mm/s", 0.01, 200.0, 0.7, kFilament,
          [](const Machine& m) { return m.motion.corner_step_mm_s[3]; },
          [](Machine& m, double v) { m.motion.corner_step_mm_s[3] = v; }));
      break;
    case CornerModel::junction_deviation:
      entries.push_back(by_log(
          {"motion.junction_deviation_mm"}, "mm", 1e-4, 1.0, 0.8, kCurves,
          [](const Machine& m) { return m.motion.junction_deviation_mm; },
          [](Machine& m, double v) { m.motion.junction_deviation_mm = v; }));
      break;
    case CornerModel::speed_step:
      entries.push_back(by_log(
          {"motion.x_corner_step_mm_s", "motion.y_corner_step_mm_s"}, "mm/s", 0.1, 200.0, 0.5,
          kCurves, [](const Machine& m) { return m.motion.corner_step_mm_s[0]; },
          [](Machine& m, double v) {
            m.motion.corner_step_mm_s[0] = m.motion.corner_step_mm_s[1] = v;
          }));
      entries.push_back(by_log(
          {"motion.e_corner_step_mm_s"}, "mm/s", 0.01, 200.0, 0.7, kFilament,
          [](const Machine& m) { return m.motion.corner_step_mm_s[3]; },
          [](Machine& m, double v) { m.motion.corner_step_mm_s[3] = v; }));
      break;
  }
}

/// Controllers that know a corner speed keep one acceleration for all moves of X and Y.
bool has_one_acceleration(const MotionLimits& motion) {
  return motion.corner_model == CornerModel::corner_speed &&
         motion.print_acceleration_mm_s2 == motion.travel_acceleration_mm_s2;
}

void add_accelerations(const Machine& machine, std::vector<PrintEntry>& entries) {
  constexpr const char* kNone = "a print that sets no accelerations of its own";
  if (has_one_acceleration(machine.motion)) {
    entries.push_back(by_log(
        {"motion.print_acceleration_mm_s2", "motion.travel_acceleration_mm_s2"}, "mm/s2", 50.0, 2e5,
        0.8, kNone, [](const Machine& m) { return m.motion.print_acceleration_mm_s2; },
        [](Machine& m, double v) {
          m.motion.print_acceleration_mm_s2 = m.motion.travel_acceleration_mm_s2 = v;
        }));
    return;
  }
  entries.push_back(by_log(
      {"motion.x_acceleration_mm_s2", "motion.y_acceleration_mm_s2"}, "mm/s2", 50.0, 2e5, 0.8,
      "a print that asks for very high accelerations",
      [](const Machine& m) { return m.motion.acceleration_mm_s2[0]; },
      [](Machine& m, double v) {
        m.motion.acceleration_mm_s2[0] = m.motion.acceleration_mm_s2[1] = v;
      }));
  entries.push_back(by_log(
      {"motion.print_acceleration_mm_s2"}, "mm/s2", 50.0, 2e5, 0.8, kNone,
      [](const Machine& m) { return m.motion.print_acceleration_mm_s2; },
      [](Machine& m, double v) { m.motion.print_acceleration_mm_s2 = v; }));
  entries.back().like_the_last = 0.6;
  entries.push_back(by_log(
      {"motion.travel_acceleration_mm_s2"}, "mm/s2", 50.0, 2e5, 0.8,
      "a print of many small parts far apart, without accelerations of its own",
      [](const Machine& m) { return m.motion.travel_acceleration_mm_s2; },
      [](Machine& m, double v) { m.motion.travel_acceleration_mm_s2 = v; }));
  entries.back().like_the_last = 0.8;
}

void add_axes(const Machine& machine, std::vector<PrintEntry>& entries) {
  constexpr const char* kHops = "a tall print with many layers or lifts of Z";
  constexpr const char* kRetractions = "a print with very many retractions";
  entries.push_back(by_log(
      {"motion.x_speed_mm_s", "motion.y_speed_mm_s"}, "mm/s", 5.0, 3000.0, 0.7,
      "a wide print with long fast travels",
      [](const Machine& m) { return m.motion.speed_mm_s[0]; },
      [](Machine& m, double v) { m.motion.speed_mm_s[0] = m.motion.speed_mm_s[1] = v; }));
  add_accelerations(machine, entries);
  entries.push_back(by_log(
      {"motion.z_speed_mm_s"}, "mm/s", 0.2, 500.0, 0.7, kHops,
      [](const Machine& m) { return m.motion.speed_mm_s[2]; },
      [](Machine& m, double v) { m.motion.speed_mm_s[2] = v; }));
  entries.push_back(by_log(
      {"motion.z_acceleration_mm_s2"}, "mm/s2", 5.0, 1e5, 0.7, kHops,
      [](const Machine& m) { return m.motion.acceleration_mm_s2[2]; },
      [](Machine& m, double v) { m.motion.acceleration_mm_s2[2] = v; }));
  entries.push_back(by_log(
      {"motion.e_speed_mm_s"}, "mm/s", 1.0, 1000.0, 0.7, kRetractions,
      [](const Machine& m) { return m.motion.speed_mm_s[3]; },
      [](Machine& m, double v) { m.motion.speed_mm_s[3] = v; }));
  entries.push_back(by_log(
      {"motion.retract_acceleration_mm_s2"}, "mm/s2", 20.0, 2e5, 0.7, kRetractions,
      [](const Machine& m) { return m.motion.retract_acceleration_mm_s2; },
      [](Machine& m, double v) { m.motion.retract_acceleration_mm_s2 = v; }));
}

void add_standing(const PrintTraits& traits, std::vector<PrintEntry>& entries) {
  if (traits.has_head_changes)
    entries.push_back(by_log(
        {"swap.head_change_s"}, "s", 0.2, 1800.0, 0.5, "a print with changes of the head",
        [](const Machine& m) { return m.swap.head_change_s.expected; },
        [](Machine& m, double v) { scale(m.swap.head_change_s, v); }));
  if (traits.has_filament_changes)
    entries.push_back(by_log(
        {"swap.filament_change_s"}, "s", 1.0, 1800.0, 0.5, "a print with changes of filament",
        [](const Machine& m) { return m.swap.filament_change_s.expected; },
        [](Machine& m, double v) { scale(m.swap.filament_change_s, v); }));
  if (traits.has_starts)
    entries.push_back(plain(
        {"procedures.start_s"}, "s", 0.0, 1800.0, 180.0,
        "short prints whose seconds begin with the first line (span start)",
        [](const Machine& m) { return m.procedures.start_s.expected; },
        [](Machine& m, double v) { scale(m.procedures.start_s, v); }));
  entries.push_back(plain(
      {"procedures.end_s"}, "s", 0.0, 600.0, 5.0, "short prints, several of them",
      [](const Machine& m) { return m.procedures.end_s.expected; },
      [](Machine& m, double v) { scale(m.procedures.end_s, v); }));
}

/// One that logs can tell as well (parameters()), with a width of its own.
PrintEntry energy_entry(std::string_view key, double width, const char* settled_by) {
  const Parameter& known = parameter_named(key);
  return by_log({known.key}, known.unit, known.low, known.high, width, settled_by, known.get,
                known.set);
}

/// What logs said of an entry takes the place of its width.
void narrow(const CalibrationReport& logs, std::vector<PrintEntry>& entries) {
  constexpr double kDeviations = 2.0 * kHalf95;  // across a 95 % interval
  for (PrintEntry& entry : entries)
    for (const FittedParameter& fitted : logs.fitted)
      if (fitted.key == entry.keys.front() && fitted.low > 0.0 && fitted.high > fitted.low)
        entry.width = std::min(entry.width, std::log(fitted.high / fitted.low) / kDeviations);
}

}  // namespace

double PrintEntry::coordinate(double value) const {
  const double inside = std::clamp(value, low, high);
  return by_logarithm ? std::log(inside) : inside;
}

double PrintEntry::value(double coordinate) const {
  return std::clamp(by_logarithm ? std::exp(coordinate) : coordinate, low, high);
}

std::vector<PrintEntry> time_entries(const Machine& machine, const PrintTraits& traits) {
  std::vector<PrintEntry> entries;
  add_axes(machine, entries);
  add_corner(machine.motion.corner_model, entries);
  add_standing(traits, entries);
  return entries;
}

std::vector<PrintEntry> energy_entries(const Machine& machine, const CalibrationReport* logs) {
  constexpr const char* kIdle = "a log of ten minutes of standing still (--log FILE:idle)";
  constexpr const char* kBed = "a log of the bed, warm-up, hold and cool-down (--plan)";
  constexpr const char* kNozzle = "a log of the nozzle, warm-up and hold (--plan)";
  constexpr const char* kFan = "a log of the part fan (--plan)";
  constexpr const char* kPrint = "a log of a print (--log FILE:plate=PLATE)";
  constexpr const char* kBeds = "prints with the bed at very different temperatures";
  constexpr const char* kLong = "long prints, and short ones, with the enclosure closed";
  std::vector<PrintEntry> entries{energy_entry("supply.idle_w", 0.5, kIdle),
                                  energy_entry("bed.areal_heat_capacity_j_m2k", 0.5, kBed),
                                  energy_entry("bed.convection_factor", 0.4, kBeds),
                                  energy_entry("bed.underside_loss_w_m2k", 0.5, kBeds),
                                  energy_entry("heads.still_loss_w_k", 1.0, kNozzle),
                                  energy_entry("heads.fan_w", 0.5, kNozzle),
                                  energy_entry("supply.part_fan_w", 0.5, kFan),
                                  energy_entry("supply.motors_holding_w", 0.5, kPrint),
                                  energy_entry("supply.motors_moving_w", 0.5, kPrint)};
  entries.back().like_the_last = 0.8;
  if (machine.supply.auxiliary_fans_w > 0.0)
    entries.push_back(energy_entry("supply.auxiliary_fans_w", 0.5, kPrint));
  if (machine.enclosure.present)
    entries.push_back(energy_entry(
        machine.enclosure.door_open ? "enclosure.loss_open_w_k" : "enclosure.loss_closed_w_k", 0.5,
        kLong));
  if (machine.enclosure.present)
    entries.push_back(energy_entry("enclosure.heat_capacity_j_k", 1.0, kLong));
  if (logs != nullptr)
    narrow(*logs, entries);
  return entries;
}

std::vector<PrintEntry> weight_entries() {
  return {plain(
      {"swap.hidden_purge_mm3"}, "mm3", 0.0, 5000.0, 100.0, "weighed prints with many changes",
      [](const Machine& m) { return m.swap.hidden_purge_mm3; },
      [](Machine& m, double v) { m.swap.hidden_purge_mm3 = v; })};
}

Machine machine_at(const Machine& machine, const std::vector<PrintEntry>& entries,
                   const Eigen::VectorXd& x) {
  Machine changed = machine;
  for (std::size_t k = 0; k < entries.size(); ++k) {
    // What stays keeps every digit, and may lie outside of what a fit may reach.
    const double at = x[static_cast<Eigen::Index>(k)];
    if (at != entries[k].coordinate(entries[k].get(machine)))
      entries[k].set(changed, entries[k].value(at));
  }
  // The limits of the axes hold for the accelerations of moves too; those that were given already
  // stay as they were given.
  MotionLimits& motion = changed.motion;
  const auto at_least = [](double& limit, double value, double before) {
    if (value > before)
      limit = std::max(limit, value);
  };
  for (const std::size_t axis : {std::size_t{0}, std::size_t{1}}) {
    at_least(motion.acceleration_mm_s2[axis], motion.print_acceleration_mm_s2,
             machine.motion.print_acceleration_mm_s2);
    at_least(motion.acceleration_mm_s2[axis], motion.travel_acceleration_mm_s2,
             machine.motion.travel_acceleration_mm_s2);
  }
  at_least(motion.acceleration_mm_s2[3], motion.retract_acceleration_mm_s2,
           machine.motion.retract_acceleration_mm_s2);
  return changed;
}

FitProblem problem_of(const Machine& machine, const std::vector<PrintEntry>& entries) {
  FitProblem problem;
  const auto count = static_cast<Eigen::Index>(entries.size());
  problem.correlation = Eigen::MatrixXd::Identity(count, count);
  for (std::size_t k = 0; k < entries.size(); ++k) {
    const PrintEntry& entry = entries[k];
    const double start = entry.get(machine);
    problem.entries.push_back({entry.coordinate(start), entry.width, entry.coordinate(entry.low),
                               entry.coordinate(entry.high),
                               entry.by_logarithm ? kLogStep : 0.1 * entry.width});
    // A chain: each with the one before, and what both share with the one before that.
    double shared = 1.0;
    for (std::size_t before = k; before > 0 && shared > 0.0; --before) {
      shared *= entries[before].like_the_last;
      const auto row = static_cast<Eigen::Index>(k);
      const auto column = static_cast<Eigen::Index>(before - 1);
      problem.correlation(row, column) = problem.correlation(column, row) = shared;
    }
  }
  return problem;
}

Machine with_corner_model(Machine machine, CornerModel model) {
  MotionLimits& motion = machine.motion;
  if (motion.corner_model == model)
    return machine;
  motion.corner_model = model;
  if (model != CornerModel::corner_speed)
    return machine;
  // Common practice, no source: what controllers of this kind do when nobody tells them otherwise.
  motion.corner_speed_mm_s = 5.0;
  motion.least_cruise_share = 0.5;
  motion.corner_step_mm_s[3] = 1.0;
  motion.arc_chord_mm = 1.0;
  motion.look_ahead_moves = 0;  // a cruise share looks at all moves
  return machine;
}

}  // namespace platetally::calibrate
