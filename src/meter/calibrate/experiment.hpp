// An experiment: what the machine did, as the heat model plays it, and what the log saw.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "meter/logs/align.hpp"
#include "motion/timeline/heat_log.hpp"
#include "platetally/calibrate.hpp"

namespace platetally::calibrate {

/// "bed=60,zones=0.0+0.1", taken apart.
struct ExperimentName {
  enum class Kind { idle, bed, nozzle, fan, plate, logged } kind = Kind::idle;
  double value = 0.0;
  std::uint64_t zones = 0;  ///< bits row * columns + column; 0: all
  std::string path;
};

/// Throws std::invalid_argument, with what was expected.
ExperimentName parse_experiment(const std::string& text, const Machine& machine);

/// The log of heat events of an experiment that is neither plate nor logged, as long as
/// `duration_s`.
timeline::HeatLog heat_log_of(const ExperimentName& name, double duration_s);

struct Experiment {
  std::string name;
  timeline::HeatLog heat_log;
  const MeterLog* log = nullptr;
  bool is_idle = false;
  bool is_plate = false;               ///< its length is its own
  bool is_logged = false;              ///< it begins where its log begins
  bool moves = false;                  ///< axes move: its seconds are worked out, not waited
  std::optional<double> room_c;        ///< absent: the machine's
  std::optional<double> start_bed_c;   ///< absent: the room's
  std::optional<double> start_head_c;  ///< the same
};

/// What a log of heaters shows: by HeaterColumn, without the targets.
inline constexpr std::array<HeaterColumn, 4> kShown{kBedC, kBedDuty, kNozzleC, kNozzleDuty};

/// How an experiment goes, as predicted.
struct Course {
  meter::PowerSeries power;
  std::array<meter::PowerSeries, kShown.size()> heaters;  ///< only if the log has such columns
  double laying_from_s = 0.0;                             ///< where a plate's first layer begins
  double energy_wh = 0.0;
};

Course predict(const Machine& machine, const std::vector<Material>& materials,
               const Experiment& experiment);

}  // namespace platetally::calibrate
