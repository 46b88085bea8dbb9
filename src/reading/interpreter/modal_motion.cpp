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
  // F alone is no full turn.
  const bool is_arc =
      motion_ == MotionWord::arc_clockwise || motion_ == MotionWord::arc_counter_clockwise;
  if (motion_ == MotionWord::none || (is_arc && (said & ~bit('F')) == 0))
    read_feed(command.words);
  else
    repeat_motion(command.words);
}

void ModalMachine::run_motion(const gcode::Words& words, MotionWord motion) {
  --understood_;  // which counts as a move
  motion_ = motion;
  repeat_motion(words);
}

void ModalMachine::repeat_motion(const gcode::Words& words) {
  switch (motion_) {
    case MotionWord::none:
      return;
    case MotionWord::rapid:
    case MotionWord::line:
      run_straight(words, motion_ == MotionWord::rapid);
      return;
    case MotionWord::arc_clockwise:
    case MotionWord::arc_counter_clockwise:
      run_arc(words, motion_ == MotionWord::arc_clockwise);
      return;
  }
}

void ModalMachine::read_feed(const gcode::Words& words) {
  if (!words.has('F'))
    return;
  const double said = words['F'];
  if (!FeedRate::is_sound(said, kMost_mm)) {
    remarks_.say("feed-not-positive", Severity::note, [said] {
      return fmt::format("F{}: expected a feed above 0; the feed in force was kept", said);
    });
    return;
  }
  feed_.take(said, position_.unit_mm());
}

/// Takes over what the move says of E; false where it reaches too far.
bool ModalMachine::keep_in_range(const Way& way) {
  if (!way.is_in_range()) {
    ++moves_out_of_range_;
    remarks_.say("move-out-of-range", Severity::error, [] {
      return fmt::format("a move that reaches beyond {:.0e} mm; the move was left out", kMost_mm);
    });
    return false;
  }
  filament_.keep(way.fed);
  return true;
}

void ModalMachine::run_straight(const gcode::Words& words, bool rapid) {
  read_feed(words);
  const Way way = read_way(words);
  if (!keep_in_range(way))
    return;
  if (words.has('E'))
    filament_.note_words();
  if (way.fed.e_mm != 0.0 || way.to_mm != position_.at_mm()) {
    emit_move(way, rapid, nullptr);
  } else if ((words.mask & (kXyz | bit('E'))) != 0) {
    ++moves_;  // understood, though it leads nowhere
  }
}

void ModalMachine::run_arc(const gcode::Words& words, bool clockwise) {
  read_feed(words);
  const Way way = read_way(words);
  if (!keep_in_range(way))
    return;
  if (words.has('E'))
    filament_.note_words();
  const std::optional<Arc> arc = read_arc(words, clockwise, way.to_mm);
  if (arc)
    remark_on_arc(*arc);
  emit_move(way, false, arc ? &*arc : nullptr);
}

std::optional<Arc> ModalMachine::read_arc(const gcode::Words& words, bool clockwise,
                                          const Point& to_mm) {
  const PlaneAxes axes = axes_of(position_.plane());
  const Point2 from{position_.at_mm()[axes.first], position_.at_mm()[axes.second]};
  const Point2 to{to_mm[axes.first], to_mm[axes.second]};
  const double unit_mm = position_.unit_mm();
  std::optional<Arc> arc;
  if (words.has('R')) {
    const double radius_mm = words['R'] * unit_mm;
    if (std::abs(radius_mm) < kMost_mm)
      arc = arc_by_radius(from, to, radius_mm, clockwise);
  } else {
    const Point2 offset{words.get(axes.first_offset, 0.0) * unit_mm,
                        words.get(axes.second_offset, 0.0) * unit_mm};
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
      position_.unit_mm() == 1.0 ? kRadiusTolerance_mm : kRadiusTolerance_inch * base::kMmPerInch;
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

/// Of the path, or of the filament where there is none.
double ModalMachine::length_mm(const Run& run, const Point& to_mm, double e_mm) const {
  const double rise_x = to_mm[0] - run.from_mm[0], rise_y = to_mm[1] - run.from_mm[1],
               rise_z = to_mm[2] - run.from_mm[2];
  double length_mm = std::hypot(rise_x, rise_y, rise_z);
  if (run.kind == RunKind::arc) {
    const PlaneAxes axes = axes_of(run.plane);
    const double radius_mm = std::hypot(run.from_mm[axes.first] - run.centre_mm[0],
                                        run.from_mm[axes.second] - run.centre_mm[1]);
    const std::size_t across = 3 - axes.first - axes.second;
    length_mm = std::hypot(radius_mm * run.sweep_rad, to_mm[across] - run.from_mm[across]);
  }
  return length_mm == 0.0 ? std::abs(e_mm) : length_mm;
}

void ModalMachine::emit_move(const Way& way, bool rapid, const Arc* arc) {
  ++moves_;
  if (motors_off_) [[unlikely]]
    wake_motors();
  if (hand_.is_parked() && way.fed.e_mm > 0.0)
    remarks_.say("material-while-parked", Severity::warning, [this] {
      return fmt::format(
          "filament is fed while no tool is in hand; it was counted to tool {}, the last in hand",
          hand_.feeding());
    });
  if (way.fed.e_mm < -kLongestRetraction_mm) [[unlikely]]
    remark_on_retraction(way.fed.e_mm);
  push_move(way, rapid, arc);
}

/// A move that has been remarked on, from whichever reader, becomes a row.
void ModalMachine::push_move(const Way& way, bool rapid, const Arc* arc) {
  const Point& from_mm = position_.at_mm();
  const Point& to_mm = way.to_mm;
  const double e_mm = way.fed.e_mm;
  const bool stays_in_place = arc == nullptr && to_mm[0] == from_mm[0] && to_mm[1] == from_mm[1];
  const bool stationary = stays_in_place && to_mm[2] == from_mm[2];
  const bool switched_on = filament_.feeds_by_switch();
  const bool inverse = feed_.is_inverse() && !rapid;
  bool laid = false;
  if (!stays_in_place && (e_mm > 0.0 || switched_on)) {
    laid = place_in_layer(to_mm);
    if (switched_on)
      remark_on_switched_extruder();
  }
  Run run;
  run.first_line = remarks_.place.line;
  run.tool =
      static_cast<std::int16_t>(e_mm != 0.0 || switched_on ? hand_.feeding() : hand_.in_hand());
  run.flags = static_cast<std::uint8_t>(events_.flags() | (rapid ? kRapid : 0) |
                                        (switched_on && !stationary ? kExtruderOn : 0) |
                                        (inverse ? kFeedIsPerMove : 0));
  run.kind = kind_of(from_mm, to_mm, e_mm, run.flags);
  run.from_mm = from_mm;
  if (arc != nullptr) [[unlikely]] {
    run.kind = RunKind::arc;
    run.plane = position_.plane();
    run.centre_mm = arc->centre_mm;
    run.sweep_rad = arc->sweep_rad;
  }
  double feed_mm_s = feed_.in_force_mm_s();
  if (rapid && !machine_.dialect.rapid_moves_use_feed)
    feed_mm_s = 0.0;
  else if (inverse) [[unlikely]]
    feed_mm_s = feed_.over_mm_s(length_mm(run, to_mm, e_mm));
  if (missing_.is_selected()) [[unlikely]]
    missing_.feed(e_mm, laid);
  out_.push(run, to_mm, e_mm, feed_mm_s, laid);
  position_.go_to(to_mm);
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

bool ModalMachine::place_in_layer(const Point& to_mm) {
  if ((events_.flags() & kMarkedPurge) != 0) [[unlikely]] {
    marks_.lay(to_mm[2]);
    update_flags();
  }
  const bool is_purge = (events_.flags() & kMarkedPurge) != 0;
  if (!places_.lay(position_.at_mm(), to_mm, is_purge))
    return false;
  if (!places_.trusts_area()) [[unlikely]]
    update_flags();
  out_.enter(places_.current());
  return true;
}

}  // namespace platetally::interpreter
