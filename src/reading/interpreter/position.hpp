// Where the tool is, and what the words of places count by and from.
#pragma once

#include <array>
#include <cstddef>

#include "reading/interpreter/record.hpp"
#include "reading/interpreter/word_values.hpp"

namespace platetally::interpreter {

/// Physical millimetres; what the words say is physical - offset, so setting a position moves the
/// offset and not the machine.
class Position {
 public:
  using Point = std::array<double, 3>;

  const Point& at_mm() const { return at_mm_; }
  void go_to(const Point& to_mm) { at_mm_ = to_mm; }

  double unit_mm() const { return unit_mm_; }
  void set_unit_mm(double unit_mm) { unit_mm_ = unit_mm; }
  bool is_relative() const { return relative_; }
  void set_relative(bool relative) { relative_ = relative; }
  Plane plane() const { return plane_; }
  void set_plane(Plane plane) { plane_ = plane; }

  /// Machine coordinates hold for the rest of their line.
  void take_machine_coordinates() { by_machine_ = true; }
  void begin_line() { by_machine_ = false; }

  /// Where the words X, Y and Z lead. `Words`: has(letter), and [letter] where it has.
  template <typename Words>
  Point target(const Words& words) const {
    Point to_mm = at_mm_;
    for (std::size_t axis = 0; axis < 3; ++axis) {
      const char letter = static_cast<char>('X' + axis);
      if (!words.has(letter))
        continue;
      const double from_mm = by_machine_ ? 0.0 : relative_ ? at_mm_[axis] : offset_mm_[axis];
      to_mm[axis] = place_mm(words[letter], unit_mm_, from_mm);
    }
    return to_mm;
  }

  const Point& offset_mm() const { return offset_mm_; }
  /// From now on the words call the place of that axis so.
  void call(std::size_t axis, double said_mm) { offset_mm_[axis] = at_mm_[axis] - said_mm; }
  void clear_offsets() { offset_mm_ = suspended_offset_mm_ = {}; }
  void suspend_offsets() {
    suspended_offset_mm_ = offset_mm_;
    offset_mm_ = {};
  }
  void restore_offsets() { offset_mm_ = suspended_offset_mm_; }
  /// The plate does not say where a machine's switches are; a homed axis is taken to stand at 0,
  /// and its offset is forgotten.
  void home(std::size_t axis) { at_mm_[axis] = offset_mm_[axis] = 0.0; }

 private:
  Point at_mm_{};
  Point offset_mm_{};
  Point suspended_offset_mm_{};
  double unit_mm_ = 1.0;
  bool relative_ = false;
  bool by_machine_ = false;
  Plane plane_ = Plane::xy;
};

}  // namespace platetally::interpreter
