// Holds the time of a plate within bounds, so that no file can hold up what steps through it.
//
// A move takes a week at most, as a stated dwell does, and a plate four. What is above is said and
// not counted: the record goes on with less time, or none. Longer prints are not known (common
// practice, no source); files of a few bytes that would take centuries are.
#pragma once

#include <vector>

#include "base/diagnostics.hpp"
#include "base/units.hpp"
#include "platetally/machine.hpp"
#include "reading/interpreter/rows.hpp"

namespace platetally::timeline {

class TimeBound : public interpreter::RowSink {
 public:
  static constexpr double kLongestMove_s = 7.0 * base::kSecondsPerDay;
  static constexpr double kLongestPlate_s = 28.0 * base::kSecondsPerDay;

  /// Both must outlive it.
  TimeBound(const Machine& machine, interpreter::RowSink& sink) : machine_(machine), sink_(sink) {}

  void take(const interpreter::Rows& rows) override;
  void take(const interpreter::Record& event) override;

  const base::Diagnostics& diagnostics() const { return diagnostics_; }

 private:
  double expected_s(const interpreter::Record& record) const;
  double within(double seconds, std::uint64_t line);
  void note(const char* code, Severity severity, std::uint64_t line, const char* message);

  const Machine& machine_;
  interpreter::RowSink& sink_;
  double total_s_ = 0.0;
  std::vector<double> motion_s_;
  base::Diagnostics diagnostics_;
};

}  // namespace platetally::timeline
