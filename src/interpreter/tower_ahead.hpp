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

class TowerAhead {
 public:
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
      now_.box.include(from_mm);
      now_.box.include(to_mm);
    }
  }
  /// Further strokes of the same height need not be told while this is false.
  bool is_watching() const { return watching_; }

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

  struct Box {
    double x_min_mm = 1e9, x_max_mm = -1e9, y_min_mm = 1e9, y_max_mm = -1e9;
    void include(const std::array<double, 3>& point_mm) {
      x_min_mm = std::min(x_min_mm, point_mm[0]);
      x_max_mm = std::max(x_max_mm, point_mm[0]);
      y_min_mm = std::min(y_min_mm, point_mm[1]);
      y_max_mm = std::max(y_max_mm, point_mm[1]);
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
    known->box.include({box.x_min_mm, box.y_min_mm, 0.0});
    known->box.include({box.x_max_mm, box.y_max_mm, 0.0});
  }

  Run before_;
  Run now_;
  bool swapped_ = false;
  bool watching_ = false;
  std::vector<Seen> places_;
};

}  // namespace platetally::interpreter
