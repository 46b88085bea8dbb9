// Seconds by layer and by what the machine does meanwhile, heat waits excepted.
#pragma once

#include <array>
#include <vector>

#include "material/swaps/purge_book.hpp"
#include "motion/timeline/durations.hpp"
#include "platetally/breakdown.hpp"
#include "platetally/stop.hpp"
#include "reading/interpreter/record.hpp"

namespace platetally::ledgers {

class TimeLedger {
 public:
  /// Adds a record's expected seconds to its layer, and its band to the total.
  void add(const interpreter::Record& record, const timeline::Duration& duration,
           const swaps::Feed& feed);

  /// The same for a move that takes its motion and nothing else.
  void add_move(const interpreter::Record& record, const swaps::Feed& feed);

  /// The next record is the first that extrudes.
  void begin_print();

  /// Several strokes of the part in one layer.
  void add_strokes(std::uint32_t layer, double motion_s);

  /// Counts seconds that were added as print to a layer as swap after all.
  void move_to_swap(std::uint32_t layer, double print_s);

  /// By layer ordinal.
  const std::vector<TimeBy>& layers() const { return layers_; }
  /// Sum of all added durations.
  const Range& total() const { return total_; }
  /// From the first extrusion on, without homing, probing, pauses and the machine's start.
  Range of_print() const;
  /// What motion itself is unsure of: in all, and from the first extrusion on. About the expected
  /// seconds.
  Range motion_band() const { return band_of_motion(motion_s()); }
  Range print_motion_band() const {
    return prints_ ? band_of_motion(motion_s() - motion_before_print_s_) : Range{};
  }
  /// The next record waits for a person; `of` has kind, line and tool. Beyond kMostStops it is only
  /// counted.
  void note_stop(Stop of, std::uint32_t layer);
  /// `stop.layer` is a layer ordinal, `stop.after` without heat waits.
  const std::vector<Stop>& stops() const { return stops_; }
  std::uint64_t stops_in_all() const { return stops_in_all_; }
  double pause_s() const { return of_cause(timeline::Cause::pause).expected; }
  std::uint64_t pauses() const { return pauses_; }
  /// Sum of the durations of one cause.
  const Range& of_cause(timeline::Cause cause) const {
    return by_cause_[static_cast<std::size_t>(cause)];
  }

 private:
  TimeBy& layer_of(const interpreter::Record& record) {
    if (layers_.size() <= record.layer)
      layers_.resize(record.layer + 1U);
    return layers_[record.layer];
  }
  void add_causes(const timeline::Duration& duration);

  Range counted() const;
  double motion_s() const { return of_cause(timeline::Cause::motion).expected; }
  static Range band_of_motion(double motion_s);

  std::vector<TimeBy> layers_;
  std::uint64_t pauses_ = 0;
  std::vector<Stop> stops_;
  std::uint64_t stops_in_all_ = 0;
  Range total_;
  bool prints_ = false;
  Range before_print_;  // counted until then
  double motion_before_print_s_ = 0.0;
  Range start_;  // of the machine
  std::array<Range, timeline::kCauses> by_cause_{};
};

}  // namespace platetally::ledgers
