#include "output/report/plan_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "base/units.hpp"
#include "output/report/strings.hpp"

namespace platetally {

std::string_view name_of(RunState state) {
  switch (state) {
    case RunState::printing:
      return "printing";
    case RunState::done:
      return "done";
    case RunState::failed:
      return "failed";
    default:
      return "planned";
  }
}

bool Plan::leaves_out() const {
  return std::ranges::any_of(
      jobs, [this](const PlannedJob& job) { return job.parts < queue.jobs[job.job].copies; });
}

namespace report {

std::string machine_name(const Plan& plan, std::size_t machine, int instance) {
  const QueueMachine& from = plan.queue.machines[machine];
  return printable(from.count > 1 ? fmt::format("{} {}", from.name, instance + 1) : from.name);
}

std::string week_moment(std::int64_t moment_s) {
  // 1970-01-01 was a Thursday.
  constexpr std::array<const char*, 7> kDays{"Thu", "Fri", "Sat", "Sun", "Mon", "Tue", "Wed"};
  const auto day = static_cast<std::int64_t>(base::kSecondsPerDay);
  const std::int64_t days = moment_s / day;
  return fmt::format("{} {}", kDays[static_cast<std::size_t>((days % 7 + 7) % 7)],
                     moment_text(moment_s).substr(11));
}

std::string money_text(const Plan& plan, double amount) {
  return fmt::format("{:.2f}{}{}", amount, plan.currency.empty() ? "" : " ",
                     printable(plan.currency));
}

std::string bound_text(const Plan& plan, const PlanBound& bound, double value) {
  if (bound.measure == "cost")
    return money_text(plan, value);
  if (bound.unit.empty())
    return fmt::format("{:.2f}", value);
  return fmt::format("{:.{}f} {}", value, bound.unit == "g" ? 0 : 1, bound.unit);
}

std::string measure_title(const Plan& plan, const PlanBound& bound) {
  if (bound.measure == "asked")
    return fmt::format("asked for: {}", plan.asked);
  if (bound.measure == "cost")
    return "cost, spool changes included";
  if (bound.measure == "finish")
    return "hours until all is done";
  if (bound.measure == "waste")
    return "purged";
  return bound.measure == "energy" ? "energy" : "hours late, by priority";
}

std::string gap_text(const PlanBound& bound) {
  if (bound.gap < 5e-7)
    return "0 %, proven";
  return fmt::format("{:.{}f} %", 100.0 * bound.gap, bound.gap < 0.1 ? 2 : 0);
}

std::string proof_text(const Plan& plan) {
  std::string out;
  if (plan.assignment_proven)
    out = fmt::format(
        "Which batches on which machines: proven best ({:.4f}), times and the order of spools "
        "aside.",
        plan.assignment_value);
  else if (plan.nodes > 0)
    out = fmt::format(
        "Which batches on which machines: {:.4f}, not proven; none is below {:.4f} ({} nodes).",
        plan.assignment_value, plan.assignment_bound, plan.nodes);
  if (plan.stopped)
    out +=
        " The search was stopped by its limit of time: another run may give another plan "
        "(--seconds 0 lifts it).";
  return out;
}

}  // namespace report

}  // namespace platetally
