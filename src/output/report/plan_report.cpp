// A plan for people, and its runs as comma-separated values.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "base/counted.hpp"
#include "base/units.hpp"
#include "output/report/plan_words.hpp"
#include "output/report/strings.hpp"
#include "output/report/text_table.hpp"
#include "platetally/plan.hpp"

namespace platetally {

namespace {

using report::printable;
using Rows = std::vector<std::vector<std::string>>;

/// Columns as wide as they need to be; the first `words` flush left, the others right.
std::string table(const std::vector<std::string>& head, const Rows& rows, std::size_t words) {
  std::vector<int> width;
  for (const std::string& cell : head)
    width.push_back(report::display_width(cell));
  for (const auto& row : rows)
    for (std::size_t i = 0; i < row.size(); ++i)
      width[i] = std::max(width[i], report::display_width(row[i]));
  const auto line = [&](const std::vector<std::string>& row) {
    std::string out = " ";
    for (std::size_t i = 0; i < row.size(); ++i)
      out += " " + (i < words ? report::flush_left(row[i], width[i] + 1)
                              : report::flush_right(row[i], width[i]));
    out.erase(out.find_last_not_of(' ') + 1);
    return out + "\n";
  };
  std::string out = line(head);
  for (const auto& row : rows)
    out += line(row);
  return out;
}

std::string hours(double time_s) {
  return fmt::format("{:.1f}", base::h_from_s(time_s));
}

std::string kwh(double energy_wh) {
  return fmt::format("{:.2f}", base::kwh_from_wh(energy_wh));
}

std::string headline(const Plan& plan) {
  const PlanSums& sums = plan.sums;
  std::string out = fmt::format(
      "From {} to {}: {}{:.0f} g purged, {} kWh, {} h of a person, {}.\n", moment_text(plan.now_s),
      moment_text(sums.finish_s),
      plan.currency.empty() ? "" : report::money_text(plan, sums.cost) + ", ", sums.purge_g,
      kwh(sums.energy_wh), hours(sums.manual_s), base::counted(sums.changes, "spool change"));
  out += sums.late_jobs == 0
             ? "Nothing is late.\n"
             : fmt::format("{} late, {:.1f} h together.\n",
                           base::counted(sums.late_jobs, "job is", "jobs are"), sums.late_h);
  for (const std::string& problem : plan.problems)
    out += fmt::format("Problem: {}.\n", printable(problem));
  return out;
}

std::string runs_of(const Plan& plan) {
  std::string out;
  for (const PlannedMachine& machine : plan.machines) {
    Rows rows;
    for (const PlanRun& run : plan.runs) {
      if (run.machine != machine.machine || run.instance != machine.instance)
        continue;
      std::string note = run.state == RunState::planned ? "" : std::string(name_of(run.state));
      if (!run.put_in.empty())
        note += fmt::format("{}put in {}", note.empty() ? "" : ", ",
                            printable(fmt::format("{}", fmt::join(run.put_in, ", "))));
      rows.push_back({run.id, printable(plan.queue.jobs[run.job].name),
                      fmt::format("{}{}", run.parts, run.replanned ? "*" : ""),
                      report::week_moment(run.setup_s), report::week_moment(run.start_s),
                      report::week_moment(run.end_s),
                      hours(static_cast<double>(run.end_s - run.start_s)), hours(run.unattended_s),
                      note});
    }
    out += fmt::format("\n{}: {} h printing, {} h of it unattended, {} h of a person\n",
                       report::machine_name(plan, machine.machine, machine.instance),
                       hours(machine.printing_s), hours(machine.unattended_s),
                       hours(machine.manual_s));
    out += rows.empty() ? "  nothing\n"
                        : table({"run", "job", "parts", "person at", "starts", "ends", "h",
                                 "unattended", "note"},
                                rows, 2);
  }
  if (std::ranges::any_of(plan.runs, &PlanRun::replanned))
    out += "  * sliced for another machine: planned again, purge by this machine's policy\n";
  return out;
}

std::string jobs_of(const Plan& plan) {
  Rows rows;
  for (const PlannedJob& job : plan.jobs) {
    const QueueJob& from = plan.queue.jobs[job.job];
    rows.push_back({printable(from.name), fmt::format("{} of {}", job.parts, from.copies),
                    fmt::format("{}", job.plates),
                    job.finish_s ? report::week_moment(*job.finish_s) : "left out",
                    from.due_s ? moment_text(*from.due_s).substr(5) : "",
                    job.late_s > 0.0 ? report::duration(job.late_s) : "",
                    plan.currency.empty() ? "" : fmt::format("{:.2f}", job.cost),
                    fmt::format("{:.0f}", job.purge_g), kwh(job.energy_wh), hours(job.manual_s)});
  }
  return "\nJobs\n" + table({"job", "parts", "plates", "done", "due", "late", "cost", "purge g",
                             "kWh", "person h"},
                            rows, 1);
}

std::string rules_of(const Plan& plan) {
  Rows rows;
  const auto add = [&](const PlanSums& sums) {
    if (!sums.possible) {
      rows.push_back({printable(sums.name), "not possible", "", "", "", "", "", ""});
      return;
    }
    rows.push_back(
        {printable(sums.name), plan.currency.empty() ? "" : fmt::format("{:.2f}", sums.cost),
         report::week_moment(sums.finish_s), hours(static_cast<double>(sums.finish_s - plan.now_s)),
         fmt::format("{:.0f}", sums.purge_g), kwh(sums.energy_wh), fmt::format("{}", sums.changes),
         sums.late_jobs > 0 ? fmt::format("{} ({:.1f} h)", sums.late_jobs, sums.late_h) : "none"});
  };
  PlanSums own = plan.sums;
  own.name = "this plan";
  add(own);
  for (const PlanSums& rule : plan.rules)
    add(rule);
  return "\nBeside simple rules\n" +
         table({"rule", "cost", "done", "h", "purge g", "kWh", "changes", "late"}, rows, 1);
}

std::string bounds_of(const Plan& plan) {
  Rows rows;
  for (const PlanBound& bound : plan.bounds)
    rows.push_back({printable(report::measure_title(plan, bound)),
                    report::bound_text(plan, bound, bound.value),
                    report::bound_text(plan, bound, bound.bound), report::gap_text(bound)});
  std::string out =
      "\nHow good it is\n" + table({"measure", "this plan", "no plan below", "gap"}, rows, 1);
  const std::string proof = report::proof_text(plan);
  if (!proof.empty())
    for (const std::string& line : report::wrap(proof, 96))
      out += fmt::format("  {}\n", line);
  return out;
}

std::string batches_of(const Plan& plan) {
  Rows rows;
  std::string not_there;
  for (const BatchRow& batch : plan.batches) {
    const std::string name = printable(plan.queue.machines[batch.machine].name);
    const std::string job = printable(plan.queue.jobs[batch.job].name);
    if (!batch.impossible.empty()) {
      not_there += fmt::format("  {} on {}, {} parts: {}\n", job, name, batch.parts,
                               printable(batch.impossible));
      continue;
    }
    const auto parts = static_cast<double>(batch.parts);
    rows.push_back({job, name, fmt::format("{}{}", batch.parts, batch.replanned ? "*" : ""),
                    hours(batch.time_s), fmt::format("{}", batch.swaps),
                    plan.currency.empty() ? "" : fmt::format("{:.2f}", batch.cost),
                    plan.currency.empty() ? "" : fmt::format("{:.3f}", batch.cost / parts),
                    fmt::format("{:.1f}", batch.purge_g / parts),
                    fmt::format("{:.0f}", batch.energy_wh / parts)});
  }
  return "\nBatches that were tried\n" +
         table({"job", "machine", "parts", "h", "swaps", "cost", "cost/part", "purge g/part",
                "Wh/part"},
               rows, 2) +
         (not_there.empty() ? "" : "  not possible:\n" + not_there);
}

}  // namespace

std::string to_text(const Plan& plan) {
  std::string out = headline(plan) + runs_of(plan) + jobs_of(plan) + rules_of(plan) +
                    bounds_of(plan) + batches_of(plan);
  if (plan.queue.power_limit_w && !plan.power.highest_w.empty())
    out += fmt::format("\nAll machines together draw at most {:.0f} W; the limit is {:.0f} W.\n",
                       *std::ranges::max_element(plan.power.highest_w), *plan.queue.power_limit_w);
  for (const std::string& sentence : plan.assumed)
    out += fmt::format("\n  assumed: {}", printable(sentence));
  out += plan.assumed.empty() ? "\n" : "\n\n";
  for (const std::string& line : report::wrap(report::kPlanCaution, 98))
    out += line + "\n";
  return out;
}

std::string to_csv(const Plan& plan) {
  std::string out =
      "run,state,job,machine,instance,times,parts,setup,start,end,unattended_s,put_in,replanned,"
      "swaps,cost,purge_g,part_g,energy_wh\n";
  for (const PlanRun& run : plan.runs)
    out += fmt::format(
        "{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{}\n", report::csv_text(run.id),
        name_of(run.state), report::csv_text(plan.queue.jobs[run.job].name),
        report::csv_text(plan.queue.machines[run.machine].name), run.instance + 1, run.times,
        run.parts, moment_text(run.setup_s), moment_text(run.start_s), moment_text(run.end_s),
        report::exact_number(run.unattended_s),
        report::csv_text(fmt::format("{}", fmt::join(run.put_in, " "))), run.replanned, run.swaps,
        plan.currency.empty() ? "" : report::exact_number(run.cost),
        report::exact_number(run.purge_g), report::exact_number(run.part_g),
        report::exact_number(run.energy_wh));
  return out;
}

}  // namespace platetally
