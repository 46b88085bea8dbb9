// Priming lines in front of the print, where no mark says so.
//
// The first strokes of a plate are such lines where they lie away from everything that is ever
// printed, are long enough to prime a nozzle, and either have a height of their own, or a bead that
// is thicker than the print's by far. A skirt lies around the part and is none; the first of
// several small parts is printed above again.
#pragma once

#include <cmath>
#include <cstdint>
#include <functional>
#include <vector>

#include "material/swaps/box.hpp"
#include "reading/interpreter/record.hpp"

namespace platetally::ledgers {

class StartLines {
 public:
  struct Stroke {
    swaps::Box box;
    std::uint32_t layer = 0;
    int tool = 0;
    double fed_mm = 0.0, length_mm = 0.0;
  };

  /// The first strokes are still to come, and each of them is wanted.
  bool is_watching() const { return watching_; }
  /// Nothing that comes now is a start line: a tool was changed.
  void stop() { watching_ = false; }
  /// The next stroke of the part.
  void add(const interpreter::Record& record, double fresh_mm) {
    const interpreter::Move& move = record.move;
    Stroke stroke;
    stroke.box.include(move.from_mm[0], move.from_mm[1]);
    stroke.box.include(move.to_mm[0], move.to_mm[1]);
    stroke.layer = record.layer;
    stroke.tool = record.tool;
    stroke.fed_mm = fresh_mm;
    stroke.length_mm = std::hypot(move.to_mm[0] - move.from_mm[0], move.to_mm[1] - move.from_mm[1]);
    strokes_.push_back(stroke);
    watching_ = strokes_.size() < kWatched;
  }
  /// Of the first stroke.
  int tool() const { return strokes_.empty() ? 0 : strokes_.front().tool; }
  /// Everything that was added.
  swaps::Box box() const { return box_from(0); }

  /// The strokes that are start lines. `later`: all that is printed behind those that were added;
  /// `laid_in`: millimetres of filament that are laid in a layer.
  std::vector<Stroke> find(const swaps::Box& later,
                           const std::function<double(std::uint32_t layer)>& laid_in) const;

 private:
  static constexpr std::size_t kWatched = 64;
  static constexpr std::size_t kMostStartStrokes = 12;

  swaps::Box box_from(std::size_t first) const;
  bool are_start_lines(std::size_t count, const swaps::Box& later,
                       const std::function<double(std::uint32_t layer)>& laid_in) const;
  bool have_their_own_layers(std::size_t count,
                             const std::function<double(std::uint32_t layer)>& laid_in) const;
  bool have_a_thicker_bead(std::size_t count) const;

  std::vector<Stroke> strokes_;
  bool watching_ = true;
};

}  // namespace platetally::ledgers
