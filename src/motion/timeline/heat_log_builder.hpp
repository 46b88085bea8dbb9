// Condenses timed records into the log that heat runs over.
#pragma once

#include <vector>

#include "motion/timeline/bed_grid.hpp"
#include "motion/timeline/durations.hpp"
#include "motion/timeline/heat_log.hpp"
#include "platetally/machine.hpp"
#include "platetally/stop.hpp"
#include "reading/interpreter/rows.hpp"

namespace platetally::timeline {

class HeatLogBuilder {
 public:
  explicit HeatLogBuilder(const Machine& machine);

  /// The next record with its duration and the filament that it feeds beyond what was drawn back.
  void take(const interpreter::Record& record, const Duration& duration, double fresh_mm);

  /// The same for a move that takes its motion and nothing else.
  void take_move(const interpreter::Record& record, double fresh_mm);

  /// The same for rows of strokes like the last record: of the same tool and layer, above the tile
  /// that the last one ended on, all of their filament fresh.
  void take_strokes(const interpreter::Rows& rows, std::size_t first, std::size_t count);

  /// The next records belong to the turn of that number, which only grows.
  void enter_turn(std::uint32_t turn) { turn_ = turn; }

  /// The next record, which stands in that line, waits for a person. Beyond kMostStops it is left
  /// out.
  void note_stop(std::uint64_t line) {
    if (log_.stop_lines.size() < kMostStops)
      log_.stop_lines.push_back(line);
  }

  const BedGrid& grid() const { return grid_; }

  /// The log so far, complete; the builder is empty afterwards.
  HeatLog finish();

 private:
  void take_event(const interpreter::Record& record, const Duration& duration);
  void add_span(const interpreter::Record& record, double duration_s, double moving_s,
                double volume_mm3);
  void add_event(HeatEvent event);
  void flush_span();
  void append(const HeatEvent& event);
  void coarsen();

  const Machine& machine_;
  BedGrid grid_;
  HeatLog log_;
  HeatEvent span_;
  std::vector<double> filament_area_mm2_;  ///< by tool
  std::size_t most_events_;
  std::uint32_t turn_ = 0;
  bool full_ = false;
};

}  // namespace platetally::timeline
