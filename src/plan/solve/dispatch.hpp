// Lanes from a multiset of batches, by simple rules.
#pragma once

#include <optional>
#include <vector>

#include "plan/solve/problem.hpp"
#include "plan/solve/timing.hpp"

namespace platetally::solve {

/// In which order batches are handed out.
enum class HandOut : std::uint8_t {
  by_date,       ///< due first, then longest
  longest,       ///< longest first
  as_they_come,  ///< in the order of the jobs
  by_filaments   ///< alike ones together, and where they need few changes
};

/// Each batch, so often as `times` says, goes to the machine of its kind that ends it first.
std::vector<Lane> hand_out(const Problem& problem, Timing& timing, const std::vector<int>& times,
                           HandOut order);

/// Every job on one machine, in the order of the jobs, as many copies on a plate as fit. Nothing if
/// a job does not fit there.
std::optional<std::vector<Lane>> all_on_one(const Problem& problem, int kind);

/// Jobs in their order, each as many copies on a plate as fit, on the machine that ends it first.
std::vector<Lane> first_come(const Problem& problem, Timing& timing);

/// Times, sums and value of lanes.
Schedule schedule_of(Timing& timing, const std::vector<Lane>& lanes);

}  // namespace platetally::solve
