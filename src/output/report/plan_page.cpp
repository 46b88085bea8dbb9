// The page of a plan: a lane for each machine, what they draw together under the same hours, and
// tables that say the same in words. Bars are links to their job's row, so the keyboard reaches
// them without script.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "base/units.hpp"
#include "output/report/page.hpp"
#include "output/report/plan_words.hpp"
#include "output/report/strings.hpp"
#include "plan/hours/calendar.hpp"
#include "platetally/plan.hpp"

namespace platetally {

namespace {

using report::html_text;
using report::printable;
using Rows = std::vector<std::vector<std::string>>;

constexpr double kLeft = 110.0;  // of the lanes, behind their names
constexpr double kWide = 850.0;  // of the hours
constexpr double kLane = 40.0;   // from lane to lane
constexpr double kBar = 26.0;    // height of a bar
constexpr double kStrip = 7.0;   // of it, the strip of swaps
constexpr double kTop = 24.0;    // above the first lane, for the days
constexpr double kPowerHigh = 110.0;
constexpr int kColours = 7;            // of page.css
constexpr std::size_t kMostDays = 21;  // that are named; beyond, weeks are

std::string h_text(double time_s) {
  return fmt::format("{:.1f}", base::h_from_s(time_s));
}

/// Moments to places.
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

  double x(std::int64_t moment_s) const {
    const auto share =
        static_cast<double>(moment_s - from_s_) / static_cast<double>(to_s_ - from_s_);
    return kLeft + kWide * std::clamp(share, 0.0, 1.0);
  }
  std::int64_t from_s() const { return from_s_; }
  std::int64_t to_s() const { return to_s_; }

  /// A line and the name of every day, down to `bottom`.
  std::string days(double bottom) const {
    std::string out;
    const std::int64_t day_s = hours::kDay_s;
    const auto many = static_cast<std::size_t>((to_s_ - from_s_) / day_s);
    const std::int64_t step_s = many > kMostDays ? hours::kWeek_s : day_s;
    std::int64_t at_s = (from_s_ + day_s - 1) / day_s * day_s;
    if (step_s > day_s)
      at_s += (hours::kWeek_s - hours::second_of_week(at_s)) % hours::kWeek_s;
    out += fmt::format("<text x=\"{:.1f}\" y=\"14\">{}</text>\n", kLeft,
                       moment_text(from_s_).substr(5));
    for (; at_s < to_s_; at_s += step_s) {
      out +=
          fmt::format("<path class=\"line\" d=\"M{0:.1f} {1}V{2}\"/>", x(at_s), kTop - 6, bottom);
      if (x(at_s) > kLeft + 100.0 && x(at_s) < kLeft + kWide - 60.0)
        out += fmt::format(
            "<text x=\"{:.1f}\" y=\"14\">{}</text>\n", x(at_s) + 3.0,
            report::week_moment(at_s).substr(0, 3) + " " + moment_text(at_s).substr(8, 2));
    }
    return out;
  }

 private:
  std::int64_t from_s_;
  std::int64_t to_s_;
};

std::string box(const Axis& axis, std::int64_t from_s, std::int64_t to_s, double y, double high,
                const std::string& css) {
  return fmt::format(
      "<rect class=\"{}\" x=\"{:.2f}\" y=\"{:.1f}\" width=\"{:.2f}\" height=\"{:.1f}\"/>", css,
      axis.x(from_s), y, std::max(0.0, axis.x(to_s) - axis.x(from_s)), high);
}

std::string run_words(const Plan& plan, const PlanRun& run) {
  return fmt::format("{} {}: {}, {} parts, {} to {}, {} swaps taking {} h, {} h unattended{}{}",
                     run.id, name_of(run.state), printable(plan.queue.jobs[run.job].name),
                     run.parts, report::week_moment(run.start_s), report::week_moment(run.end_s),
                     run.swaps, h_text(run.swap_s), h_text(run.unattended_s),
                     run.put_in.empty()
                         ? ""
                         : ", put in " + printable(fmt::format("{}", fmt::join(run.put_in, ", "))),
                     run.replanned ? ", planned again for this machine" : "");
}

std::string run_bar(const Plan& plan, const Axis& axis, const PlanRun& run, double y) {
  const double from_x = axis.x(run.start_s);
  const double wide = axis.x(run.end_s) - from_x;
  const double swaps_share = std::clamp(
      run.swap_s / static_cast<double>(std::max<std::int64_t>(1, run.end_s - run.start_s)), 0.0,
      1.0);
  std::string out = fmt::format("<a href=\"#job-{}\"><title>{}</title>", run.job + 1,
                                html_text(run_words(plan, run)));
  out += box(axis, run.setup_s, run.start_s, y, kBar, "frame");
  out += box(axis, run.start_s, run.end_s, y, kBar,
             fmt::format("s{}", run.job % static_cast<std::size_t>(kColours) + 1));
  out += fmt::format(
      "<rect class=\"laid\" x=\"{:.2f}\" y=\"{:.1f}\" width=\"{:.2f}\" height=\"{:.1f}\"/>", from_x,
      y + kBar - kStrip, wide * swaps_share, kStrip);
  if (run.state == RunState::printing)
    out += box(axis, run.start_s, run.end_s, y, kBar, "over");
  if (wide > 14.0)
    out += fmt::format("<text class=\"tile-text\" x=\"{:.1f}\" y=\"{:.1f}\">{}</text>",
                       from_x + 3.0, y + 15.0, run.job + 1);
  return out + "</a>\n";
}

std::string lanes(const Plan& plan, const Axis& axis) {
  const double bottom = kTop + kLane * static_cast<double>(plan.machines.size());
  std::string out = fmt::format(
      "<svg role=\"img\" aria-label=\"a lane for each machine\" viewBox=\"0 0 {0:.0f} {1:.0f}\" "
      "width=\"{0:.0f}\" height=\"{1:.0f}\">\n",
      kLeft + kWide + 4.0, bottom + 4.0);
  double y = kTop;
  for (const PlannedMachine& machine : plan.machines) {
    std::vector<hours::Span> spans;
    for (const WeekSpan& span : plan.queue.machines[machine.machine].attended)
      spans.push_back({span.from_s, span.to_s});
    for (const hours::Span& gap : hours::Calendar(spans).closed(axis.from_s(), axis.to_s()))
      out += box(axis, gap.from_s, gap.to_s, y - 4.0, kLane - 6.0, "m1");
    y += kLane;
  }
  out += axis.days(bottom);
  y = kTop;
  for (const PlannedMachine& machine : plan.machines) {
    out += fmt::format("<text x=\"0\" y=\"{:.1f}\">{}</text>\n", y + 17.0,
                       html_text(report::machine_name(plan, machine.machine, machine.instance)));
    for (const PlanRun& run : plan.runs)
      if (run.machine == machine.machine && run.instance == machine.instance &&
          run.end_s > axis.from_s() && run.state != RunState::done && run.state != RunState::failed)
        out += run_bar(plan, axis, run, y);
    y += kLane;
  }
  return out + "</svg>";
}

/// Watts of all machines together, in steps.
std::string power(const Plan& plan, const Axis& axis) {
  const PlanPower& drawn = plan.power;
  const double most_w = *std::ranges::max_element(drawn.highest_w);
  const double limit_w = plan.queue.power_limit_w.value_or(0.0);
  const double top_w = std::max({1.0, most_w, limit_w}) * 1.1;
  const double bottom = kTop + kPowerHigh;
  const auto y = [&](double watts) { return bottom - kPowerHigh * watts / top_w; };
  std::string out = fmt::format(
      "<svg role=\"img\" aria-label=\"power of all machines together, at most {2:.0f} W\" "
      "viewBox=\"0 0 {0:.0f} {1:.0f}\" width=\"{0:.0f}\" height=\"{1:.0f}\">\n",
      kLeft + kWide + 4.0, bottom + 4.0, most_w);
  std::string path;
  double drawn_y = bottom;
  for (std::size_t i = 0; i < drawn.highest_w.size(); ++i) {
    const double x = axis.x(drawn.start_s + static_cast<std::int64_t>(i) * drawn.step_s);
    const double now_y = y(drawn.highest_w[i]);
    path += path.empty() ? fmt::format("M{:.2f} {:.1f}", x, bottom) : "";
    if (std::abs(now_y - drawn_y) >= 0.05)
      path += fmt::format("H{:.2f}V{:.1f}", x, now_y);
    drawn_y = now_y;
  }
  path += fmt::format("H{:.2f}V{:.1f}Z", axis.x(axis.to_s()), bottom);
  out += fmt::format("<path d=\"{}\"/>\n", path) + axis.days(bottom);
  out += fmt::format("<text x=\"0\" y=\"{:.1f}\">{:.0f} W</text>\n", y(most_w) + 5.0, most_w);
  if (plan.queue.power_limit_w)
    out += fmt::format(
        "<path class=\"place\" d=\"M{:.1f} {:.1f}H{:.1f}\"/><text x=\"{:.1f}\" y=\"{:.1f}\">limit "
        "{:.0f} W</text>\n",
        kLeft, y(limit_w), kLeft + kWide, kLeft + 4.0, y(limit_w) - 4.0, limit_w);
  return out + "</svg>";
}

/// A table whose rows can be linked to.
std::string jobs_table(const Plan& plan) {
  std::string out =
      "<div class=\"wide\"><table>\n<thead><tr><th scope=\"col\">no.</th><th scope=\"col\" "
      "class=\"w\">job</th>";
  for (const char* title :
       {"parts", "plates", "done", "due", "late", "cost", "purge g", "kWh", "person h"})
    out += fmt::format("<th scope=\"col\">{}</th>", title);
  out += "</tr></thead>\n<tbody>\n";
  for (const PlannedJob& job : plan.jobs) {
    const QueueJob& from = plan.queue.jobs[job.job];
    const std::string cells[] = {fmt::format("{} of {}", job.parts, from.copies),
                                 fmt::format("{}", job.plates),
                                 job.finish_s ? report::week_moment(*job.finish_s) : "left out",
                                 from.due_s ? report::week_moment(*from.due_s) : "",
                                 job.late_s > 0.0 ? report::duration(job.late_s) : "no",
                                 plan.currency.empty() ? "" : fmt::format("{:.2f}", job.cost),
                                 fmt::format("{:.0f}", job.purge_g),
                                 fmt::format("{:.2f}", base::kwh_from_wh(job.energy_wh)),
                                 h_text(job.manual_s)};
    out += fmt::format(
        "<tr id=\"job-{0}\"{1}><td><svg class=\"key\" width=\"12\" height=\"12\" "
        "aria-hidden=\"true\"><rect class=\"s{2}\" width=\"12\" height=\"12\"/></svg> {0}</td><td "
        "class=\"w\">{3}</td>",
        job.job + 1, job.late_s > 0.0 ? " class=\"m\"" : "",
        job.job % static_cast<std::size_t>(kColours) + 1, html_text(printable(from.name)));
    for (const std::string& cell : cells)
      out += fmt::format("<td>{}</td>", html_text(cell));
    out += "</tr>\n";
  }
  return out + "</tbody></table></div>\n";
}

void add_runs(const Plan& plan, report::Page& page) {
  page.raw("<details><summary>Every plate, in the order of its start</summary>\n");
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
  page.table({"run", "job", "machine", "put in", "state", "parts", "person at", "starts", "ends",
              "unattended h", "swaps", "cost", "purge g"},
             rows, 5);
  page.raw("</details>\n");
}

void add_batches(const Plan& plan, report::Page& page) {
  page.raw("<details><summary>What each batch would cost on each machine</summary>\n");
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
  page.table(
      {"job", "machine", "purge", "parts", "h", "swaps", "cost/part", "purge g/part", "Wh/part"},
      rows, 3);
  page.raw("</details>\n");
}

void add_proof(const Plan& plan, report::Page& page) {
  page.heading("How good it is", "no plan can go below the bounds");
  Rows rows;
  for (const PlanBound& bound : plan.bounds)
    rows.push_back({printable(report::measure_title(plan, bound)),
                    report::bound_text(plan, bound, bound.value),
                    report::bound_text(plan, bound, bound.bound), report::gap_text(bound)});
  page.table({"measure", "this plan", "no plan below", "gap"}, rows, 1, 0);
  page.paragraph(report::proof_text(plan));
  page.heading("Beside simple rules");
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
  page.table({"rule", "cost", "done", "h", "purge g", "kWh", "spool changes", "h late"}, rows, 1,
             0);
}

}  // namespace

std::string to_html(const Plan& plan) {
  report::Page page("A plan for the queue", plan.queue.path);
  std::vector<report::Verdict> figures{
      {report::week_moment(plan.sums.finish_s), "all is done", ""},
      {fmt::format("{:.0f} g", plan.sums.purge_g), "purged", ""},
      {fmt::format("{:.2f} kWh", base::kwh_from_wh(plan.sums.energy_wh)), "from the wall", ""},
      {h_text(plan.sums.manual_s) + " h",
       fmt::format("of a person, with {} spool {}", plan.sums.changes,
                   plan.sums.changes == 1 ? "change" : "changes"),
       ""},
      {plan.sums.late_jobs == 0   ? std::string("nothing")
       : plan.sums.late_jobs == 1 ? std::string("1 job")
                                  : fmt::format("{} jobs", plan.sums.late_jobs),
       "late", ""}};
  if (!plan.currency.empty())
    figures.insert(figures.begin(),
                   {report::money_text(plan, plan.sums.cost), "plates and spool changes", ""});
  page.verdicts(figures);
  for (const std::string& problem : plan.problems)
    page.paragraph("Problem: " + printable(problem));
  const Axis axis(plan);
  page.heading("Which machine prints what when");
  page.figure(
      "", lanes(plan, axis),
      "The number in a bar is its job's; the strip at its foot is the share of its time that "
      "swaps take; a frame before it is handling and changing spools; on the darker ground "
      "nobody is there; a framed bar is being printed already.");
  if (!plan.power.highest_w.empty())
    page.figure("", power(plan, axis),
                "Watts of all machines together, under the same hours: in each five minutes the "
                "highest that the model draws.");
  page.heading("Jobs");
  page.raw(jobs_table(plan));
  add_proof(plan, page);
  add_runs(plan, page);
  add_batches(plan, page);
  if (!plan.assumed.empty()) {
    page.raw("<details><summary>What the re-planned plates stand on</summary>\n");
    std::vector<std::string> lines;
    for (const std::string& sentence : plan.assumed)
      lines.push_back(printable(sentence));
    page.list(lines);
    page.raw("</details>\n");
  }
  page.paragraph(report::kPlanCaution);
  return page.take();
}

}  // namespace platetally
