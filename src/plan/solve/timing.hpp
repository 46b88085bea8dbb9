// From the order of the batches on every machine to times: each is started as soon as the machine
// is free, somebody is there for its setup, and, where there is a limit, the power of all machines
// together allows it.
#pragma once

#include <utility>
#include <vector>

#include "plan/solve/problem.hpp"
#include "plan/solve/spools.hpp"

namespace platetally::solve {

/// Batches in the order in which one machine prints them.
using Lane = std::vector<int>;

/// Every machine of every kind has a lane, in the order of the kinds.
struct LanePlace {
  int kind = 0;
  int instance = 0;
};
std::vector<LanePlace> lane_places(const Problem& problem);

/// What one lane comes to.
struct LaneSums {
  double cost = 0.0;
  double waste_g = 0.0;
  double energy_wh = 0.0;
  int changes = 0;
  Seconds last_s = 0;                             ///< end of its last batch; 0: none
  std::vector<std::pair<int, Seconds>> job_ends;  ///< job and end of each batch
};

class Timing {
 public:
  explicit Timing(const Problem& problem);

  const std::vector<LanePlace>& places() const { return places_; }
  /// Lanes do not wait for each other.
  bool lanes_apart() const { return !problem_.power_limit_w; }

  /// The runs of one lane, where lanes are apart.
  void time_lane(std::size_t lane, const Lane& batches, std::vector<Run>& runs);
  /// The runs of all lanes.
  void time_all(const std::vector<Lane>& lanes, std::vector<std::vector<Run>>& runs);

  /// Sums of a lane's runs.
  LaneSums sums_of(const std::vector<Run>& runs) const;
  /// The same over all, with what is late.
  Measures measures_of(const std::vector<LaneSums>& lanes) const;
  /// What is to be least, lateness included.
  double value_of(const Measures& measures) const;
  /// The same without lateness that comes before all else.
  double asked_of(const Measures& measures) const;

  /// When a batch would end if its machine did nothing else.
  Seconds earliest_end_s(const Batch& batch) const;
  /// Weight of an hour late.
  double late_weight() const { return late_weight_; }

 private:
  void change(std::size_t lane, const Lane& batches);
  Run first_run(std::size_t lane, int batch, Seconds free_s, const SpoolChange& change) const;
  Run run_at(std::size_t lane, int batch, Seconds from_s, const SpoolChange& change) const;
  bool has_power(const Run& run, std::size_t& clash) const;
  void draw(const Run& run);

  const Problem& problem_;
  std::vector<LanePlace> places_;
  double late_weight_ = 0.0;
  std::vector<Filaments> needs_;
  std::vector<std::vector<SpoolChange>> changes_;
  std::vector<double> drawn_w_;  ///< by steps of kPowerStep_s from now
  std::vector<double> fixed_w_;
  mutable std::vector<Seconds> job_end_s_;
};

}  // namespace platetally::solve
