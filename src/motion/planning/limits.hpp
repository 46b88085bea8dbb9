// What a move may do on this machine: its speed and acceleration.
//
// A path with shares u_k of the axes (of E: filament per millimetre of path) keeps every axis
// within its limit when v <= min_k V_k / |u_k| and a <= min_k A_k / |u_k|; on an arc |u_k| is the
// largest on the way. The acceleration starts from the machine's value for its kind of move:
//   print    a path with E (also a wipe, E < 0) or with the extruder switched on
//   travel   a path without E
//   retract  E alone
// Speed: the requested feed (0: as fast as the axes allow), raised to the minimum feed of prints or
// travels, then lowered so that the move lasts the minimum segment time, then by the axes, and on
// an arc by v^2 <= a_n R, a_n the acceleration that all axes can give across the path. Range:
// shares finite. On an arc each of tangential and normal acceleration keeps the limits, not their
// sum: on a full circle braking at top speed it can exceed them by sqrt(2). Source: elementary
// kinematics; the order of minimum feed and segment time is common practice.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "motion/planning/corner.hpp"
#include "motion/planning/path.hpp"
#include "platetally/machine.hpp"
#include "reading/interpreter/record.hpp"

namespace platetally::motion {

struct Pace {
  double speed_mm_s;
  double acceleration_mm_s2;
};

enum class Use : unsigned char { print, travel, retract };

/// What holds for every path.
struct PathLimits {
  double minimum_segment_time_s = 0.0;
  std::array<double, kAxisCount> per_speed{};  ///< reciprocals, to multiply by
  std::array<double, kAxisCount> per_acceleration{};
};

/// What the kind of move decides.
struct UseLimits {
  double minimum_feed_mm_s = 0.0;
  double acceleration_mm_s2 = 0.0;
};

class Limits {
 public:
  /// Smallest and largest speed, acceleration and deviation that are believed; squares of them stay
  /// finite, times too.
  static constexpr double kLeast = 1e-6;
  static constexpr double kMost = 1e9;

  explicit Limits(const MotionLimits& machine);

  /// Follows a set_limits record. False: a value is stated that no machine has (negative, not
  /// finite, out of the range above; a share of 1) and was left out; the others are taken. Whether
  /// the machine obeys the word at all, the interpreter has decided.
  bool set(const interpreter::Event& event);

  void leave_out_cruise_share() { machine_.least_cruise_share = 0.0; }

  Pace line_pace(const Path& path, double feed_mm_s, Use use) const;
  Pace arc_pace(const Path& path, const Bend& bend, double feed_mm_s, Use use) const;

  /// Square of the speed at which the corner may be passed, by the machine's model; of the
  /// acceleration and of what else limits the legs, the lesser.
  double corner_square(const Corner& corner, double acceleration_mm_s2,
                       const CornerLegs& legs = {}) const {
    switch (machine_.corner_model) {
      case CornerModel::junction_deviation:
        return deviation_square(corner, machine_.junction_deviation_mm, acceleration_mm_s2);
      case CornerModel::speed_step:
        return step_square(corner, machine_.corner_step_mm_s);
      case CornerModel::corner_speed:
        break;
    }
    return corner_speed_square(corner, legs, machine_.corner_step_mm_s[3]);
  }

  const MotionLimits& present() const { return machine_; }
  const PathLimits& of_paths() const { return of_paths_; }
  const UseLimits& of_use(Use use) const { return by_use_[static_cast<std::size_t>(use)]; }

 private:
  bool set_path_acceleration(double acceleration_mm_s2);
  bool set_cruise_share(double share);
  Pace pace(double length_mm, const Direction& shares, double feed_mm_s, Use use) const;
  void prepare();

  MotionLimits machine_;
  std::array<UseLimits, 3> by_use_{};
  PathLimits of_paths_;
};

// The bodies below serve one move and, in move_block.cpp, many side by side.

/// The feed that a move asks for; where none is stated, the axes decide.
inline double asked_feed(double feed_mm_s) {
  return feed_mm_s > 0.0 ? feed_mm_s : std::numeric_limits<double>::infinity();
}
/// A move does not end before the least time of a segment.
inline double in_segment(double speed_mm_s, double length_mm, double least_s) {
  const double slower_mm_s = length_mm / least_s;
  return speed_mm_s * least_s > length_mm ? slower_mm_s : speed_mm_s;
}
/// At most 1 / `per_limit`.
inline double within(double value, double per_limit) {
  const double most = 1.0 / per_limit;
  return value * per_limit > 1.0 ? most : value;
}

/// max_k |share_k| * per_limit_k: the reciprocal of the limit along the path.
inline double per_path_limit(const Direction& shares,
                             const std::array<double, kAxisCount>& per_limit) {
  const double x = std::abs(shares[0]) * per_limit[0];
  const double y = std::abs(shares[1]) * per_limit[1];
  const double z = std::abs(shares[2]) * per_limit[2];
  const double e = std::abs(shares[3]) * per_limit[3];
  return std::max(std::max(x, y), std::max(z, e));
}

// For arcs, one by one; find_paces() does the same for many straight moves at once.
inline Pace Limits::pace(double length_mm, const Direction& shares, double feed_mm_s,
                         Use use) const {
  const UseLimits& by_use = of_use(use);
  double speed = std::max(asked_feed(feed_mm_s), by_use.minimum_feed_mm_s);
  if (machine_.minimum_segment_time_s > 0.0)
    speed = in_segment(speed, length_mm, machine_.minimum_segment_time_s);
  return {within(std::max(speed, kLeast), per_path_limit(shares, of_paths_.per_speed)),
          within(by_use.acceleration_mm_s2, per_path_limit(shares, of_paths_.per_acceleration))};
}

inline Pace Limits::line_pace(const Path& path, double feed_mm_s, Use use) const {
  return pace(path.length_mm, path.entry, feed_mm_s, use);
}

}  // namespace platetally::motion
