// A prime tower whose height runs ahead of the part's: after swaps the plate goes up to it and
// comes back down to the layer that it was in, or to the next one. From the second time on, what is
// laid in that place above the part belongs to the layer that the part is in; before that it cannot
// be known, and counts at its own height.
#pragma once

#include <algorithm>
#include <array>
#include <cstdint>
#include <vector>

namespace platetally::interpreter {

class TallPrimeTower {
 public:
  struct Box {
    double x_min_mm = 1e9, x_max_mm = -1e9, y_min_mm = 1e9, y_max_mm = -1e9;
    void include(double x_mm, double y_mm) {
      x_min_mm = std::min(x_min_mm, x_mm);
      x_max_mm = std::max(x_max_mm, x_mm);
      y_min_mm = std::min(y_min_mm, y_mm);
      y_max_mm = std::max(y_max_mm, y_mm);
    }
    void include(const Box& other) {
      include(other.x_min_mm, other.y_min_mm);
      include(other.x_max_mm, other.y_max_mm);
    }
    bool holds(const std::array<double, 3>& point_mm) const {
      return point_mm[0] >= x_min_mm - kEdgeMm && point_mm[0] <= x_max_mm + kEdgeMm &&
             point_mm[1] >= y_min_mm - kEdgeMm && point_mm[1] <= y_max_mm + kEdgeMm;
    }
    bool meets(const Box& other) const {
      return x_min_mm <= other.x_max_mm + kEdgeMm && x_max_mm >= other.x_min_mm - kEdgeMm &&
             y_min_mm <= other.y_max_mm + kEdgeMm && y_max_mm >= other.y_min_mm - kEdgeMm;
    }
  };

  /// Another tool is in hand.
  void swap() { swapped_ = true; }

  /// A stroke has been placed in a layer of that height.
  void lay(const std::array<double, 3>& from_mm, const std::array<double, 3>& to_mm,
           std::uint32_t layer, double z_mm) {
    if (layer != now_.layer) {
      if (watching_ && z_mm < now_.z_mm && z_mm >= before_.z_mm)
        note(now_.box);
      before_ = now_;
      now_ = {layer, z_mm, {}};
      watching_ = swapped_ && z_mm > before_.z_mm;
    }
    swapped_ = false;
    if (watching_) {
      now_.box.include(from_mm[0], from_mm[1]);
      now_.box.include(to_mm[0], to_mm[1]);
    }
  }
  /// Further strokes of the same height need not be told while this is false.
  bool is_watching() const { return watching_; }
  /// While it is true: strokes within `box`, in the layer of the stroke told last.
  void lay_in(const Box& box) {
    swapped_ = false;
    now_.box.include(box);
  }

  /// Whether a stroke lies on such a tower, above a layer of height `z_mm`.
  bool holds(const std::array<double, 3>& from_mm, const std::array<double, 3>& to_mm,
             double z_mm) const {
    return to_mm[2] > z_mm && std::any_of(places_.begin(), places_.end(), [&](const Seen& seen) {
             return seen.times >= kBelieved && seen.box.holds(from_mm) && seen.box.holds(to_mm);
           });
  }

 private:
  static constexpr int kBelieved = 2;
  static constexpr double kEdgeMm = 1.0;
  static constexpr std::size_t kMostPlaces = 16;

  struct Run {
    std::uint32_t layer = 0;
    double z_mm = 0.0;
    Box box;
  };
  struct Seen {
    Box box;
    int times = 0;
  };

  void note(const Box& box) {
    const auto known = std::find_if(places_.begin(), places_.end(),
                                    [&](const Seen& seen) { return seen.box.meets(box); });
    if (known == places_.end()) {
      if (places_.size() < kMostPlaces)
        places_.push_back({box, 1});
      return;
    }
    ++known->times;
    known->box.include(box);
  }

  Run before_;
  Run now_;
  bool swapped_ = false;
  bool watching_ = false;
  std::vector<Seen> places_;
};

}  // namespace platetally::interpreter
