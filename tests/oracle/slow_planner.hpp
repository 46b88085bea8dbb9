// Slow, obvious references for the planner: whole file at once, a window simulated move by move,
// corners by angles, limits by loops. Straight moves and E alone; arcs in the plane X Y, as long as
// no axis is at its limit on them.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
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
  double radius_mm = 0.0;  ///< of curvature, of an arc
  double v0 = 0.0, v1 = 0.0;
  double time_s = 0.0;
};

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
  if (a.feeds != b.feeds)
    return 0.0;
  if (a.feeds)
    return a.exit_share[3] == b.share[3] ? speed : 0.0;
  long double plus = 0.0L, minus = 0.0L;
  for (std::size_t k = 0; k < 3; ++k) {
    plus += std::pow(static_cast<long double>(a.exit_share[k]) + b.share[k], 2.0L);
    minus += std::pow(static_cast<long double>(a.exit_share[k]) - b.share[k], 2.0L);
  }
  const long double turn = 2.0L * std::atan2(std::sqrt(minus), std::sqrt(plus));
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

inline void finish_run(std::vector<SlowMove>& moves, std::size_t first, const MotionLimits& limits,
                       std::size_t window) {
  std::vector<double> caps, reaches;
  for (std::size_t i = first; i < moves.size(); ++i) {
    const double v = i == first ? 0.0 : slow_corner(moves[i - 1], moves[i], limits);
    caps.push_back(v * v);
    reaches.push_back(2.0 * moves[i].acceleration * moves[i].length_mm);
  }
  const std::vector<double> w =
      window == 0 ? two_passes(caps, reaches) : window_simulation(caps, reaches, window);
  for (std::size_t i = first; i < moves.size(); ++i) {
    moves[i].after_stop = i == first;
    moves[i].v0 = std::sqrt(w[i - first]);
    moves[i].v1 = std::sqrt(w[i - first + 1]);
    moves[i].time_s = slow_time(moves[i]);
  }
}

/// Plans moves; any record but a move, a set point or a fan stands still.
inline std::vector<SlowMove> slow_plan(const MotionLimits& limits,
                                       const std::vector<interpreter::Record>& records) {
  using interpreter::RecordKind;
  const auto window = static_cast<std::size_t>(limits.look_ahead_moves);
  std::vector<SlowMove> moves;
  std::size_t first = 0;
  for (std::size_t i = 0; i < records.size(); ++i) {
    const RecordKind kind = records[i].kind;
    if (kind == RecordKind::move) {
      SlowMove move = slow_move(records[i], limits);
      move.record = i;
      if (move.length_mm >= 1e-9)
        moves.push_back(move);
    } else if (kind != RecordKind::set_heater && kind != RecordKind::set_fan) {
      finish_run(moves, first, limits, window);
      first = moves.size();
    }
  }
  finish_run(moves, first, limits, window);
  return moves;
}

}  // namespace platetally::oracle
