#include "plan/make/earlier.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <stdexcept>

#include "base/nearest.hpp"

namespace platetally::plan {

namespace {

class Keeper {
 public:
  Keeper(const Queue& queue, const PlanOptions& options, std::int64_t now_s,
         std::vector<std::string>& problems)
      : queue_(queue), options_(options), now_s_(now_s), problems_(problems) {}

  Kept keep() {
    kept_.parts.resize(queue_.jobs.size());
    kept_.end_s.resize(queue_.jobs.size());
    for (const QueueMachine& machine : queue_.machines) {
      KeptInstance fresh{now_s_, machine.loaded};
      if (fresh.loaded.empty())
        for (const Tool& tool : machine.machine.tools)
          if (!tool.colour.empty() &&
              std::ranges::find(fresh.loaded, tool.colour) == fresh.loaded.end())
            fresh.loaded.push_back(tool.colour);
      kept_.instances.emplace_back(static_cast<std::size_t>(machine.count), fresh);
    }
    if (options_.earlier)
      for (const EarlierRun& run : options_.earlier->runs)
        if (run.setup_s < now_s_)
          keep(run);
    check_failed();
    for (const auto& [name, until_s] : options_.down)
      take_down(name, until_s);
    for (const KeptRun& run : kept_.runs)
      settle(run);
    return std::move(kept_);
  }

 private:
  void keep(const EarlierRun& run);
  void check_failed();
  void take_down(const std::string& name, std::optional<std::int64_t> until_s);
  void settle(const KeptRun& run);

  const Queue& queue_;
  const PlanOptions& options_;
  std::int64_t now_s_;
  std::vector<std::string>& problems_;
  Kept kept_;
};

void Keeper::keep(const EarlierRun& run) {
  KeptRun kept;
  kept.earlier = run;
  const auto machine = std::ranges::find(queue_.machines, run.machine, &QueueMachine::name);
  const auto job = std::ranges::find(queue_.jobs, run.job, &QueueJob::name);
  if (machine == queue_.machines.end() || run.instance < 0 || run.instance >= machine->count) {
    problems_.push_back(
        fmt::format("run {} is on '{}', which the queue no longer names; it is left "
                    "out, and what it printed is planned again",
                    run.id, run.machine));
    return;
  }
  kept.machine = static_cast<std::size_t>(machine - queue_.machines.begin());
  kept.has_job = job != queue_.jobs.end();
  if (kept.has_job)
    kept.job = static_cast<std::size_t>(job - queue_.jobs.begin());
  else if (run.end_s > now_s_)
    problems_.push_back(
        fmt::format("run {} prints '{}', which the queue no longer names; its machine "
                    "is taken to go on with it",
                    run.id, run.job));
  kept.state = run.end_s <= now_s_ ? RunState::done : RunState::printing;
  if (std::ranges::find(options_.failed, run.id) != options_.failed.end())
    kept.state = RunState::failed;
  kept_.runs.push_back(std::move(kept));
}

void Keeper::check_failed() {
  for (const std::string& id : options_.failed) {
    std::vector<std::string> ids;
    for (const KeptRun& run : kept_.runs)
      ids.push_back(run.earlier.id);
    if (std::ranges::find(ids, id) == ids.end())
      throw std::invalid_argument(
          ids.empty() ? fmt::format("no run '{}' was started before now", id)
                      : fmt::format("no run '{}' was started before now; there is '{}'", id,
                                    base::nearest(id, ids)));
  }
}

/// "changer", or "changer 2" for the second of that name.
void Keeper::take_down(const std::string& name, std::optional<std::int64_t> until_s) {
  std::vector<std::string> names;
  bool found = false;
  for (std::size_t m = 0; m < queue_.machines.size(); ++m) {
    const QueueMachine& machine = queue_.machines[m];
    names.push_back(machine.name);
    for (int i = 0; i < machine.count; ++i) {
      if (name != machine.name && name != fmt::format("{} {}", machine.name, i + 1))
        continue;
      found = true;
      KeptInstance& instance = kept_.instances[m][static_cast<std::size_t>(i)];
      instance.free_s = until_s ? std::optional(std::max(*until_s, now_s_)) : std::nullopt;
      for (KeptRun& run : kept_.runs)
        if (run.machine == m && run.earlier.instance == i && run.state == RunState::printing)
          run.state = RunState::failed;
    }
  }
  if (!found)
    throw std::invalid_argument(fmt::format("no machine is called '{}'; expected one like '{}'",
                                            name, base::nearest(name, names)));
}

void Keeper::settle(const KeptRun& run) {
  KeptInstance& instance =
      kept_.instances[run.machine][static_cast<std::size_t>(run.earlier.instance)];
  instance.loaded = run.earlier.loaded;
  if (run.state == RunState::printing && instance.free_s)
    instance.free_s = std::max(*instance.free_s, run.earlier.end_s);
  if (!run.has_job || run.state == RunState::failed)
    return;
  kept_.parts[run.job] += run.earlier.parts;
  kept_.end_s[run.job] =
      std::max(kept_.end_s[run.job].value_or(run.earlier.end_s), run.earlier.end_s);
}

}  // namespace

Kept keep(const Queue& queue, const PlanOptions& options, std::int64_t now_s,
          std::vector<std::string>& problems) {
  return Keeper(queue, options, now_s, problems).keep();
}

}  // namespace platetally::plan
