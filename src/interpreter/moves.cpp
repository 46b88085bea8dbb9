#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/units.hpp"
#include "interpreter/arcs.hpp"
#include "interpreter/interpreter.hpp"

namespace platetally::interpreter {

using dialect::Meaning;

namespace {

constexpr double kFarthestMm = 1e6;  // a kilometre: beyond it a coordinate is a slip, not a place

/// The two axes of a plane, and the one across it.
struct PlaneAxes {
  std::size_t first, second, across;
};

PlaneAxes axes_of(Plane plane) {
  switch (plane) {
    case Plane::zx:
      return {2, 0, 1};
    case Plane::yz:
      return {1, 2, 0};
    case Plane::xy:
      break;
  }
  return {0, 1, 2};
}

}  // namespace

void Interpreter::move(const gcode::Words& words, std::uint32_t column) {
  if (words.has('F')) {
    if (inverse_time_)
      inverse_minutes_ = words['F'] > 0.0 ? 1.0 / words['F'] : 0.0;
    else if (words['F'] > 0.0)
      feed_mm_s_ = base::mm_s_from_mm_min(words['F'] * unit_mm_);
  }
  ++moves_;
  const bool clockwise = modal_motion_ == Meaning::arc_clockwise;
  if (clockwise || modal_motion_ == Meaning::arc_counter)
    arc(words, clockwise, column);
  else
    straight(words);
}

std::array<double, 3> Interpreter::target_of(const gcode::Words& words) const {
  std::array<double, 3> target_mm = position_mm_;
  for (std::size_t axis = 0; axis < 3; ++axis) {
    const char letter = "XYZ"[axis];
    if (!words.has(letter))
      continue;
    const double stated_mm = words[letter] * unit_mm_;
    const double to_mm = absolute_ ? stated_mm + offset_mm_[axis] : position_mm_[axis] + stated_mm;
    target_mm[axis] = std::clamp(to_mm, -kFarthestMm, kFarthestMm);
  }
  return target_mm;
}

double Interpreter::fed_mm(const gcode::Words& words) {
  if (!words.has('E'))
    return 0.0;
  const double stated = std::clamp(words['E'], -1e9, 1e9);
  const double step = e_relative_ ? stated : stated - e_register_;
  e_register_ = e_relative_ ? e_register_ + stated : stated;
  if (!volumetric_)
    return step * unit_mm_ * flow_factor_;
  const auto tool = static_cast<std::size_t>(std::max(tool_, 0));
  const double diameter_mm = volumetric_diameter_mm_ > 0.0
                                 ? volumetric_diameter_mm_
                                 : machine_.tools[tool].filament_diameter_mm;
  return step * flow_factor_ / base::filament_area_mm2(diameter_mm);
}

double Interpreter::feed_mm_s(double length_mm) const {
  if (inverse_time_ && inverse_minutes_ > 0.0)
    return length_mm / (inverse_minutes_ * base::kSecondsPerMinute);
  return feed_mm_s_ * feed_factor_;
}

void Interpreter::straight(const gcode::Words& words) {
  Record record = blank(RecordKind::move);
  Move& made = record.move;
  made.from_mm = position_mm_;
  made.to_mm = target_of(words);
  made.e_mm = fed_mm(words);
  made.centre_mm = {};
  made.sweep_rad = 0.0;
  made.plane = Plane::xy;
  const bool rapid = modal_motion_ == Meaning::rapid;
  if (rapid)
    record.flags |= kRapid;
  if (inverse_time_)
    record.flags |= kFeedIsPerMove;
  const double length_mm =
      std::hypot(made.to_mm[0] - made.from_mm[0], made.to_mm[1] - made.from_mm[1],
                 made.to_mm[2] - made.from_mm[2]);
  made.feed_mm_s = rapid && !machine_.dialect.rapid_moves_use_feed ? 0.0 : feed_mm_s(length_mm);
  emit_move(record);
}

void Interpreter::arc(const gcode::Words& words, bool clockwise, std::uint32_t column) {
  const PlaneAxes axes = axes_of(plane_);
  constexpr char kOffsets[] = "IJK";
  Record record = blank(RecordKind::move);
  Move& made = record.move;
  made.from_mm = position_mm_;
  made.to_mm = target_of(words);
  made.e_mm = fed_mm(words);
  made.plane = plane_;
  ArcRequest request;
  request.start_mm = {made.from_mm[axes.first], made.from_mm[axes.second]};
  request.end_mm = {made.to_mm[axes.first], made.to_mm[axes.second]};
  request.clockwise = clockwise;
  const char first = kOffsets[axes.first];
  const char second = kOffsets[axes.second];
  if (words.has(first) || words.has(second))
    request.offset_mm = {words.get(first, 0.0) * unit_mm_, words.get(second, 0.0) * unit_mm_};
  else if (words.has('R'))
    request.radius_mm = words['R'] * unit_mm_;
  request.returns_to_start = !words.has("XYZ"[axes.first]) && !words.has("XYZ"[axes.second]);
  request.turns = static_cast<int>(std::clamp(words.get('P', 1.0), 1.0, 1000.0));
  const auto found = find_arc(request);
  if (!found) {
    if (!diagnostics_.count_again("arc-impossible"))
      warn("arc-impossible", Severity::warning, column,
           "found an arc without a centre or with a radius that cannot reach its end; expected I J "
           "(or R and another end); taken as a straight line");
    made.centre_mm = {};
    made.sweep_rad = 0.0;
    made.plane = Plane::xy;
    made.feed_mm_s =
        feed_mm_s(std::hypot(made.to_mm[0] - made.from_mm[0], made.to_mm[1] - made.from_mm[1]));
    return emit_move(record);
  }
  constexpr double kRadiusGapMm =
      0.002;  // NISTIR 6556, 3.5.3.2; I and J are often rounded to 0.001
  if (found->radius_gap_mm > kRadiusGapMm && !diagnostics_.count_again("arc-radii-differ"))
    warn("arc-radii-differ", Severity::note, column,
         fmt::format(
             "found an arc whose radii at start and end differ by {:.4f} mm; expected at most "
             "0.002; its start radius was used",
             found->radius_gap_mm));
  made.centre_mm = found->centre_mm;
  made.sweep_rad = found->sweep_rad;
  const double radius_mm = std::hypot(request.start_mm[0] - found->centre_mm[0],
                                      request.start_mm[1] - found->centre_mm[1]);
  made.feed_mm_s = feed_mm_s(std::hypot(radius_mm * found->sweep_rad,
                                        made.to_mm[axes.across] - made.from_mm[axes.across]));
  emit_move(record);
}

bool Interpreter::keeps_layer_open(const Move& made) const {
  const double x_mm = 0.5 * (made.from_mm[0] + made.to_mm[0]);
  const double y_mm = 0.5 * (made.from_mm[1] + made.to_mm[1]);
  const BuildArea& area = machine_.area;
  if (x_mm < area.x_min_mm || x_mm > area.x_max_mm || y_mm < area.y_min_mm || y_mm > area.y_max_mm)
    return true;
  return std::any_of(machine_.waste_areas.begin(), machine_.waste_areas.end(),
                     [&](const WasteArea& waste) {
                       return x_mm >= waste.x_min_mm && x_mm <= waste.x_max_mm &&
                              y_mm >= waste.y_min_mm && y_mm <= waste.y_max_mm;
                     });
}

void Interpreter::emit_move(Record record) {
  position_mm_ = record.move.to_mm;
  if (extruder_on_)
    record.flags |= kExtruderOn;
  if (!lays_material(record))
    return emit(record);
  // Waste makes no layer: neither before the first one nor at a height of its own.
  const bool marked = (record.flags & kMarkedPurge) != 0;
  if (keeps_layer_open(record.move) || (marked && batch_.layer() == 0))
    return emit(record);
  const std::uint32_t layer = layers_.layer_at(record.move.from_mm[2], record.move.to_mm[2]);
  if (layer != batch_.layer()) {
    marks_.boundary();
    if (!marks_.in_purge() && !own_purge_)
      record.flags &= static_cast<std::uint8_t>(~kMarkedPurge);
  }
  marks_.laid();
  batch_.add_laid(record, layer);
}

void Interpreter::set_position(const gcode::Words& words) {
  const bool any =
      words.has('X') || words.has('Y') || words.has('Z') || words.has('E') || words.bare != 0;
  for (std::size_t axis = 0; axis < 3; ++axis) {
    const char letter = "XYZ"[axis];
    if (words.has(letter))
      offset_mm_[axis] = position_mm_[axis] - words[letter] * unit_mm_;
    else if (!any || words.has_bare(letter))
      offset_mm_[axis] = position_mm_[axis];
  }
  if (words.has('E'))
    e_register_ = words['E'];
  else if (!any || words.has_bare('E'))
    e_register_ = 0.0;
}

}  // namespace platetally::interpreter
