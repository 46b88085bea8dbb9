// The heaters that a heat wait waits for.
#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

#include "heat/stepper.hpp"
#include "heat/thermal_machine.hpp"
#include "motion/timeline/heat_log.hpp"
#include "platetally/machine.hpp"

namespace platetally::heat {

class Awaited {
 public:
  /// `active`: bits of the tiles that are held at the bed's target. A head is asked for by a tool
  /// that the machine has.
  Awaited(const Machine& machine, const ThermalMachine& thermal, const Stepper& stepper,
          const timeline::HeatEvent& event, std::uint64_t active);

  /// How far the farthest is outside its band, K; <= 0: all there.
  double distance_k() const;
  /// The same at the end of the step that is being tried.
  double next_distance_k() const;
  /// How long it goes on when all are there.
  double residency_s() const { return residency_s_; }
  /// For messages.
  std::string_view name() const { return name_; }

 private:
  double outside_k(double sensor_c, double target_c) const;

  const Stepper& stepper_;
  std::vector<std::size_t> heaters_;
  bool cools_too_;  ///< too hot counts as well
  double band_k_ = 0.0;
  double residency_s_ = 0.0;
  std::string_view name_;
};

}  // namespace platetally::heat
