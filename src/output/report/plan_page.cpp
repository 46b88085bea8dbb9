// The page of a plan: a lane for each machine and what they draw together under the same hours, and
// tables that say the same in words.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "base/counted.hpp"
#include "base/units.hpp"
#include "output/report/chart.hpp"
#include "output/report/page.hpp"
#include "output/report/page_parts.hpp"
#include "output/report/page_table.hpp"
#include "output/report/plan_words.hpp"
#include "output/report/strings.hpp"
#include "plan/hours/calendar.hpp"
#include "platetally/plan.hpp"

namespace platetally {

namespace {

using report::printable;
using report::TableCell;
using report::TableColumn;
using report::words_column;
using Rows = std::vector<std::vector<std::string>>;

constexpr std::size_t kMostDays = 21;  // that are named; beyond, weeks are

std::string h_text(double time_s) {
  return fmt::format("{:.1f}", base::h_from_s(time_s));
}

/// What the page shows of time: seconds since the plan's beginning.
class Axis {
 public:
  explicit Axis(const Plan& plan) : from_s_(plan.now_s), to_s_(plan.now_s) {
    for (const PlanRun& run : plan.runs)
      if (run.state == RunState::planned || run.state == RunState::printing) {
        from_s_ = std::min(from_s_, run.setup_s);
        to_s_ = std::max(to_s_, run.end_s);
      }
    to_s_ = std::max(to_s_, from_s_ + static_cast<std::int64_t>(base::kSecondsPerHour));
  }
  std::int64_t from_s() const { return from_s_; }
  std::int64_t to_s() const { return to_s_; }
  double at(std::int64_t moment_s) const {
    return static_cast<double>(std::clamp(moment_s, from_s_, to_s_) - from_s_);
  }

  /// Where a day begins; a week, if there are many days.
  std::vector<report::ChartMark> days() const {
    std::vector<report::ChartMark> marks;
    const std::int64_t day_s = hours::kDay_s;
    const auto many = static_cast<std::size_t>((to_s_ - from_s_) / day_s);
    const std::int64_t step_s = many > kMostDays ? hours::kWeek_s : day_s;
    std::int64_t at_s = (from_s_ + day_s - 1) / day_s * day_s;
    if (step_s > day_s)
      at_s += (hours::kWeek_s - hours::second_of_week(at_s)) % hours::kWeek_s;
    for (; at_s < to_s_; at_s += step_s)
      marks.push_back({at(at_s), report::week_moment(at_s).substr(0, 3) + " " +
                                     moment_text(at_s).substr(8, 2)});
    return marks;
  }

 private:
  std::int64_t from_s_;
  std::int64_t to_s_;
};

std::string run_words(const Plan& plan, const PlanRun& run) {
  return fmt::format("{} x {}", run.parts, printable(plan.queue.jobs[run.job].name));
}

report::ChartLane lane_of(const Plan& plan, const Axis& axis, const PlannedMachine& machine) {
  report::ChartLane lane{report::machine_name(plan, machine.machine, machine.instance), {}};
  for (const PlanRun& run : plan.runs) {
    if (run.machine != machine.machine || run.instance != machine.instance ||
        run.end_s <= axis.from_s() || run.state == RunState::done || run.state == RunState::failed)
      continue;
    if (run.start_s > run.setup_s)
      lane.spans.push_back({axis.at(run.setup_s), axis.at(run.start_s), "handling, changing spools",
                            report::Hue::electronics});
    const double end = axis.at(run.end_s);
    const double swaps_from = std::max(axis.at(run.start_s), end - run.swap_s);
    lane.spans.push_back(
        {axis.at(run.start_s), swaps_from, run_words(plan, run), report::hue_of_index(run.job)});
    if (swaps_from < end)
      lane.spans.push_back({swaps_from, end, "as much of it as swaps take", report::Hue::purge});
  }
  return lane;
}

/// When nobody is at a machine; no lane where there always is somebody.
report::ChartLane alone_of(const Plan& plan, const Axis& axis, const PlannedMachine& machine) {
  report::ChartLane lane{"nobody there", {}};
  std::vector<hours::Span> spans;
  for (const WeekSpan& span : plan.queue.machines[machine.machine].attended)
    spans.push_back({span.from_s, span.to_s});
  for (const hours::Span& gap : hours::Calendar(spans).closed(axis.from_s(), axis.to_s()))
    lane.spans.push_back({axis.at(gap.from_s), axis.at(gap.to_s), "", report::Hue::supply_loss});
  return lane;
}

/// Watts of all machines together; the edges are its steps.
report::ChartPanel power_of(const Plan& plan, const Axis& axis, std::vector<double>& edges) {
  const PlanPower& drawn = plan.power;
  report::ChartPanel panel{"Power of all machines together", "W"};
  std::vector<double> watts;
  edges.clear();
  for (std::size_t i = 0; i < drawn.highest_w.size(); ++i) {
    const std::int64_t at_s = drawn.start_s + static_cast<std::int64_t>(i) * drawn.step_s;
    if (at_s < axis.from_s() || at_s >= axis.to_s())
      continue;
    edges.push_back(axis.at(at_s));
    watts.push_back(drawn.highest_w[i]);
  }
  edges.push_back(axis.at(axis.to_s()));
  if (plan.queue.power_limit_w)
    panel.series.push_back({"limit of the circuit", report::Hue::failures,
                            std::vector<double>(watts.size(), *plan.queue.power_limit_w),
                            report::SeriesShape::line});
  panel.series.push_back(
      {"highest of five minutes", report::Hue::power, std::move(watts), report::SeriesShape::line});
  panel.height_px = 110;
  return panel;
}

report::Chart chart_of(const Plan& plan) {
  const Axis axis(plan);
  report::Chart chart;
  chart.id = "lanes";
  chart.label = "which machine prints what when, a lane for each machine";
  chart.caption =
      "Hours since the plan begins, with the days marked. Bars have the colours of their jobs "
      "above; "
      "at the end of each stands the part of its time that swaps take, before it handling and "
      "changing spools. Power is the highest that the model draws in each five minutes.";
  chart.axis = report::ChartAxis::time;
  chart.marks = axis.days();
  report::ChartPanel panel{"Machines", ""};
  for (const PlannedMachine& machine : plan.machines) {
    panel.lanes.push_back(lane_of(plan, axis, machine));
    if (report::ChartLane alone = alone_of(plan, axis, machine); !alone.spans.empty())
      panel.lanes.push_back(std::move(alone));
  }
  chart.edges = report::edges_of(panel.lanes);
  chart.panels.push_back(std::move(panel));
  if (!plan.power.highest_w.empty())
    chart.panels.push_back(power_of(plan, axis, chart.edges));
  return chart;
}

void add_jobs(const Plan& plan, report::Page& page) {
  report::PageTable table;
  table.columns = {words_column("job"),
                   {"parts"},
                   {"plates"},
                   {"done"},
                   {"due"},
                   {"late"},
                   {"cost"},
                   {"purge", "g"},
                   {"energy", "kWh"},
                   {"somebody", "h"}};
  table.is_sortable = true;
  for (const PlannedJob& job : plan.jobs) {
    const QueueJob& from = plan.queue.jobs[job.job];
    report::TableRow row;
    row.cells = {{printable(from.name)},
                 {fmt::format("{} of {}", job.parts, from.copies)},
                 {fmt::format("{}", job.plates), static_cast<double>(job.plates)},
                 {job.finish_s ? report::week_moment(*job.finish_s) : "left out",
                  static_cast<double>(job.finish_s.value_or(0))},
                 {from.due_s ? report::week_moment(*from.due_s) : ""},
                 {job.late_s > 0.0 ? report::duration(job.late_s) : "no", job.late_s},
                 {plan.currency.empty() ? "" : fmt::format("{:.2f}", job.cost), job.cost},
                 {fmt::format("{:.0f}", job.purge_g), job.purge_g},
                 {fmt::format("{:.2f}", base::kwh_from_wh(job.energy_wh)), job.energy_wh},
                 {h_text(job.manual_s), job.manual_s}};
    if (job.late_s > 0.0)
      row.mark = "late";
    table.rows.push_back(std::move(row));
  }
  page.begin_row(report::Row::one);
  page.begin_card("Jobs", "", "jobs");
  page.table(table);
  page.end_card();
  page.end_row();
}

/// Words in the first `words` columns, figures in the others.
void add_table(report::Page& page, const std::vector<std::string>& titles, std::size_t words,
               const Rows& rows) {
  std::vector<TableColumn> columns;
  for (const std::string& title : titles)
    columns.push_back(columns.size() < words ? words_column(title) : TableColumn{title});
  page.table(report::plain_table(std::move(columns), rows));
}

void add_runs(const Plan& plan, report::Page& page) {
  page.begin_fold("Every plate, in the order of its start");
  Rows rows;
  for (const PlanRun& run : plan.runs)
    rows.push_back(
        {run.id, printable(plan.queue.jobs[run.job].name),
         report::machine_name(plan, run.machine, run.instance),
         printable(fmt::format("{}", fmt::join(run.put_in, ", "))), std::string(name_of(run.state)),
         fmt::format("{}", run.parts), report::week_moment(run.setup_s),
         report::week_moment(run.start_s), report::week_moment(run.end_s), h_text(run.unattended_s),
         fmt::format("{}", run.swaps), plan.currency.empty() ? "" : fmt::format("{:.2f}", run.cost),
         fmt::format("{:.0f}", run.purge_g)});
  add_table(page,
            {"run", "job", "machine", "put in", "state", "parts", "person at", "starts", "ends",
             "unattended h", "swaps", "cost", "purge g"},
            5, rows);
  page.end_fold();
}

void add_batches(const Plan& plan, report::Page& page) {
  page.begin_fold("What each batch would cost on each machine");
  Rows rows;
  for (const BatchRow& batch : plan.batches) {
    const auto parts = static_cast<double>(batch.parts);
    const bool can = batch.impossible.empty();
    rows.push_back(
        {printable(plan.queue.jobs[batch.job].name),
         printable(plan.queue.machines[batch.machine].name),
         can ? (batch.replanned ? "planned again" : "as in the file") : printable(batch.impossible),
         fmt::format("{}", batch.parts), can ? h_text(batch.time_s) : "",
         can ? fmt::format("{}", batch.swaps) : "",
         can && !plan.currency.empty() ? fmt::format("{:.3f}", batch.cost / parts) : "",
         can ? fmt::format("{:.1f}", batch.purge_g / parts) : "",
         can ? fmt::format("{:.0f}", batch.energy_wh / parts) : ""});
  }
  add_table(
      page,
      {"job", "machine", "purge", "parts", "h", "swaps", "cost/part", "purge g/part", "Wh/part"}, 3,
      rows);
  page.end_fold();
}

void add_proof(const Plan& plan, report::Page& page) {
  page.begin_row(report::Row::one);
  page.begin_card("How good it is", "no plan can go below the bounds");
  Rows rows;
  for (const PlanBound& bound : plan.bounds)
    rows.push_back({printable(report::measure_title(plan, bound)),
                    report::bound_text(plan, bound, bound.value),
                    report::bound_text(plan, bound, bound.bound), report::gap_text(bound)});
  add_table(page, {"measure", "this plan", "no plan below", "gap"}, 1, rows);
  page.paragraph(report::proof_text(plan));
  page.subheading("Beside simple rules");
  rows.clear();
  const auto add = [&](const PlanSums& sums, const std::string& name) {
    if (!sums.possible)
      return rows.push_back({printable(name), "not possible", "", "", "", "", "", ""});
    rows.push_back({printable(name), plan.currency.empty() ? "" : fmt::format("{:.2f}", sums.cost),
                    report::week_moment(sums.finish_s),
                    h_text(static_cast<double>(sums.finish_s - plan.now_s)),
                    fmt::format("{:.0f}", sums.purge_g),
                    fmt::format("{:.2f}", base::kwh_from_wh(sums.energy_wh)),
                    fmt::format("{}", sums.changes), fmt::format("{:.1f}", sums.late_h)});
  };
  add(plan.sums, "this plan");
  for (const PlanSums& rule : plan.rules)
    add(rule, rule.name);
  add_table(page, {"rule", "cost", "done", "h", "purge g", "kWh", "spool changes", "h late"}, 1,
            rows);
  page.end_card();
  page.end_row();
}

}  // namespace

std::string to_html(const Plan& plan, const PageStamp& stamp) {
  const PlanSums& sums = plan.sums;
  report::PageHead head;
  head.title = printable(plan.queue.path);
  head.kind = "which machine prints what when";
  head.facts = {fmt::format("{} jobs", plan.jobs.size()),
                fmt::format("{} machines", plan.machines.size()),
                "from " + moment_text(plan.now_s)};
  head.stamp = stamp;
  report::Page page(head);
  report::PageVerdict verdict;
  verdict.grade = plan.problems.empty() && sums.late_jobs == 0 ? Grade::ready : Grade::look;
  verdict.words = sums.late_jobs == 0
                      ? "All is done in time"
                      : fmt::format("{} of {} jobs are late", sums.late_jobs, plan.jobs.size());
  for (const std::string& problem : plan.problems)
    verdict.reasons.push_back(printable(problem));
  verdict.link = "jobs";
  verdict.link_words = "see the jobs";
  page.verdict(verdict);
  std::vector<report::Figure> figures{
      {"Done", report::week_moment(sums.finish_s), "", {}, {}, {}, ""},
      {"Purge", fmt::format("{:.0f} g", sums.purge_g), "", {}, {}, {}, ""},
      {"Energy", fmt::format("{:.2f} kWh", base::kwh_from_wh(sums.energy_wh)), "", {}, {}, {}, ""},
      {"Somebody",
       h_text(sums.manual_s) + " h",
       base::counted(sums.changes, "spool change"),
       {},
       {},
       {},
       ""}};
  if (!plan.currency.empty())
    figures.insert(
        figures.begin(),
        {"Cost", report::money_text(plan, sums.cost), "plates and spool changes", {}, {}, {}, ""});
  // What the jobs take of the first figure, in the colours of their bars.
  for (const PlannedJob& job : plan.jobs) {
    const double amount = plan.currency.empty() ? base::kwh_from_wh(job.energy_wh) : job.cost;
    figures[plan.currency.empty() ? 2 : 0].parts.push_back(
        {printable(plan.queue.jobs[job.job].name), amount, fmt::format("{:.2f}", amount),
         report::hue_of_index(job.job)});
  }
  page.figures(figures);
  page.begin_row(report::Row::one);
  page.begin_card("Which machine prints what when");
  page.chart(chart_of(plan));
  page.end_card();
  page.end_row();
  add_jobs(plan, page);
  add_proof(plan, page);
  add_runs(plan, page);
  add_batches(plan, page);
  if (!plan.assumed.empty()) {
    page.begin_fold("What the re-planned plates stand on");
    std::vector<std::string> lines;
    for (const std::string& sentence : plan.assumed)
      lines.push_back(printable(sentence));
    page.list(lines);
    page.end_fold();
  }
  page.note(report::kPlanCaution);
  return page.take();
}

}  // namespace platetally
