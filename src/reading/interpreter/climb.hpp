// Strokes that are joined one to the other and change their height while they lay: the turns of a
// spiral, a ramp at a seam, a wave.
//
// A closed path turns its heading by one full turn each time around (Hopf's Umlaufsatz, 1935), so
// the rise between moments whose sums of heading changes differ by 2 pi is the pitch of a spiral,
// whatever its outline. The first moment may lie at any corner; rises are taken from there on, and
// over all turns so far, so that rounded heights and coarse corners average out.
//
// Files round Z: a spiral repeats a height over several strokes. A stroke that keeps the height
// that a joined one has reached belongs to the climb, unless the path stays level for longer than
// rounding explains, and for half as long as it climbed: then a climb at its mean slope would have
// risen by kFlat_mm.
#pragma once

#include <array>
#include <cmath>
#include <numbers>

namespace platetally::interpreter {

class Climb {
 public:
  using Point = std::array<double, 3>;

  bool is_on() const { return on_; }
  void end() { on_ = false; }

  /// Its first stroke begins there, and is to be given to go() next. `from_nothing`: no layer lies
  /// below.
  void begin(const Point& from_mm, bool from_nothing) {
    *this = Climb();
    on_ = true;
    from_nothing_ = from_nothing;
    start_mm_ = from_mm[2];
  }

  void go(const Point& from_mm, const Point& to_mm) {
    const double x_mm = to_mm[0] - from_mm[0], y_mm = to_mm[1] - from_mm[1];
    const double way_mm = std::hypot(x_mm, y_mm);
    path_mm_ += way_mm;
    flat_mm_ = to_mm[2] == from_mm[2] ? flat_mm_ + way_mm : 0.0;
    falls_ = falls_ || to_mm[2] < from_mm[2] - kRounding_mm;
    z_mm_ = to_mm[2];
    if (way_mm > 0.0)
      turn_to(std::atan2(y_mm, x_mm), from_mm[2]);
  }

  /// It goes on level, as a layer does.
  bool is_flat() const {
    return path_mm_ > 0.0 && flat_mm_ >= kFlatShare * (path_mm_ - flat_mm_) &&
           std::abs(z_mm_ - start_mm_) / path_mm_ * flat_mm_ >= kFlat_mm;
  }

  /// Of a spiral, once it has gone around from its first corner; 0: it is none, or that is not
  /// known yet.
  double pitch_mm() const {
    if (turns_ < 2 || falls_)
      return 0.0;
    const double pitch_mm = (last_turn_mm_ - first_turn_mm_) / (turns_ - 1);
    return pitch_mm >= kLeastPitch_mm && pitch_mm <= kMostPitch_mm ? pitch_mm : 0.0;
  }

  /// A layer has been opened by it.
  void count_layer() { ++layers_; }
  int layers() const { return layers_; }
  /// Height at which a spiral of that pitch comes to its next layer. The first turn above another
  /// layer is one of its own, known as such when it is nearly complete; the first turn from nothing
  /// has its layer from the start. A tenth of a turn, more or less, is none.
  double next_layer_mm(double pitch_mm) const {
    return start_mm_ + pitch_mm * (layers_ + 1 + (from_nothing_ ? kPartOfTurn : -kPartOfTurn));
  }

 private:
  static constexpr double kRounding_mm = 0.005;  // of two decimals
  static constexpr double kFlat_mm = 0.02;       // twice the step of two decimals
  static constexpr double kFlatShare = 0.5;
  static constexpr double kLeastPitch_mm = 0.04;
  static constexpr double kMostPitch_mm = 2.0;
  static constexpr double kPartOfTurn = 0.1;

  void turn_to(double heading_rad, double at_mm) {
    constexpr double kFullTurn = 2.0 * std::numbers::pi;
    if (has_heading_)
      turned_rad_ += std::remainder(heading_rad - heading_rad_, kFullTurn);
    has_heading_ = true;
    heading_rad_ = heading_rad;
    constexpr double kSlack_rad = 1e-3;  // of headings between rounded points
    if (std::abs(turned_rad_) < kFullTurn * (turns_ + 1) - kSlack_rad)
      return;
    ++turns_;
    if (turns_ == 1)
      first_turn_mm_ = at_mm;
    last_turn_mm_ = at_mm;
  }

  bool on_ = false;
  bool from_nothing_ = false;
  bool falls_ = false;
  bool has_heading_ = false;
  double start_mm_ = 0.0, z_mm_ = 0.0;
  double path_mm_ = 0.0, flat_mm_ = 0.0;
  double heading_rad_ = 0.0, turned_rad_ = 0.0;
  int turns_ = 0;
  double first_turn_mm_ = 0.0, last_turn_mm_ = 0.0;
  int layers_ = 0;
};

}  // namespace platetally::interpreter
