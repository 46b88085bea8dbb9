// The table of batches: every job on every machine that may print it, so many of the plate's parts
// on one plate, each an account.
#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "platetally/plan.hpp"

namespace platetally::plan {

/// One batch with what the planning needs of it.
struct TriedBatch {
  BatchRow row;
  std::vector<double> cost_by_hour;  ///< by the hour of its start; empty where that does not matter
  std::vector<double> power_w;       ///< highest in each step of solve::kPowerStep_s
  double part_g = 0.0;
  double swap_s = 0.0;
};

struct JobTable {
  std::vector<TriedBatch> batches;     ///< by machine, then ascending times
  std::vector<std::string> why_not;    ///< a line for each machine that cannot print it, or for all
  std::vector<std::string> filaments;  ///< that it takes, each once
};

/// By job and machine, how often a plate's content is on the plates that are being printed already.
using PrintedTimes = std::map<std::pair<std::size_t, std::size_t>, std::set<int>>;

/// Makes the tables of all jobs, on so many threads, which change nothing; those `also` are tried
/// too. `assumed` gets what the re-planned ones stand on, each sentence once; `made_from` the
/// plates that were read.
std::vector<JobTable> try_batches(const Queue& queue, int threads, const PrintedTimes& also,
                                  std::vector<std::string>& assumed, MadeFrom& made_from);

}  // namespace platetally::plan
