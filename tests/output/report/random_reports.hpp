// Reports of every kind by chance, for tests that hold all of them against one law: their schema,
// the rules of markup, what a terminal may be told.
#pragma once

#include "output/report/random_account.hpp"
#include "platetally/audit.hpp"
#include "platetally/calibrate.hpp"
#include "platetally/circuit.hpp"
#include "platetally/compare.hpp"
#include "platetally/order.hpp"
#include "platetally/payback.hpp"
#include "platetally/plan.hpp"
#include "platetally/reconcile.hpp"

namespace platetally::test {

inline std::vector<std::string> any_names(Random& random, std::size_t most = 4) {
  std::vector<std::string> names;
  for (std::size_t i = random.below(most); i > 0; --i)
    names.push_back(any_name(random));
  return names;
}

inline OrderReport random_order(unsigned seed) {
  Random random(seed);
  OrderReport report;
  report.path = any_name(random);
  report.machine = any_name(random);
  report.objective = static_cast<OrderObjective>(random.below(4));
  report.unit = random.of(std::vector<std::string>{"g", "s", "swaps"});
  const int tools = random.whole(1, 5);
  for (int tool = 0; tool < tools; ++tool)
    report.colours.push_back(any_name(random));
  for (int from = 0; from < tools; ++from)
    for (int to = 0; to < tools; ++to) {
      if (from == to || random.one_in(3))
        continue;
      OrderPair pair;
      pair.from = from;
      pair.to = to;
      pair.kind = random.one_in(2) ? SwapKind::head_change : SwapKind::filament_change;
      pair.count = random.count();
      pair.swap_s = any_range(random);
      pair.purged_g = random.amount();
      pair.needed_mm3 = perhaps(random);
      if (pair.needed_mm3)
        pair.needed_g = random.amount();
      pair.over_purge_g = random.amount();
      pair.plan_g = random.amount();
      pair.plan_s = random.amount();
      report.pairs.push_back(pair);
    }
  for (const char* name : {"actual", "ascending", "carry-over", "best"})
    report.outcomes.push_back(
        {name, random.count(), random.amount(), random.amount(), random.amount(), random.amount()});
  report.optimal = random.one_in(2);
  report.bound = random.amount();
  report.gap = random.share();
  report.left_out = random.below(5);
  report.proof = "no order is better";
  report.plan = {"layers 1-40: 0 2 1 | 1 2 0"};
  report.orders = {{0, 1}, {1, 0}, {}};
  if (random.one_in(2))
    report.heads = HeadAssignment{{1, 0}, random.amount(), random.amount(), random.one_in(2)};
  report.by_need = random.one_in(2);
  report.assumptions = {"all changes cost alike"};
  report.made_from = any_made_from(random);
  return report;
}

inline Comparison random_comparison(unsigned seed) {
  Random random(seed);
  Comparison comparison;
  comparison.path = any_name(random);
  const int machines = random.whole(1, 3);
  for (int i = 0; i < machines; ++i) {
    ComparedMachine machine;
    machine.name = any_name(random);
    machine.account = random_account(seed * 10 + static_cast<unsigned>(i));
    machine.account.findings.clear();
    machine.replanned = random.one_in(2);
    machine.measured = any_names(random);
    machine.assumed = any_names(random);
    machine.misfits = any_names(random);
    comparison.machines.push_back(machine);
    if (i > 0)
      comparison.break_even.push_back(
          {machine.name, perhaps(random), perhaps(random), perhaps(random)});
  }
  return comparison;
}

inline PlatesCompared random_plates(unsigned seed) {
  Random random(seed);
  PlatesCompared compared;
  for (int i = 0; i < random.whole(1, 3); ++i)
    compared.plates.push_back(random_comparison(seed * 7 + static_cast<unsigned>(i)));
  if (compared.plates.size() == 2) {
    BeforeAfter change;
    for (const char* key : {"time_s", "purge_g", "energy_by.bed_wh"})
      change.figures.push_back({key,
                                "a figure",
                                random.one_in(2) ? "g" : "s",
                                any_range(random),
                                any_range(random),
                                {-1.0, random.amount(), 1e7},
                                random.one_in(2)});
    for (int i = 0; i < random.whole(1, 30); ++i) {
      HeightSlice slice;
      slice.from_mm = i == 0 ? 0.0 : 0.2 * (i - 1);
      slice.to_mm = 0.2 * i;
      for (HeightSlice::Amounts* side : {&slice.before, &slice.after}) {
        side->time_by = any_time_by(random);
        side->time_s = side->time_by.sum_s();
        side->part_g = random.amount();
        side->purge_g = random.amount();
        side->energy_wh = random.amount();
        side->swaps = random.amount();
      }
      change.slices.push_back(slice);
    }
    for (const char* what : {"time_s", "part_g", "purge_g", "energy_wh", "swaps"})
      if (random.one_in(2))
        change.largest.push_back({random.below(change.slices.size()), what, 0.2, 0.6,
                                  random.amount(), random.amount(), random.share()});
    compared.before_after = change;
  }
  compared.made_from = any_made_from(random);
  return compared;
}

inline PaybackReport random_payback(unsigned seed) {
  Random random(seed);
  PaybackReport report;
  report.input.machines = {any_name(random), any_name(random)};
  report.input.price = {random.amount(), random.amount()};
  report.input.currency = any_name(random);
  report.input.cannot_print = {any_names(random), any_names(random)};
  report.input.years = random.real(1.0, 20.0);
  report.input.notes = any_names(random);
  for (int i = 0; i < random.whole(0, 4); ++i) {
    PaybackPlate plate;
    plate.name = any_name(random);
    plate.weekly = random.amount();
    report.input.plates.push_back(plate);
  }
  for (YearOnMachine& year : report.year)
    year = {random.amount(), random.amount(), random.whole(1, 9), random.amount(),
            random.amount(), random.amount(), random.amount()};
  report.extra_price = random.real(-1e4, 1e4);
  report.saving_a_year = random.real(-1e4, 1e4);
  report.simple_years = perhaps(random);
  report.discounted_years = perhaps(random);
  report.net_present_value = random.real(-1e4, 1e4);
  report.quantile_years = {perhaps(random), perhaps(random), perhaps(random)};
  report.never_share = random.share();
  for (std::size_t i = random.below(5); i > 0; --i)
    report.causes.push_back({any_name(random), perhaps(random), perhaps(random)});
  report.input.made_from = any_made_from(random);
  return report;
}

inline CircuitReport random_circuit(unsigned seed) {
  Random random(seed);
  CircuitReport report;
  report.circuit_w = random.amount();
  report.continuous_w = random.amount();
  for (int i = 0; i < random.whole(1, 4); ++i)
    report.rows.push_back({any_name(random), random.whole(1, 100), random.amount(), random.amount(),
                           random.amount(), random.amount(), random.amount()});
  report.machines = random.whole(1, 9);
  for (double* figure :
       {&report.connected_load_w, &report.together_peak_w, &report.together_quarter_hour_w,
        &report.printing_w, &report.burst_95_w, &report.burst_99_w, &report.staggered_peak_w,
        &report.staggered_quarter_hour_w})
    *figure = random.amount();
  report.stagger_s = perhaps(random);
  report.made_from = any_made_from(random);
  return report;
}

inline ReconcileReport random_reconcile(unsigned seed) {
  Random random(seed);
  ReconcileReport report;
  report.path = any_name(random);
  report.machine = any_name(random);
  report.log_path = random.one_in(4) ? "" : any_name(random);
  report.log_hash = any_hash(random);
  report.offset_s = random.amount();
  report.drift = random.real(-0.01, 0.01);
  report.correlation = random.share();
  report.smoothed_s = random.amount();
  for (const char* name : {"heat-up", "first layer", "other layers", "all of it"})
    report.phases.push_back(
        {name, random.amount(), random.amount(), random.amount(), random.amount()});
  for (const char* key : {"time_s", "energy_wh", "purge_g"}) {
    ReconciledValue value{key, "g", random.amount(), random.amount()};
    if (random.one_in(3))
      value.predicted = std::nan("");
    if (random.one_in(2)) {
      value.low = 1.0;
      value.high = 2.0 + random.amount();
    }
    report.values.push_back(value);
  }
  report.time_error_wh = random.real(-50.0, 50.0);
  report.power_error_wh = random.real(-50.0, 50.0);
  for (std::size_t i = random.below(4); i > 0; --i)
    report.explanations.push_back(
        {"bed.convection_factor", random.amount(), random.amount(), random.share()});
  report.doubts = any_names(random);
  for (std::size_t i = 0; i <= 20; ++i)
    report.overlay_s.push_back(60.0 * static_cast<double>(i));
  for (std::size_t i = 0; i < 20; ++i) {
    report.overlay_predicted_w.push_back(random.real(0.0, 500.0));
    report.overlay_measured_w.push_back(random.one_in(5) ? std::nan("") : random.real(0.0, 500.0));
  }
  report.made_from = any_made_from(random);
  return report;
}

inline CalibrationReport random_calibration(unsigned seed) {
  Random random(seed);
  CalibrationReport report;
  report.machine.name = any_name(random);
  for (const char* key : {"bed.convection_factor", "heads.0.power_w", "procedures.start_s"}) {
    if (random.one_in(2))
      report.fitted.push_back({key, "W", random.amount(), random.amount(), random.amount(),
                               random.amount(), random.one_in(2), random.one_in(2)});
    else
      report.not_identifiable.push_back({key, random.amount(), "heat the bed alone", "W/K",
                                         random.amount(), random.amount(), random.amount()});
  }
  report.rank = random.below(20);
  report.condition = random.one_in(4) ? std::numeric_limits<double>::infinity() : random.amount();
  report.rms_before_w = random.amount();
  report.rms_after_w = random.amount();
  for (std::size_t i = random.below(3); i > 0; --i) {
    CalibratedExperiment experiment;
    experiment.experiment = "bed=60";
    experiment.log_path = any_name(random);
    experiment.log_hash = any_hash(random);
    experiment.offset_s = random.amount();
    experiment.measured_wh = random.amount();
    experiment.before_wh = random.amount();
    experiment.after_wh = random.amount();
    for (std::size_t k = 0; k < 10; ++k)
      experiment.windows.push_back({60.0 * static_cast<double>(k),
                                    60.0 * static_cast<double>(k + 1), random.real(0.0, 400.0),
                                    random.real(0.0, 400.0), random.real(0.0, 400.0)});
    experiment.doubts = any_names(random);
    report.experiments.push_back(experiment);
  }
  report.notes = any_names(random);
  report.converged = random.one_in(2);
  if (random.one_in(2)) {
    PrintsFit fit;
    fit.path = any_name(random);
    fit.hash = any_hash(random);
    for (const char* key : {"time", "energy"})
      fit.errors.push_back({key, random.below(30), random.below(20), random.share(), random.share(),
                            random.share(), random.share(), random.share(), random.share()});
    for (std::size_t i = random.below(6); i > 0; --i)
      fit.outcomes.push_back({any_name(random), random.one_in(2) ? "time_s" : "energy_wh", i,
                              1.0 + random.amount(), 1.0 + random.amount(), 1.0 + random.amount(),
                              1.0 + random.amount(), random.share(), random.one_in(3)});
    report.prints = fit;
  }
  if (random.one_in(2)) {
    ChangesFile changes;
    changes.path = any_name(random);
    changes.hash = any_hash(random);
    changes.counted.push_back({SwapKind::filament_change, random.below(4), random.count(),
                               any_range(random), random.count(), perhaps(random),
                               perhaps(random)});
    report.changes = changes;
  }
  report.made_from = any_made_from(random);
  return report;
}

inline NeedCalibration random_need(unsigned seed) {
  Random random(seed);
  NeedCalibration report;
  report.machine.name = any_name(random);
  for (int i = 0; i < random.whole(2, 6); ++i)
    report.pairs.push_back({any_name(random), any_name(random), 1.0 + random.amount(),
                            1.0 + random.amount(), 1.0 + random.amount()});
  report.notes = any_names(random);
  report.made_from = any_made_from(random);
  return report;
}

inline AuditRow random_row(Random& random) {
  AuditRow row;
  row.path = any_name(random);
  row.member = random.one_in(3) ? any_name(random) : "";
  row.content_hash = random.one_in(3) ? "" : any_hash(random);
  if (random.one_in(6)) {
    row.error = "cannot be read";
    return row;
  }
  row.machine = any_name(random);
  row.machine_hash = any_hash(random);
  row.verdict = name_of(static_cast<Grade>(random.below(3)));
  row.currency = random.one_in(2) ? "EUR" : "";
  for (const std::string& code : codes_of_kind(CodeKind::verdict))
    if (random.one_in(6))
      row.reasons.push_back({code, static_cast<Grade>(random.below(3)), any_name(random)});
  for (std::size_t i = 0; i < audit_keys().size(); ++i)
    row.totals.push_back(random.one_in(6) ? std::nan("") : random.amount());
  row.sort_value = perhaps(random);
  for (std::size_t i = random.below(24); i > 0; --i)
    row.purge_strip_g.push_back(random.amount());
  for (const std::string& code : finding_codes())
    if (random.one_in(6))
      row.findings.push_back({code, random.one_in(2), random.amount(), random.amount(),
                              random.amount(), perhaps(random)});
  if (random.one_in(3))
    row.breaches.push_back({"totals.purge_g", 3.0 + random.amount(), 2.0});
  if (random.one_in(3))
    row.limit_errors.push_back("the limit 3 of 'cost' cannot be checked");
  row.left_out = random.below(3);
  row.warnings = random.below(3);
  row.unknown_words = random.count();
  row.partial = random.one_in(4);
  row.fails_because = random.one_in(3) ? "a part was left out" : "";
  return row;
}

inline AuditReport random_audit(unsigned seed) {
  Random random(seed);
  AuditReport report;
  report.machine = any_name(random);
  report.sort = "totals.purge_g";
  report.value = Aim::time;
  report.currency = random.one_in(2) ? "EUR" : "";
  for (std::size_t i = random.below(40); i > 0; --i)
    report.rows.push_back(random_row(random));
  report.rows_in_all = report.rows.size();
  for (const AuditRow& row : report.rows)
    (row.error.empty() ? report.plates : report.failed) += 1;
  for (std::size_t i = 0; i < audit_keys().size(); ++i)
    report.totals.push_back(random.one_in(4) ? std::nan("") : random.amount());
  for (const std::string& code : finding_codes())
    if (random.one_in(3))
      report.findings.push_back({{code, random.one_in(2), random.amount(), random.amount(),
                                  random.amount(), perhaps(random)},
                                 1 + random.below(30)});
  for (const char* key : {"purge_g", "energy_wh"})
    report.largest.push_back(
        {key, {{any_name(random), "", 2.0}, {any_name(random), "a.gcode", 1.0}}});
  for (std::size_t i = random.below(3); i > 0; --i)
    report.faults.emplace_back(any_name(random), "cannot be looked into");
  report.notes = any_names(random);
  report.exceeded = random.below(4);
  report.not_passed = random.below(4);
  report.cannot = random.below(4);
  report.look = random.below(4);
  report.passed_over = random.count();
  report.made_from = any_made_from(random);
  return report;
}

inline HistoryReport random_history(unsigned seed) {
  Random random(seed);
  HistoryReport report;
  report.audit = random_audit(seed);
  for (std::size_t i = random.below(3); i > 0; --i) {
    HistoryGroup group;
    group.machine = any_name(random);
    group.version = "0.1.0";
    group.options = any_name(random);
    group.plates = random.count();
    for (std::size_t k = 0; k < audit_keys().size(); ++k)
      group.totals.push_back(random.one_in(4) ? std::nan("") : random.amount());
    report.groups.push_back(group);
    report.weeks.push_back({"2026-11-23", report.groups.size() - 1, random.count(), random.count(),
                            random.amount(), random.amount(), random.amount(), random.amount()});
    report.printed.push_back({"2026-11-16", any_name(random), random.one_in(2) ? "EUR" : "",
                              random.count(), random.below(4), random.count(), random.below(4),
                              random.amount(), random.amount(), random.amount(), random.amount(),
                              random.amount(), perhaps(random)});
  }
  return report;
}

inline PlanSums any_sums(Random& random, const std::string& name) {
  return {name,
          !random.one_in(3),
          random.amount(),
          1777881600 + static_cast<std::int64_t>(random.below(600000)),
          random.amount(),
          random.amount(),
          random.amount(),
          random.whole(0, 9),
          random.whole(0, 9),
          random.amount()};
}

inline void add_queue(Plan& plan, Random& random) {
  plan.queue.path = any_name(random);
  plan.queue.start_s = plan.now_s;
  if (random.one_in(2))
    plan.queue.power_limit_w = 1000.0 + random.amount();
  for (int i = 0; i < random.whole(1, 3); ++i) {
    QueueMachine machine;
    machine.name = any_name(random) + std::to_string(i);
    machine.count = random.whole(1, 3);
    machine.attended = {{28800, 61200}, {115200, 147600}};
    plan.queue.machines.push_back(machine);
    for (int instance = 0; instance < machine.count; ++instance)
      plan.machines.push_back({static_cast<std::size_t>(i), instance, random.whole(0, 5),
                               random.amount(), random.amount(), random.amount(),
                               random.whole(0, 5), random.amount(), random.amount(),
                               random.amount()});
  }
  for (std::size_t i = 0; i < 1 + random.below(4); ++i) {
    QueueJob job;
    job.name = any_name(random) + std::to_string(i);
    job.plate = any_name(random);
    job.copies = random.whole(1, 9);
    if (random.one_in(2))
      job.due_s = plan.now_s + 90000;
    plan.queue.jobs.push_back(job);
    PlannedJob planned{i,
                       random.whole(0, 9),
                       random.whole(0, 5),
                       std::nullopt,
                       random.amount(),
                       random.amount(),
                       random.amount(),
                       random.amount(),
                       random.amount(),
                       {}};
    if (planned.plates > 0)
      planned.finish_s = plan.now_s + 80000;
    else
      planned.why_not = any_names(random);
    plan.jobs.push_back(planned);
  }
}

inline Plan random_plan(unsigned seed) {
  Random random(seed);
  Plan plan;
  plan.now_s = 1777881600;  // 2026-05-04 08:00
  plan.aim = {1.0, random.amount(), random.amount(), 0.0};
  plan.asked = "cost, and hours";
  plan.currency = random.one_in(3) ? "" : "EUR";
  add_queue(plan, random);
  for (std::size_t i = random.below(12); i > 0; --i) {
    PlanRun run;
    run.id = fmt::format("r{}", plan.runs.size() + 1);
    run.job = random.below(plan.queue.jobs.size());
    run.machine = random.below(plan.queue.machines.size());
    run.instance = random.whole(0, plan.queue.machines[run.machine].count - 1);
    run.times = random.whole(1, 4);
    run.parts = random.whole(1, 4);
    run.state = static_cast<RunState>(random.below(4));
    run.setup_s = plan.now_s + static_cast<std::int64_t>(random.below(300000));
    run.start_s = run.setup_s + 600;
    run.end_s = run.start_s + static_cast<std::int64_t>(random.below(50000));
    run.unattended_s = random.amount();
    run.put_in = any_names(random);
    run.loaded = any_names(random);
    run.replanned = random.one_in(2);
    run.swaps = random.count();
    run.swap_s = random.amount();
    run.cost = random.amount();
    run.purge_g = random.amount();
    run.part_g = random.amount();
    run.energy_wh = random.amount();
    plan.runs.push_back(run);
  }
  plan.sums = any_sums(random, "plan");
  plan.rules = {any_sums(random, "all on " + plan.queue.machines[0].name),
                any_sums(random, "in the order of the file")};
  for (const char* measure : {"asked", "cost", "finish", "waste", "energy", "late"})
    plan.bounds.push_back({measure, std::string(measure) == "waste" ? "g" : "", random.amount(),
                           random.amount(), random.share()});
  plan.assignment_proven = random.one_in(2);
  plan.assignment_value = random.amount();
  plan.assignment_bound = random.amount();
  plan.nodes = random.whole(0, 900);
  plan.steps = random.whole(0, 900);
  plan.stopped = random.one_in(3);
  for (std::size_t i = random.below(8); i > 0; --i)
    plan.batches.push_back({random.below(plan.queue.jobs.size()),
                            random.below(plan.queue.machines.size()), 1, 2, random.one_in(2),
                            random.one_in(3) ? "it does not fit" : "", random.amount(),
                            random.count(), random.amount(), random.amount(), random.amount()});
  plan.power.start_s = plan.now_s;
  for (int i = 0; i < random.whole(0, 60); ++i)
    plan.power.highest_w.push_back(random.real(0.0, 900.0));
  plan.assumed = {"spools are changed one by one"};
  plan.problems = any_names(random);
  plan.made_from = any_made_from(random);
  return plan;
}

}  // namespace platetally::test
