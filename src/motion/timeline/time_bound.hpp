// Holds the time of a plate within bounds, so that no file can hold up what steps through it.
//
// A move takes a week at most, as a stated dwell does, and a plate four. What is above is said and
// not counted: the record goes on with less time, or none. Longer prints are not known (common
// practice, no source); files of a few bytes that would take centuries are.
#pragma once

#include <vector>

#include "base/diagnostics.hpp"
#include "base/units.hpp"
#include "motion/planning/timed_strokes.hpp"
#include "platetally/machine.hpp"

namespace platetally::timeline {

class TimeBound : public motion::TimedSink {
 public:
  static constexpr double kLongestMove_s = 7.0 * base::kSecondsPerDay;
  static constexpr double kLongestPlate_s = 28.0 * base::kSecondsPerDay;

  /// Both must outlive it.
  TimeBound(const Machine& machine, motion::TimedSink& sink) : machine_(machine), sink_(sink) {}

  void take(std::span<const motion::TimedRecord> batch) override;
  void take(const motion::TimedStrokes& strokes) override;

  const base::Diagnostics& diagnostics() const { return diagnostics_; }

 private:
  double expected_s(const motion::TimedRecord& timed) const;
  double within(double seconds, std::uint64_t line);
  void note(const char* code, Severity severity, std::uint64_t line, const char* message);

  const Machine& machine_;
  motion::TimedSink& sink_;
  double total_s_ = 0.0;
  std::vector<motion::TimedRecord> records_;
  std::vector<double> motion_s_;
  base::Diagnostics diagnostics_;
};

}  // namespace platetally::timeline
