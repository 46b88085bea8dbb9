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

#include <array>

#include "interpreter/record.hpp"
#include "motion/corner.hpp"
#include "motion/course.hpp"
#include "platetally/machine.hpp"

namespace platetally::motion {

struct Pace {
  double speed_mm_s;
  double acceleration_mm_s2;
};

enum class Use : unsigned char { print, travel, retract };

class Limits {
 public:
  /// Smallest and largest speed, acceleration and deviation that are believed; squares of them stay
  /// finite, times too.
  static constexpr double kLeast = 1e-6;
  static constexpr double kMost = 1e9;

  explicit Limits(const MotionLimits& machine);

  enum class Answer : unsigned char { taken, not_honoured, refused };
  /// Follows a set_limits record. Refused: a value is stated that no machine has (negative, not
  /// finite, out of the range above); the values in order are taken all the same.
  Answer set(const interpreter::Event& event);

  Pace line_pace(const Course& course, double feed_mm_s, Use use) const;
  Pace arc_pace(const Course& course, const Bend& bend, double feed_mm_s, Use use) const;

  /// Square of the speed at which the corner may be passed, by the machine's model.
  double corner_square(const Corner& corner, double acceleration_mm_s2) const {
    return machine_.corner_model == CornerModel::junction_deviation
               ? deviation_square(corner, machine_.junction_deviation_mm, acceleration_mm_s2)
               : step_square(corner, machine_.corner_step_mm_s);
  }

  const MotionLimits& present() const { return machine_; }

 private:
  bool honours(interpreter::Limit limit) const;
  double wanted_speed(const Course& course, double feed_mm_s, Use use) const;
  double base_acceleration(Use use) const;
  Pace pace(const Course& course, const Direction& shares, double feed_mm_s, Use use) const;
  void invert();

  MotionLimits machine_;
  std::array<double, kAxisCount> per_speed_{};  // reciprocals, to multiply by
  std::array<double, kAxisCount> per_acceleration_{};
};

}  // namespace platetally::motion
