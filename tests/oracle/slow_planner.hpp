// Slow, obvious references for the planner: whole file at once, a window simulated move by move,
// corners by angles, limits by loops. Straight moves and E alone; arcs in the plane X Y, as long as
// no axis is at its limit on them, or cut into chords. Follows the limits that a plate sets, as far
// as they are of the corner speed, the cruise share and accelerations.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <numbers>
#include <vector>

#include "platetally/machine.hpp"
#include "reading/interpreter/record.hpp"

namespace platetally::oracle {

/// Two passes over all moves. caps[i]: of the junction before move i; the ends are at rest.
inline std::vector<double> two_passes(const std::vector<double>& caps,
                                      const std::vector<double>& reaches) {
  const std::size_t count = reaches.size();
  std::vector<double> w(count + 1, 0.0);
  for (std::size_t i = count; i-- > 1;)
    w[i] = std::min(caps[i], w[i + 1] + reaches[i]);
  for (std::size_t i = 0; i < count; ++i)
    w[i + 1] = std::min(w[i + 1], w[i] + reaches[i]);
  return w;
}

/// The controller starts every move with only the moves i .. i + window - 1 in sight.
inline std::vector<double> window_simulation(const std::vector<double>& caps,
                                             const std::vector<double>& reaches,
                                             std::size_t window) {
  const std::size_t count = reaches.size();
  std::vector<double> w(count + 1, 0.0);
  for (std::size_t i = 0; i < count; ++i) {
    const std::size_t seen_end = std::min(count, i + window);
    double bound = 0.0;
    for (std::size_t j = seen_end; j-- > i + 1;)
      bound = std::min(caps[j], bound + reaches[j]);
    w[i + 1] = std::min(bound, w[i] + reaches[i]);
  }
  return w;
}

struct SlowMove {
  std::size_t record = 0;
  double length_mm = 0.0;
  std::array<double, 4> share{};       ///< where it begins
  std::array<double, 4> exit_share{};  ///< where it ends; the same but for an arc
  bool feeds = false;
  bool after_stop = false;  ///< the machine stood before it
  double speed = 0.0;
  double acceleration = 0.0;
  double use_acceleration = 0.0;  ///< before the axes lower it
  double corner_speed = 0.0;      ///< in force when it was met
  double cruise_share = 0.0;      ///< the same
  bool shares = false;            ///< a cruise share was in force before, or is now
  double radius_mm = 0.0;         ///< of curvature, of an arc
  double v0 = 0.0, v1 = 0.0;
  double time_s = 0.0;
};

/// The angle by which the path turns, 0 straight on.
inline long double turn_between(const SlowMove& a, const SlowMove& b) {
  long double plus = 0.0L, minus = 0.0L;
  for (std::size_t k = 0; k < 3; ++k) {
    plus += std::pow(static_cast<long double>(a.exit_share[k]) + b.share[k], 2.0L);
    minus += std::pow(static_cast<long double>(a.exit_share[k]) - b.share[k], 2.0L);
  }
  return 2.0L * std::atan2(std::sqrt(minus), std::sqrt(plus));
}

/// A circle of the deviation that a right angle at `corner_speed` makes, for either side; it ends
/// at the middle of either side at the latest; and the filament's speed may jump by its step.
inline double right_angle_corner(const SlowMove& a, const SlowMove& b, const MotionLimits& limits) {
  if (a.feeds || b.feeds)
    return 0.0;
  double speed = std::min(a.speed, b.speed);
  const long double theta = std::numbers::pi_v<long double> - turn_between(a, b);
  for (const SlowMove* side : {&a, &b}) {
    if (theta >= std::numbers::pi_v<long double>)
      break;
    const long double deviation = std::pow(static_cast<long double>(side->corner_speed), 2.0L) *
                                  (std::sqrt(2.0L) - 1.0L) / side->use_acceleration;
    const long double flat = std::sin((std::numbers::pi_v<long double> - theta) / 4.0L);
    const long double radius = deviation * std::sin(theta / 2.0L) / (2.0L * flat * flat);
    const long double half = side->length_mm / 2.0L * std::tan(theta / 2.0L);
    for (const long double most : {radius, half})
      speed = std::min(speed,
                       static_cast<double>(std::sqrt(std::max(0.0L, side->acceleration * most))));
  }
  const double jump = std::abs(a.exit_share[3] - b.share[3]);
  return jump > 1e-12 ? std::min(speed, limits.corner_step_mm_s[3] / jump) : speed;
}

inline double slow_corner(const SlowMove& a, const SlowMove& b, const MotionLimits& limits) {
  double speed = std::min(a.speed, b.speed);
  if (limits.corner_model == CornerModel::speed_step) {
    for (std::size_t k = 0; k < 4; ++k) {
      const double change = std::abs(a.exit_share[k] - b.share[k]);
      if (change > 1e-12)
        speed = std::min(speed, limits.corner_step_mm_s[k] / change);
    }
    return speed;
  }
  if (limits.corner_model == CornerModel::corner_speed)
    return right_angle_corner(a, b, limits);
  if (a.feeds != b.feeds)
    return 0.0;
  if (a.feeds)
    return a.exit_share[3] == b.share[3] ? speed : 0.0;
  const long double turn = turn_between(a, b);
  if (turn == 0.0L)
    return speed;
  const long double sine = std::sin(turn / 4.0L);
  const long double radius =
      limits.junction_deviation_mm * std::cos(turn / 2.0L) / (2.0L * sine * sine);
  const double v = static_cast<double>(
      std::sqrt(std::max(0.0L, std::min(a.acceleration, b.acceleration) * radius)));
  return std::min(speed, v);
}

/// From the straight way between the ends of an arc to the arc: by angles.
inline void bend(SlowMove& slow, const interpreter::Move& move) {
  const double from_rad =
      std::atan2(move.from_mm[1] - move.centre_mm[1], move.from_mm[0] - move.centre_mm[0]);
  const double radius =
      std::hypot(move.from_mm[0] - move.centre_mm[0], move.from_mm[1] - move.centre_mm[1]);
  const double around = radius * std::abs(move.sweep_rad);
  const double rise = move.to_mm[2] - move.from_mm[2];
  slow.length_mm = std::hypot(around, rise);
  slow.feeds = false;
  const double slope = std::atan2(rise, around);
  const double side = move.sweep_rad > 0.0 ? 1.0 : -1.0;
  const auto tangent = [&](double angle_rad) -> std::array<double, 4> {
    return {-side * std::sin(angle_rad) * std::cos(slope),
            side * std::cos(angle_rad) * std::cos(slope), std::sin(slope),
            move.e_mm / slow.length_mm};
  };
  slow.share = tangent(from_rad);
  slow.exit_share = tangent(from_rad + move.sweep_rad);
  slow.radius_mm = radius / (std::cos(slope) * std::cos(slope));
}

inline SlowMove slow_move(const interpreter::Record& record, const MotionLimits& limits) {
  const interpreter::Move& move = record.move;
  SlowMove slow;
  double square = 0.0;
  for (std::size_t k = 0; k < 3; ++k)
    square += std::pow(move.to_mm[k] - move.from_mm[k], 2.0);
  slow.length_mm = std::sqrt(square);
  slow.feeds = slow.length_mm < 1e-9;
  if (slow.feeds) {
    slow.length_mm = std::abs(move.e_mm);
    if (slow.length_mm < 1e-9)
      return slow;
  } else {
    for (std::size_t k = 0; k < 3; ++k)
      slow.share[k] = (move.to_mm[k] - move.from_mm[k]) / slow.length_mm;
  }
  slow.share[3] = move.e_mm / slow.length_mm;
  if (move.is_arc())
    bend(slow, move);
  else
    slow.exit_share = slow.share;
  const bool extrudes = move.e_mm != 0.0 || (record.flags & interpreter::kExtruderOn) != 0;
  slow.acceleration = slow.feeds ? limits.retract_acceleration_mm_s2
                      : extrudes ? limits.print_acceleration_mm_s2
                                 : limits.travel_acceleration_mm_s2;
  slow.use_acceleration = slow.acceleration;
  slow.corner_speed = limits.corner_speed_mm_s;
  slow.cruise_share = limits.least_cruise_share;
  slow.speed = move.feed_mm_s > 0.0 ? move.feed_mm_s : 1e30;
  if (!slow.feeds)
    slow.speed = std::max(
        slow.speed, extrudes ? limits.minimum_print_feed_mm_s : limits.minimum_travel_feed_mm_s);
  if (limits.minimum_segment_time_s > 0.0)
    slow.speed = std::min(slow.speed, slow.length_mm / limits.minimum_segment_time_s);
  if (move.is_arc())
    slow.speed = std::min(slow.speed, std::sqrt(slow.acceleration * slow.radius_mm));
  for (std::size_t k = 0; k < 4; ++k) {
    const double share = std::abs(slow.share[k]);
    if (share == 0.0)
      continue;
    slow.speed = std::min(slow.speed, limits.speed_mm_s[k] / share);
    slow.acceleration = std::min(slow.acceleration, limits.acceleration_mm_s2[k] / share);
  }
  return slow;
}

inline double slow_time(const SlowMove& move) {
  const double a = move.acceleration;
  const double v0 = move.v0;
  const double v1 = move.v1;
  const double peak = std::sqrt((2.0 * a * move.length_mm + v0 * v0 + v1 * v1) / 2.0);
  if (peak <= move.speed)
    return (peak - v0) / a + (peak - v1) / a;
  const double v = move.speed;
  return (v - v0) / a + (v - v1) / a +
         (move.length_mm - (2.0 * v * v - v0 * v0 - v1 * v1) / (2.0 * a)) / v;
}

/// What the cruise share leaves of a rise and fall: no move in it goes faster than the peak of a
/// profile with reaches (1 - share) 2 a L. What came before a share was in force is no part of one.
inline void hold_peaks(std::vector<SlowMove>& moves, const std::vector<double>& caps) {
  std::vector<double> reaches;
  for (const SlowMove& move : moves)
    reaches.push_back((1.0 - move.cruise_share) * 2.0 * move.acceleration * move.length_mm);
  const std::vector<double> w = two_passes(caps, reaches);
  const double some = 1.0 - 1e-9;
  std::size_t begin = 0;
  while (begin < moves.size() && !moves[begin].shares)
    ++begin;
  for (std::size_t end = begin; begin < moves.size(); begin = end) {
    double peak = 0.0;  // squared
    for (bool summit = false; end < moves.size(); ++end) {
      const bool rises = w[end + 1] >= w[end] + some * reaches[end];
      const bool falls = w[end] >= w[end + 1] + some * reaches[end];
      if (summit && !falls)
        break;
      summit = summit || !rises;
      peak = std::max(peak, std::min(std::pow(moves[end].speed, 2.0),
                                     (w[end] + w[end + 1] + reaches[end]) / 2.0));
    }
    for (std::size_t i = begin; i < end; ++i)
      moves[i].speed = std::min(moves[i].speed, std::sqrt(peak));
  }
}

/// All moves of a plate, each with its corner before it.
inline void finish(std::vector<SlowMove>& moves, const MotionLimits& limits) {
  const auto window = static_cast<std::size_t>(limits.look_ahead_moves);
  std::vector<double> caps, reaches;
  for (std::size_t i = 0; i < moves.size(); ++i) {
    const double v = moves[i].after_stop ? 0.0 : slow_corner(moves[i - 1], moves[i], limits);
    caps.push_back(v * v);
    reaches.push_back(2.0 * moves[i].acceleration * moves[i].length_mm);
  }
  if (!moves.empty() && moves.back().shares && window == 0) {
    hold_peaks(moves, caps);
    for (std::size_t i = 1; i < moves.size(); ++i)
      caps[i] = std::min(caps[i], std::pow(std::min(moves[i - 1].speed, moves[i].speed), 2.0));
  }
  const std::vector<double> w =
      window == 0 ? two_passes(caps, reaches) : window_simulation(caps, reaches, window);
  for (std::size_t i = 0; i < moves.size(); ++i) {
    moves[i].v0 = std::sqrt(w[i]);
    moves[i].v1 = std::sqrt(w[i + 1]);
    moves[i].time_s = slow_time(moves[i]);
  }
}

/// An arc as the chords that the controller makes of it; a line as it is.
inline std::vector<interpreter::Record> chords_of(const interpreter::Record& record,
                                                  double chord_mm) {
  const interpreter::Move& move = record.move;
  if (!move.is_arc() || chord_mm == 0.0)
    return {record};
  const double radius =
      std::hypot(move.from_mm[0] - move.centre_mm[0], move.from_mm[1] - move.centre_mm[1]);
  const double begin =
      std::atan2(move.from_mm[1] - move.centre_mm[1], move.from_mm[0] - move.centre_mm[0]);
  const double rise = move.to_mm[2] - move.from_mm[2];
  const double length = std::hypot(radius * move.sweep_rad, rise);
  const double chords = std::max(1.0, std::floor(length / chord_mm));
  std::vector<interpreter::Record> cut;
  interpreter::Record chord = record;
  chord.move.sweep_rad = 0.0;
  chord.move.e_mm = move.e_mm / chords;
  for (double k = 1.0; k <= chords; k += 1.0) {
    const double angle = begin + move.sweep_rad * k / chords;
    chord.move.to_mm = {move.centre_mm[0] + radius * std::cos(angle),
                        move.centre_mm[1] + radius * std::sin(angle),
                        move.from_mm[2] + rise * k / chords};
    if (k == chords)
      chord.move.to_mm = move.to_mm;
    cut.push_back(chord);
    chord.move.from_mm = chord.move.to_mm;
  }
  return cut;
}

inline void set_limit(MotionLimits& limits, const interpreter::Event& event) {
  using interpreter::Limit;
  const double value = event.values[0];
  if (event.limit == Limit::corner_speed_mm_s) {
    limits.corner_speed_mm_s = value;
  } else if (event.limit == Limit::least_cruise_share) {
    limits.least_cruise_share = value;
  } else if (event.limit == Limit::print_acceleration_mm_s2) {
    limits.print_acceleration_mm_s2 = value;
  } else if (event.limit == Limit::braking_acceleration_mm_s2) {
    limits.least_cruise_share = 1.0 - std::min(1.0, value / limits.print_acceleration_mm_s2);
  } else if (event.limit == Limit::path_acceleration_mm_s2) {
    limits.print_acceleration_mm_s2 = limits.travel_acceleration_mm_s2 = value;
    for (const std::size_t axis : {0U, 1U})
      limits.acceleration_mm_s2[axis] = std::max(limits.acceleration_mm_s2[axis], value);
  }
}

/// Plans moves; any record but a move, a set point, a fan or a limit stands still.
inline std::vector<SlowMove> slow_plan(const MotionLimits& machine,
                                       const std::vector<interpreter::Record>& records) {
  using interpreter::RecordKind;
  MotionLimits limits = machine;
  std::vector<SlowMove> moves;
  bool stands = true;
  bool shares = limits.least_cruise_share > 0.0;
  for (std::size_t i = 0; i < records.size(); ++i) {
    const RecordKind kind = records[i].kind;
    if (kind == RecordKind::set_limits) {
      set_limit(limits, records[i].event);
      shares = shares || limits.least_cruise_share > 0.0;
    } else if (kind != RecordKind::move) {
      stands = stands || (kind != RecordKind::set_heater && kind != RecordKind::set_fan);
    } else {
      for (const interpreter::Record& chord : chords_of(records[i], limits.arc_chord_mm)) {
        SlowMove move = slow_move(chord, limits);
        if (move.length_mm < 1e-9)
          continue;
        move.record = i;
        move.shares = shares;
        move.after_stop = stands;
        stands = false;
        moves.push_back(move);
      }
    }
  }
  finish(moves, limits);
  return moves;
}

}  // namespace platetally::oracle
