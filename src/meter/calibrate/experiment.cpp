#include "meter/calibrate/experiment.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <stdexcept>

#include "heat/simulate.hpp"

namespace platetally::calibrate {

namespace {

using Kind = ExperimentName::Kind;
using timeline::HeatEvent;
using timeline::HeatEventKind;

[[noreturn]] void refuse(const std::string& text, std::string_view expected) {
  throw std::invalid_argument(fmt::format("experiment '{}': expected {}", text, expected));
}

bool number(std::string_view text, double& value) {
  const char* const end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, value);
  return !text.empty() && read.ec == std::errc{} && read.ptr == end && std::isfinite(value);
}

std::uint64_t zones_of(std::string_view list, const std::string& text, const Machine& machine) {
  std::uint64_t zones = 0;
  while (!list.empty()) {
    const std::string_view zone = list.substr(0, list.find('+'));
    list.remove_prefix(std::min(zone.size() + 1, list.size()));
    const std::size_t dot = zone.find('.');
    int row = -1;
    int column = -1;
    const char* const end = zone.data() + zone.size();
    if (dot != std::string_view::npos) {
      std::from_chars(zone.data(), zone.data() + dot, row);
      std::from_chars(zone.data() + dot + 1, end, column);
    }
    if (row < 0 || column < 0 || row >= machine.bed.rows || column >= machine.bed.columns)
      refuse(text, fmt::format("zones such as 0.0+0.1 (row.column), rows to {}, columns to {}",
                               machine.bed.rows - 1, machine.bed.columns - 1));
    zones |= std::uint64_t{1} << (row * machine.bed.columns + column);
  }
  return zones;
}

HeatEvent event(HeatEventKind kind, double value) {
  HeatEvent made;
  made.kind = kind;
  made.value = value;
  return made;
}

}  // namespace

ExperimentName parse_experiment(const std::string& text, const Machine& machine) {
  ExperimentName name;
  if (text == "idle")
    return name;
  if (text == "logged") {
    name.kind = Kind::logged;
    return name;
  }
  const std::size_t equals = text.find('=');
  const std::string what = text.substr(0, equals);
  std::string rest = equals == std::string::npos ? "" : text.substr(equals + 1);
  if (what == "plate" && !rest.empty()) {
    name.kind = Kind::plate;
    name.path = rest;
    return name;
  }
  constexpr std::string_view kForms =
      "idle, bed=DEGC, bed=DEGC,zones=0.0+0.1, nozzle=DEGC, fan=0..1, plate=FILE or logged";
  if (what == "bed")
    name.kind = Kind::bed;
  else if (what == "nozzle")
    name.kind = Kind::nozzle;
  else if (what == "fan")
    name.kind = Kind::fan;
  else
    refuse(text, kForms);
  if (const std::size_t comma = rest.find(",zones="); comma != std::string::npos && what == "bed") {
    name.zones = zones_of(std::string_view(rest).substr(comma + 7), text, machine);
    rest.resize(comma);
  }
  if (!number(rest, name.value))
    refuse(text, kForms);
  const double most = name.kind == Kind::bed      ? machine.bed.maximum_c
                      : name.kind == Kind::nozzle ? machine.heads.front().maximum_c
                                                  : 1.0;
  const double least = name.kind == Kind::fan ? 0.0 : machine.room_c + 5.0;
  if (name.value <= least || name.value > most)
    refuse(text, fmt::format("a value above {:g}, at most {:g}", least, most));
  return name;
}

timeline::HeatLog heat_log_of(const ExperimentName& name, double duration_s) {
  timeline::HeatLog log;
  if (name.zones != 0)
    log.footprint_by_layer = {name.zones};
  if (name.kind == Kind::bed || name.kind == Kind::nozzle) {
    HeatEvent heat = event(HeatEventKind::set_heater, name.value);
    heat.heater = name.kind == Kind::bed ? interpreter::Heater::bed : interpreter::Heater::head;
    heat.tool = 0;
    log.events.push_back(heat);
  } else if (name.kind == Kind::fan) {
    log.events.push_back(event(HeatEventKind::set_fan, name.value));
  }
  HeatEvent span = event(HeatEventKind::span, 0.0);
  span.duration_s = duration_s;
  log.events.push_back(span);
  return log;
}

Course predict(const Machine& machine, const std::vector<Material>& materials,
               const Experiment& experiment) {
  heat::HeatOptions options;
  options.start_bed_c = experiment.start_bed_c;
  options.start_head_c = experiment.start_head_c;
  options.keeps_heaters = experiment.log != nullptr && !experiment.log->heaters.empty();
  Machine placed = machine;
  placed.room_c = experiment.room_c.value_or(machine.room_c);
  const heat::HeatResult result = heat::run_heat(placed, materials, experiment.heat_log, options);
  Course course;
  course.power = meter::series_of(result.power);
  course.power.idle_w = machine.supply.idle_w;
  course.energy_wh = result.energy.sum_wh();
  if (result.layers.size() > 1)
    course.laying_from_s = std::max(0.0, result.layers[1].start_s);
  for (const heat::HeaterSample& sample : result.heaters) {
    const std::array<double, kShown.size()> values{sample.bed_c, sample.bed_duty, sample.head_c,
                                                   sample.head_duty};
    for (std::size_t i = 0; i < kShown.size(); ++i) {
      course.heaters[i].start_s.push_back(sample.start_s);
      course.heaters[i].w.push_back(values[i]);
      course.heaters[i].end_s = sample.start_s + sample.duration_s;
    }
  }
  return course;
}

}  // namespace platetally::calibrate
