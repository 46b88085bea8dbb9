#include "meter/calibrate/experiment.hpp"

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <stdexcept>

#include "heat/simulate.hpp"

namespace platetally::calibrate {

namespace {

constexpr double kPiece_s = 2.5;

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
  const std::size_t equals = text.find('=');
  const std::string what = text.substr(0, equals);
  std::string rest = equals == std::string::npos ? "" : text.substr(equals + 1);
  if (what == "plate" && !rest.empty()) {
    name.kind = Kind::plate;
    name.path = rest;
    return name;
  }
  constexpr std::string_view kForms =
      "idle, bed=DEGC, bed=DEGC,zones=0.0+0.1, nozzle=DEGC, fan=0..1 or plate=FILE";
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

void split_spans(timeline::HeatLog& log) {
  std::vector<HeatEvent> events;
  for (const HeatEvent& whole : log.events) {
    if (whole.kind != HeatEventKind::span || whole.duration_s <= kPiece_s) {
      events.push_back(whole);
      continue;
    }
    const double pieces = std::ceil(whole.duration_s / kPiece_s);
    HeatEvent piece = whole;
    piece.duration_s /= pieces;
    piece.moving_s /= pieces;
    piece.volume_mm3 /= pieces;
    events.insert(events.end(), static_cast<std::size_t>(pieces), piece);
  }
  log.events = std::move(events);
  log.joined_s = kPiece_s;
}

meter::PowerSeries predict(const Machine& machine, const std::vector<Material>& materials,
                           const Experiment& experiment) {
  meter::PowerSeries series =
      meter::series_of(heat::run_heat(machine, materials, experiment.heat_log).power);
  series.idle_w = machine.supply.idle_w;
  return series;
}

}  // namespace platetally::calibrate
