#pragma once
#include <span>
#include <vector>
#include "base/diagnostics.hpp"
#include "motion/timed_record.hpp"
#include "platetally/machine.hpp"
namespace platetally::motion {
class TimedSink {
 public:
  virtual ~TimedSink() = default;
  virtual void take(std::span<const TimedRecord> batch) = 0;
};
class Planner {
 public:
  Planner(const Machine& machine, TimedSink& sink);
  void take(std::span<const interpreter::Record> batch);
  void finish();
  const base::Diagnostics& diagnostics() const { return diagnostics_; }

 private:
  struct Plan {
    double length = 0, speed = 0, acc = 1, cap = 0;
    double dir[4] = {};
  };
  void add(const interpreter::Record& r);
  void settle();
  MotionLimits limits_;
  Procedures procedures_;
  TimedSink& sink_;
  base::Diagnostics diagnostics_;
  std::vector<TimedRecord> pending_;
  std::vector<Plan> plans_;
};
}  // namespace platetally::motion
