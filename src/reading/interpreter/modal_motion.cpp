// Moves: straight lines and arcs, feed, filament, and the layer that a move lies in.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/units.hpp"
#include "reading/interpreter/modal_machine.hpp"

namespace platetally::interpreter {

namespace {

constexpr std::uint32_t bit(char letter) {
  return 1U << gcode::Words::index(letter);
}
constexpr std::uint32_t kXyz = bit('X') | bit('Y') | bit('Z');
constexpr std::uint32_t kMotionWords =
    kXyz | bit('E') | bit('F') | bit('I') | bit('J') | bit('K') | bit('R');
constexpr std::uint32_t kLineNumber = bit('N');

constexpr double kMostTurns = 10000.0;

// NISTIR 6556, section 3.5.3.2.
constexpr double kRadiusTolerance_mm = 0.002;
constexpr double kRadiusTolerance_inch = 0.0002;

struct PlaneAxes {
  std::size_t first, second;
  char first_offset, second_offset;
};

PlaneAxes axes_of(Plane plane) {
  switch (plane) {
    case Plane::zx:
      return {2, 0, 'K', 'I'};
    case Plane::yz:
      return {1, 2, 'J', 'K'};
    case Plane::xy:
      break;
  }
  return {0, 1, 'I', 'J'};
}

}  // namespace

void ModalMachine::run_motionless(const gcode::Command& command) {
  const std::uint32_t said = (command.words.mask | command.words.bare) & ~kLineNumber;
  if (said == 0)
    return;
  if ((said & kMotionWords) == 0) {
    count_unaccounted(command);
    return;
  }
  if (motion_ == MotionWord::none && (said & ~bit('F')) != 0) {
    remarks_.say("motion-without-command", Severity::warning, [] {
      return std::string(
          "axis words without a command, and no motion command before them that they could repeat; "
          "read as G1");
    });
    motion_ = MotionWord::line;
  }
  switch (motion_) {
    case MotionWord::none:
      read_feed(command.words);
      return;
    case MotionWord::rapid:
    case MotionWord::line:
      run_straight(command.words, motion_ == MotionWord::rapid);
      return;
    case MotionWord::arc_clockwise:
    case MotionWord::arc_counter_clockwise:
      // F alone is no full turn.
      if ((said & ~bit('F')) == 0) {
        read_feed(command.words);
      } else {
        run_arc(command.words, motion_ == MotionWord::arc_clockwise);
      }
      return;
  }
}

ModalMachine::Vector3 ModalMachine::target(const gcode::Words& words) const {
  Vector3 to_mm = position_mm_;
  for (std::size_t axis = 0; axis < 3; ++axis) {
    const char letter = static_cast<char>('X' + axis);
    if (!words.has(letter))
      continue;
    const double said_mm = words[letter] * unit_mm_;
    if (machine_coordinates_) {
      to_mm[axis] = said_mm;
    } else {
      to_mm[axis] = (relative_ ? position_mm_[axis] : offset_mm_[axis]) + said_mm;
    }
  }
  return to_mm;
}

double ModalMachine::read_e(double word, double& e_after) const {
  const double said = volumetric_ ? word : word * unit_mm_;
  const double fed = e_relative_ ? said : said - e_register_;
  e_after = e_relative_ ? e_register_ + said : said;
  return fed * e_scale_;
}

void ModalMachine::read_feed(const gcode::Words& words) {
  if (!words.has('F'))
    return;
  const double said = words['F'];
  if (!(said > 0.0) || said > kMost_mm) {
    remarks_.say("feed-not-positive", Severity::note, [said] {
      return fmt::format("F{}: expected a feed above 0; the feed in force was kept", said);
    });
    return;
  }
  if (inverse_time_) {
    inverse_per_min_ = said;
  } else {
    feed_mm_s_ = base::mm_s_from_mm_min(said * unit_mm_);
  }
}

bool ModalMachine::is_in_range(const Vector3& to_mm, double e_mm) {
  if (std::abs(to_mm[0]) + std::abs(to_mm[1]) + std::abs(to_mm[2]) + std::abs(e_mm) < kMost_mm)
      [[likely]]
    return true;
  ++moves_out_of_range_;
  remarks_.say("move-out-of-range", Severity::error, [] {
    return fmt::format("a move that reaches beyond {:.0e} mm; the move was left out", kMost_mm);
  });
  return false;
}

void ModalMachine::run_straight(const gcode::Words& words, bool rapid) {
  read_feed(words);
  const Vector3 to_mm = (words.mask & kXyz) != 0 ? target(words) : position_mm_;
  double e_mm = 0.0;
  double e_after = e_register_;
  if (words.has('E'))
    e_mm = read_e(words['E'], e_after);
  if (!is_in_range(to_mm, e_mm))
    return;
  if (words.has('E')) {
    e_register_ = e_after;
    has_e_words_ = true;
  }
  if (e_mm != 0.0 || to_mm != position_mm_) {
    emit_move(to_mm, e_mm, rapid, nullptr);
  } else if ((words.mask & (kXyz | bit('E'))) != 0) {
    ++moves_;  // understood, though it leads nowhere
  }
}

void ModalMachine::run_arc(const gcode::Words& words, bool clockwise) {
  read_feed(words);
  const Vector3 to_mm = target(words);
  double e_mm = 0.0;
  double e_after = e_register_;
  if (words.has('E'))
    e_mm = read_e(words['E'], e_after);
  if (!is_in_range(to_mm, e_mm))
    return;
  if (words.has('E')) {
    e_register_ = e_after;
    has_e_words_ = true;
  }
  const std::optional<Arc> arc = read_arc(words, clockwise, to_mm);
  if (arc)
    remark_on_arc(*arc);
  emit_move(to_mm, e_mm, false, arc ? &*arc : nullptr);
}

std::optional<Arc> ModalMachine::read_arc(const gcode::Words& words, bool clockwise,
                                          const Vector3& to_mm) {
  const PlaneAxes axes = axes_of(plane_);
  const Point2 from{position_mm_[axes.first], position_mm_[axes.second]};
  const Point2 to{to_mm[axes.first], to_mm[axes.second]};
  std::optional<Arc> arc;
  if (words.has('R')) {
    const double radius_mm = words['R'] * unit_mm_;
    if (std::abs(radius_mm) < kMost_mm)
      arc = arc_by_radius(from, to, radius_mm, clockwise);
  } else {
    const Point2 offset{words.get(axes.first_offset, 0.0) * unit_mm_,
                        words.get(axes.second_offset, 0.0) * unit_mm_};
    const bool full = std::hypot(to[0] - from[0], to[1] - from[1]) < kSamePoint_mm;
    // P counts complete turns; a full turn is one of them.
    const double turns = std::clamp(std::floor(words.get('P', 0.0)), 0.0, kMostTurns);
    if (std::abs(offset[0]) + std::abs(offset[1]) < kMost_mm)
      arc = arc_by_centre(from, to, offset, clockwise, full ? std::max(0.0, turns - 1.0) : turns);
  }
  if (!arc)
    remarks_.say("arc-without-centre", Severity::warning, [&] {
      return fmt::format(
          "G{} does not define a circle: expected {} or {} other than 0, or R with an end away "
          "from the "
          "start; read as a straight line",
          clockwise ? 2 : 3, axes.first_offset, axes.second_offset);
    });
  return arc;
}

void ModalMachine::remark_on_arc(const Arc& arc) {
  const double tolerance_mm =
      unit_mm_ == 1.0 ? kRadiusTolerance_mm : kRadiusTolerance_inch * base::kMmPerInch;
  const double apart_mm =
      std::max(std::abs(arc.start_radius_mm - arc.end_radius_mm), arc.radius_shortfall_mm);
  if (apart_mm <= tolerance_mm) [[likely]]
    return;
  remarks_.say("arc-radius-mismatch", Severity::note, [&] {
    return fmt::format(
        "the arc's start and end lie {:.4g} mm apart in radius, expected at most {:.2g} mm (files "
        "round I and J); the arc was taken about its centre all the same",
        apart_mm, tolerance_mm);
  });
}

double ModalMachine::inverse_time_feed_mm_s(const Move& move) const {
  const double rise_x = move.to_mm[0] - move.from_mm[0], rise_y = move.to_mm[1] - move.from_mm[1],
               rise_z = move.to_mm[2] - move.from_mm[2];
  double length_mm = std::hypot(rise_x, rise_y, rise_z);
  if (move.is_arc()) {
    const PlaneAxes axes = axes_of(move.plane);
    const double radius_mm = std::hypot(move.from_mm[axes.first] - move.centre_mm[0],
                                        move.from_mm[axes.second] - move.centre_mm[1]);
    const std::size_t across = 3 - axes.first - axes.second;
    length_mm = std::hypot(radius_mm * move.sweep_rad, move.to_mm[across] - move.from_mm[across]);
  }
  if (length_mm == 0.0)
    length_mm = std::abs(move.e_mm);
  return base::mm_s_from_mm_min(length_mm * inverse_per_min_) * feed_factor_;
}

void ModalMachine::emit_move(const Vector3& to_mm, double e_mm, bool rapid, const Arc* arc) {
  ++moves_;
  if (motors_off_) [[unlikely]]
    wake_motors();
  const bool stationary = arc == nullptr && to_mm == position_mm_;
  const bool above_one_place =
      arc == nullptr && to_mm[0] == position_mm_[0] && to_mm[1] == position_mm_[1];
  const bool switched_on = extruder_on_ && !has_e_words_;
  const bool feeds = e_mm != 0.0 || switched_on;
  if (feeds && tool_ < 0 && e_mm > 0.0)
    remarks_.say("material-while-parked", Severity::warning, [this] {
      return fmt::format(
          "filament is fed while no tool is in hand; it was counted to tool {}, the last in hand",
          last_tool_);
    });
  if (e_mm < -kLongestRetraction_mm) [[unlikely]]
    remark_on_retraction(e_mm);
  bool laid = false;
  if (!above_one_place && (e_mm > 0.0 || switched_on)) {
    laid = place_in_layer(to_mm);
    if (switched_on)
      remark_on_switched_extruder();
  }
  Record& record = out_.next(RecordKind::move, remarks_.place.line);
  record.flags = static_cast<std::uint8_t>(flags_ | (rapid ? kRapid : 0) |
                                           (switched_on && !stationary ? kExtruderOn : 0) |
                                           (inverse_time_ && !rapid ? kFeedIsPerMove : 0));
  record.tool = static_cast<std::int16_t>(feeds ? last_tool_ : tool_);
  Move& move = record.move;
  move.from_mm = position_mm_;
  move.to_mm = to_mm;
  move.e_mm = e_mm;
  move.centre_mm = arc != nullptr ? arc->centre_mm : Point2{};
  move.sweep_rad = arc != nullptr ? arc->sweep_rad : 0.0;
  move.plane = plane_;
  if (rapid && !machine_.dialect.rapid_moves_use_feed) {
    move.feed_mm_s = 0.0;
  } else if (inverse_time_ && !rapid) [[unlikely]] {
    move.feed_mm_s = inverse_time_feed_mm_s(move);
  } else {
    move.feed_mm_s = feed_mm_s_ * feed_factor_;
  }
  if (missing_.is_selected()) [[unlikely]]
    missing_.feed(e_mm, laid);
  position_mm_ = to_mm;
  if (laid)
    out_.settle();
}

void ModalMachine::remark_on_switched_extruder() {
  remarks_.say("filament-not-stated", Severity::warning, [] {
    return std::string(
        "material is laid by an extruder that is switched on and off (M101, M103), without E "
        "words: "
        "the plate does not say how much filament that takes; time and layers were counted, grams "
        "were not");
  });
}

void ModalMachine::remark_on_retraction(double e_mm) {
  remarks_.say(
      "retraction-implausible", Severity::warning,
      [&] {
        return fmt::format(
            "{:.6g} mm of filament are drawn back at once; expected at most {:.0f} mm; it was "
            "counted all the same, so what was fed is that much short",
            -e_mm, kLongestRetraction_mm);
      },
      "Is E relative here (M83) and the plate does not say so, or is a G92 E0 missing?");
}

bool ModalMachine::place_in_layer(const Vector3& to_mm) {
  if ((flags_ & kMarkedPurge) != 0) [[unlikely]] {
    marks_.lay(to_mm[2]);
    update_marks();
  }
  if (layers_.is_level_again(position_mm_[2], to_mm[2])) [[likely]] {
    if (ahead_.is_watching())
      ahead_.lay(position_mm_, to_mm, layers_.current(), to_mm[2]);
    laid_to_mm_ = to_mm;
    out_.enter(layers_.current());
    return true;
  }
  if (ahead_.holds(position_mm_, to_mm, layers_.current_mm())) {
    out_.enter(layers_.current());
    return true;
  }
  const bool joined = position_mm_ == laid_to_mm_;
  const auto place = layers_.lay(position_mm_, to_mm, joined, may_open_layer(to_mm));
  laid_to_mm_ = to_mm;
  if (!place.is_known)
    return false;
  ahead_.lay(position_mm_, to_mm, place.layer, layers_.current_mm());
  out_.enter(place.layer);
  return true;
}

bool ModalMachine::lies_off_the_part(const Vector3& to_mm) const {
  // By the middle of the move, as the purge book decides it.
  const double x_mm = 0.5 * (position_mm_[0] + to_mm[0]);
  const double y_mm = 0.5 * (position_mm_[1] + to_mm[1]);
  const auto inside = [&](const auto& area) {
    return x_mm >= area.x_min_mm && x_mm <= area.x_max_mm && y_mm >= area.y_min_mm &&
           y_mm <= area.y_max_mm;
  };
  return (trusts_area_ && !inside(machine_.area)) ||
         std::any_of(machine_.waste_areas.begin(), machine_.waste_areas.end(), inside);
}

bool ModalMachine::may_open_layer(const Vector3& to_mm) {
  if ((flags_ & kMarkedPurge) != 0)
    return false;
  if (!lies_off_the_part(to_mm)) {
    heights_off_part_ = 0;
    return true;
  }
  // Purge lies at the height of a layer; a plate that climbs outside was made for another machine.
  if (heights_off_part_ == 0 || to_mm[2] > off_part_mm_ + kSameHeight_mm) {
    ++heights_off_part_;
    off_part_mm_ = to_mm[2];
  }
  constexpr int kBelievedHeights = 2;
  if (heights_off_part_ <= kBelievedHeights || !trusts_area_)
    return false;
  trusts_area_ = false;
  flags_ |= kOutsideIsPart;
  remarks_.say(
      "plate-outside-area", Severity::warning,
      [&] {
        return fmt::format(
            "material is laid outside the machine's area at more than {} heights, here at X{:.6g} "
            "Y{:.6g}; expected X {:.6g} to {:.6g}, Y {:.6g} to {:.6g}; from here on it makes "
            "layers "
            "all the same",
            kBelievedHeights, to_mm[0], to_mm[1], machine_.area.x_min_mm, machine_.area.x_max_mm,
            machine_.area.y_min_mm, machine_.area.y_max_mm);
      },
      "Was the plate made for another machine, or one whose origin is the middle of the bed?");
  return !lies_off_the_part(to_mm);
}

}  // namespace platetally::interpreter
