// What of an earlier plan stays: what is done, what is being printed, and where that leaves every
// machine.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "platetally/plan.hpp"

namespace platetally::plan {

/// A run of the earlier plan that was started before now.
struct KeptRun {
  EarlierRun earlier;
  bool has_job = false;  ///< the queue still names its job
  std::size_t job = 0;
  std::size_t machine = 0;
  RunState state = RunState::done;
};

/// One machine, as it stands now.
struct KeptInstance {
  std::optional<std::int64_t> free_s;  ///< absent: down for good
  std::vector<std::string> loaded;
};

struct Kept {
  std::vector<KeptRun> runs;
  std::vector<std::vector<KeptInstance>> instances;  ///< by machine of the queue
  std::vector<int> parts;                            ///< by job: done or being printed
  std::vector<std::optional<std::int64_t>> end_s;    ///< by job: of its last run
};

/// Throws std::invalid_argument for a run or a machine that nobody knows. What is odd is added to
/// `problems`.
Kept keep(const Queue& queue, const PlanOptions& options, std::int64_t now_s,
          std::vector<std::string>& problems);

}  // namespace platetally::plan
