// The feed that F words set, by the minute or as the inverse of a move's time.
#pragma once

#include "base/units.hpp"
#include "reading/interpreter/word_values.hpp"

namespace platetally::interpreter {

class FeedRate {
 public:
  explicit FeedRate(double initial_mm_s) : stated_mm_s_(initial_mm_s) {}

  /// Words beyond `most` are no feed.
  static bool is_sound(double word, double most) { return word > 0.0 && word <= most; }
  /// A sound word.
  void take(double word, double unit_mm) {
    if (inverse_)
      per_min_ = word;
    else
      stated_mm_s_ = feed_rate_mm_s(word, unit_mm);
  }
  void set_inverse(bool inverse) { inverse_ = inverse; }
  bool is_inverse() const { return inverse_; }
  /// A factor on all that words state.
  void set_factor(double factor) { factor_ = factor; }
  double factor() const { return factor_; }

  double in_force_mm_s() const { return stated_mm_s_ * factor_; }
  /// By inverse time, for a move of that length.
  double over_mm_s(double length_mm) const {
    return base::mm_s_from_mm_min(length_mm * per_min_) * factor_;
  }

 private:
  double stated_mm_s_;
  double factor_ = 1.0;
  bool inverse_ = false;
  double per_min_ = 0.0;
};

}  // namespace platetally::interpreter
