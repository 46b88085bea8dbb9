#include "account/ledgers/start_lines.hpp"

#include <algorithm>

namespace platetally::ledgers {

namespace {

// All assumed: what practice lays at the edge of a bed, and how far from the print.
constexpr float kAway_mm = 5.0F;
constexpr double kLeastLength_mm = 20.0;
constexpr double kThicker = 1.3;
constexpr std::size_t kFewStrokes = 8;  // tell no mean bead
constexpr double kSameLaid = 0.01;

}  // namespace

swaps::Box StartLines::box_from(std::size_t first) const {
  swaps::Box box;
  for (std::size_t i = first; i < strokes_.size(); ++i)
    box.include(strokes_[i].box);
  return box;
}

bool StartLines::have_their_own_layers(
    std::size_t count, const std::function<double(std::uint32_t layer)>& laid_in) const {
  return std::all_of(strokes_.begin(), strokes_.begin() + static_cast<std::ptrdiff_t>(count),
                     [&](const Stroke& stroke) {
                       double here_mm = 0.0;
                       for (std::size_t i = 0; i < count; ++i)
                         here_mm += strokes_[i].layer == stroke.layer ? strokes_[i].fed_mm : 0.0;
                       return laid_in(stroke.layer) <= here_mm * (1.0 + kSameLaid);
                     });
}

bool StartLines::have_a_thicker_bead(std::size_t count) const {
  double start_fed = 0.0, start_length = 0.0, fed = 0.0, length = 0.0;
  for (std::size_t i = 0; i < strokes_.size(); ++i) {
    (i < count ? start_fed : fed) += strokes_[i].fed_mm;
    (i < count ? start_length : length) += strokes_[i].length_mm;
  }
  return strokes_.size() >= count + kFewStrokes && start_length > 0.0 && length > 0.0 &&
         start_fed / start_length >= kThicker * fed / length;
}

bool StartLines::are_start_lines(std::size_t count, const swaps::Box& later,
                                 const std::function<double(std::uint32_t layer)>& laid_in) const {
  swaps::Box rest = box_from(count);
  rest.include(later);
  double length_mm = 0.0;
  swaps::Box together;
  for (std::size_t i = 0; i < count; ++i) {
    together.include(strokes_[i].box);
    length_mm += strokes_[i].length_mm;
    if (rest.empty() || strokes_[i].box.meets(rest, kAway_mm))
      return false;
  }
  constexpr std::size_t kSides = 3;  // of a line that lies around
  return length_mm >= kLeastLength_mm && (count < kSides || !together.meets(rest, kAway_mm)) &&
         (have_their_own_layers(count, laid_in) || have_a_thicker_bead(count));
}

std::vector<StartLines::Stroke> StartLines::find(
    const swaps::Box& later, const std::function<double(std::uint32_t layer)>& laid_in) const {
  for (std::size_t count = std::min(strokes_.size(), kMostStartStrokes); count > 0; --count)
    if (are_start_lines(count, later, laid_in))
      return {strokes_.begin(), strokes_.begin() + static_cast<std::ptrdiff_t>(count)};
  return {};
}

}  // namespace platetally::ledgers
