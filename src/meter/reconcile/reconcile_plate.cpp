// A plate's prediction against a plug's log: where it lies, phase by phase, and what explains the
// difference. A log whose power says nothing of where the plate begins is compared as a whole, and
// nothing is blamed for the difference.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <stdexcept>

#include "account/join/heat_input.hpp"
#include "base/hash.hpp"
#include "base/units.hpp"
#include "heat/simulate.hpp"
#include "meter/calibrate/cycles.hpp"
#include "meter/calibrate/experiment.hpp"
#include "meter/calibrate/explain.hpp"
#include "meter/calibrate/parameters.hpp"
#include "meter/history/store.hpp"
#include "meter/logs/align.hpp"
#include "meter/reconcile/weighed.hpp"
#include "platetally/account.hpp"
#include "platetally/reconcile.hpp"
#include "platetally/report.hpp"

namespace platetally {

namespace {

// Assumed, all of them but the drift, which is what clocks of cheap plugs are granted.
constexpr double kMostDrift = 0.01;
constexpr double kDoubtfulCorrelation = 0.6;
constexpr double kCycles = 5.0;       // of a thermostat, in the windows that are compared
constexpr double kContradicts = 0.2;  // of the whole difference, that a phase may become worse by
constexpr double kContradicts_w = 1.0;
constexpr double kWindow_s = 60.0;
constexpr std::size_t kMostOverlay = 600;
constexpr std::size_t kMostExplanations = 3;
constexpr double kWorthSaying = 0.05;
constexpr double kNotKnown = std::numeric_limits<double>::quiet_NaN();

class Reconciling {
 public:
  Reconciling(const std::string& path, const Machine& machine, const MeterLog& log,
              const ReconcileOptions& options)
      : machine_(machine),
        log_(log),
        options_(options),
        account_(read(path, machine, options, input_)) {
    experiment_.heat_log = std::move(input_.log);
    experiment_.is_plate = true;
    experiment_.start_bed_c = options.analyze.start_bed_c;
    series_ = calibrate::predict(machine, input_.materials, experiment_).power;
    if (log.samples.empty())
      throw std::invalid_argument(
          fmt::format("{}: holds no watts; expected what a plug saw", log.path));
    experiment_.log = &log_;
  }

  ReconcileReport run() {
    report_.path = account_.path;
    report_.machine = machine_.name;
    report_.log_path = log_.path;
    report_.log_hash = log_.hash;
    report_.doubts = log_.doubts;
    report_.made_from = reconciling::made_from(account_, options_);
    report_.made_from.set("log", log_.hash);
    find_place();
    phases();
    values();
    explain();
    overlay();
    return std::move(report_);
  }

 private:
  static Account read(const std::string& path, const Machine& machine,
                      const ReconcileOptions& options, HeatInput& input) {
    reconciling::require_keys(options.weighed);
    return analyze_file_keeping(path, machine, options.analyze, input);
  }

  void find_place();
  void find_stretch();
  double measured_end_s() const;
  void phases();
  void add_phase(const std::string& name, double from_s, double to_s);
  void cool_down(double end_s);
  void values();
  void explain();
  bool is_contradicted(const calibrate::Parameter& parameter, double value) const;
  std::vector<std::pair<double, double>> differences_wh(const Machine& machine) const;
  void overlay();
  /// Of the prediction's clock, to the log's.
  double in_log_s(double t_s) const { return offset_s_ + stretch_ * t_s; }
  double measured_wh(double from_s, double to_s) const {
    return base::wh_from_j(mean_w(log_, from_s, to_s).value_or(0.0) * (to_s - from_s));
  }

  const Machine& machine_;
  const MeterLog& log_;
  const ReconcileOptions& options_;
  HeatInput input_;  ///< before account_, whose reading fills it
  Account account_;
  calibrate::Experiment experiment_;
  meter::PowerSeries series_;
  meter::Place place_;
  double offset_s_ = 0.0;
  double stretch_ = 1.0;  ///< measured over predicted duration
  ReconcileReport report_;
};

/// When the power was last clearly above idle.
double Reconciling::measured_end_s() const {
  return meter::end_of_draw_s(log_, offset_s_, machine_.supply.idle_w,
                              account_.totals.mean_power_w);
}

void Reconciling::find_place() {
  place_ = meter::place_print(series_, log_, kMostDrift);
  const meter::Alignment& alignment = place_.alignment;
  report_.correlation = alignment.correlation;
  report_.smoothed_s = place_.smoothed_s;
  if (alignment.overlap_s <= 0.0)
    throw std::invalid_argument(
        fmt::format("{} and {} have no time in common: is it the log of "
                    "another plate?",
                    account_.path, log_.path));
  if (!place_.told_by_power)
    report_.doubts.push_back(fmt::format(
        "nothing in the power says where the plate lies in the log (correlation {:.2f}, smoothed "
        "over {:.0f} s), so {}; it may be another plate or machine, and only the sums are compared",
        alignment.correlation, place_.smoothed_s,
        place_.same_length ? "they begin together, as they last about as long"
                           : "it begins where the power first rises"));
  else if (alignment.correlation < kDoubtfulCorrelation)
    report_.doubts.push_back(fmt::format(
        "plate and log go together only so well (correlation {:.2f}); it may be another plate or "
        "machine",
        alignment.correlation));
  offset_s_ = alignment.offset_s;
  report_.offset_s = offset_s_;
  report_.drift = alignment.drift;
  if (offset_s_ < -kWindow_s)
    report_.doubts.push_back(fmt::format(
        "the log begins {:.0f} s after the plate did; what was before is not known", -offset_s_));
  find_stretch();
}

void Reconciling::find_stretch() {
  const double end_s = measured_end_s();
  // As long as the log goes on behind the end; where it is cut off, nothing is known of the end,
  // unless it is as long as the print: then it ends with it.
  if (log_.duration_s() - end_s > kWindow_s / 2.0) {
    stretch_ = (end_s - offset_s_) / series_.end_s;
  } else if (place_.same_length) {
    stretch_ = (log_.duration_s() - offset_s_) / series_.end_s;
  } else {
    stretch_ = 1.0 + place_.alignment.drift;
    if (in_log_s(series_.end_s) > log_.duration_s() + kWindow_s)
      report_.doubts.push_back(
          fmt::format("the log ends {:.0f} s before the plate should; what is missing is left out "
                      "of both sides",
                      in_log_s(series_.end_s) - log_.duration_s()));
  }
  if (stretch_ < 0.3 || stretch_ > 3.0) {
    report_.doubts.push_back("the measured print is not nearly as long as the predicted one");
    stretch_ = 1.0 + place_.alignment.drift;
  }
}

void Reconciling::add_phase(const std::string& name, double from_s, double to_s) {
  from_s = std::max(from_s, -offset_s_ / stretch_);
  to_s = std::min(to_s, (log_.duration_s() - offset_s_) / stretch_);
  if (to_s <= from_s)
    return;
  auto found = std::find_if(report_.phases.begin(), report_.phases.end(),
                            [&](const ReconciledPhase& phase) { return phase.name == name; });
  if (found == report_.phases.end()) {
    report_.phases.push_back({name, 0.0, 0.0, 0.0, 0.0});
    found = report_.phases.end() - 1;
  }
  found->predicted_s += to_s - from_s;
  found->measured_s += stretch_ * (to_s - from_s);
  found->predicted_wh += base::wh_from_j(series_.mean_w(from_s, to_s) * (to_s - from_s));
  found->measured_wh += measured_wh(in_log_s(from_s), in_log_s(to_s));
}

/// For as long as the log goes on, with everything as the file leaves it.
void Reconciling::cool_down(double end_s) {
  const double measured_s = log_.duration_s() - end_s;
  calibrate::Experiment longer = experiment_;
  timeline::HeatEvent rest;
  rest.duration_s = measured_s;
  if (!longer.heat_log.events.empty())
    rest.layer = longer.heat_log.events.back().layer;  // its footprint says which zones stay on
  longer.heat_log.events.push_back(rest);
  const meter::PowerSeries series = calibrate::predict(machine_, input_.materials, longer).power;
  report_.phases.push_back(
      {"cool-down", measured_s, measured_s,
       base::wh_from_j(series.mean_w(series_.end_s, series.end_s) * measured_s),
       measured_wh(end_s, log_.duration_s())});
}

void Reconciling::phases() {
  const std::vector<LayerAccount>& layers = account_.layers;
  for (std::size_t i = 0; i < layers.size(); ++i) {
    const double from_s = layers[i].start_s;
    const double to_s = i + 1 < layers.size() ? layers[i + 1].start_s : series_.end_s;
    if (!place_.told_by_power) {
      add_phase("all of it", from_s, to_s);
      continue;
    }
    const bool is_start = layers[i].index == 0;
    const bool is_first = !is_start && (i == 0 || layers[i - 1].index == 0);
    add_phase(is_start              ? "heat-up"
              : is_first            ? "first layer"
              : layers[i].swaps > 0 ? "layers with swaps"
                                    : "other layers",
              from_s, to_s);
  }
  const double end_s = in_log_s(series_.end_s);
  if (log_.duration_s() - end_s > kWindow_s && place_.told_by_power)
    cool_down(end_s);
}

void Reconciling::values() {
  double predicted_s = 0.0, measured_s = 0.0, predicted_wh = 0.0, measured_wh_sum = 0.0;
  for (const ReconciledPhase& phase : report_.phases) {
    if (phase.name == "cool-down")
      continue;
    predicted_s += phase.predicted_s;
    measured_s += phase.measured_s;
    predicted_wh += phase.predicted_wh;
    measured_wh_sum += phase.measured_wh;
  }
  if (predicted_s <= 0.0 || measured_s <= 0.0)
    throw std::invalid_argument("plate and log have no time in common");
  const double predicted_w = base::j_from_wh(predicted_wh) / predicted_s;
  const double measured_mean_w = base::j_from_wh(measured_wh_sum) / measured_s;
  report_.values = {{"time_s", "s", predicted_s, measured_s},
                    {"energy_wh", "Wh", predicted_wh, measured_wh_sum},
                    {"mean_power_w", "W", predicted_w, measured_mean_w}};
  // dE = (W_m - W_p) T_p + W_m (T_m - T_p)
  report_.power_error_wh = base::wh_from_j((measured_mean_w - predicted_w) * predicted_s);
  report_.time_error_wh = base::wh_from_j(measured_mean_w * (measured_s - predicted_s));
  for (ReconciledValue& value : reconciling::weighed_values(account_, options_.weighed))
    report_.values.push_back(std::move(value));
}

/// Measured and predicted Wh of every phase, and of the idling before and behind, on the log's
/// clock.
std::vector<std::pair<double, double>> Reconciling::differences_wh(const Machine& machine) const {
  const meter::PowerSeries series =
      calibrate::predict(machine, input_.materials, experiment_).power;
  std::vector<std::pair<double, double>> both;
  double from_s = 0.0;
  // Phases in their order: each layer's part of the log, joined by name as in the report.
  std::map<std::string, std::pair<double, double>> by_name;
  const std::vector<LayerAccount>& layers = account_.layers;
  for (std::size_t i = 0; i < layers.size(); ++i) {
    const double to_s = i + 1 < layers.size() ? layers[i + 1].start_s : series_.end_s;
    from_s = layers[i].start_s;
    if (in_log_s(from_s) < 0.0 || in_log_s(to_s) > log_.duration_s())
      continue;
    auto& [measured, predicted] = by_name[layers[i].index == 0 ? "heat-up" : "layers"];
    measured += measured_wh(in_log_s(from_s), in_log_s(to_s));
    predicted += base::wh_from_j(series.mean_w(from_s, to_s) * (to_s - from_s) * stretch_);
  }
  for (const auto& [name, sums] : by_name)
    both.push_back(sums);
  const double idle_w = machine.supply.idle_w;
  if (offset_s_ > kWindow_s)
    both.emplace_back(measured_wh(0.0, offset_s_), base::wh_from_j(idle_w * offset_s_));
  // The last third of what is behind, when everything has cooled down.
  const double behind_s = (log_.duration_s() - in_log_s(series_.end_s)) / 3.0;
  if (behind_s > kWindow_s)
    both.emplace_back(measured_wh(log_.duration_s() - behind_s, log_.duration_s()),
                      base::wh_from_j(idle_w * behind_s));
  return both;
}

/// Whether some phase of the log speaks against an entry having that value: it would be further off
/// than it is by a good part of the whole difference, or of its own power where it only idles.
bool Reconciling::is_contradicted(const calibrate::Parameter& parameter, double value) const {
  Machine changed = machine_;
  parameter.set(changed, value);
  const std::vector<std::pair<double, double>> now = differences_wh(machine_);
  const std::vector<std::pair<double, double>> then = differences_wh(changed);
  const double whole_wh = std::abs(report_.values[1].measured - report_.values[1].predicted);
  const double in_all_wh = std::max(report_.values[1].measured, 1e-9);
  for (std::size_t i = 0; i < now.size(); ++i) {
    const double worse_wh =
        std::abs(then[i].second - then[i].first) - std::abs(now[i].second - now[i].first);
    const double share = now[i].first / in_all_wh;
    if (worse_wh > kContradicts * whole_wh * std::min(1.0, 2.0 * share) &&
        worse_wh > 0.02 * now[i].first)
      return true;
  }
  // What it draws at its least is no less than what it idles at.
  std::vector<double> watts;
  for (const MeterSample& sample : log_.samples)
    watts.push_back(sample.w);
  const auto low = watts.begin() + static_cast<std::ptrdiff_t>(watts.size() / 50);
  std::nth_element(watts.begin(), low, watts.end());
  return parameter.key == "supply.idle_w" && value > machine_.supply.idle_w &&
         value > *low + kContradicts_w;
}

void Reconciling::explain() {
  if (!place_.told_by_power)
    return;
  const double window_s = std::max({kWindow_s, 5.0 * log_.interval_s, series_.end_s / 1000.0,
                                    kCycles * calibrate::cycle_of(log_).period_s});
  const meter::Alignment stretched{offset_s_, stretch_ - 1.0, 0.0, 0.0};
  const calibrate::OneByOne each =
      calibrate::explain_by_one(machine_, input_.materials, experiment_, stretched, window_s);
  for (std::size_t i = 0; i < each.alone.size(); ++i) {
    const calibrate::Parameter& parameter = calibrate::parameters()[i];
    const double share = each.as_is_w2 > 0.0 ? 1.0 - each.alone[i].sum_w2 / each.as_is_w2 : 0.0;
    if (share > kWorthSaying && !is_contradicted(parameter, each.alone[i].value))
      report_.explanations.push_back(
          {parameter.key, parameter.get(machine_), each.alone[i].value, share});
  }
  std::stable_sort(
      report_.explanations.begin(), report_.explanations.end(),
      [](const Explanation& a, const Explanation& b) { return a.explains > b.explains; });
  if (report_.explanations.size() > kMostExplanations)
    report_.explanations.resize(kMostExplanations);
  // Seconds that are missing or too many, laid on the swaps.
  const double seconds = report_.values[0].measured - report_.values[0].predicted;
  if (account_.totals.swaps > 0 && std::abs(seconds) > 0.02 * report_.values[0].predicted) {
    const double each_s = seconds / static_cast<double>(account_.totals.swaps);
    report_.doubts.push_back(
        fmt::format("if swaps alone explained the time, each would take {:+.1f} s", each_s));
  }
}

void Reconciling::overlay() {
  const double step_s =
      std::max({log_.interval_s, series_.end_s / static_cast<double>(kMostOverlay), 5.0});
  const auto count = static_cast<std::size_t>(std::ceil(series_.end_s / step_s));
  for (std::size_t i = 0; i < count; ++i) {
    const double from_s = static_cast<double>(i) * step_s;
    const double to_s = std::min(from_s + step_s, series_.end_s);
    report_.overlay_s.push_back(from_s);
    report_.overlay_predicted_w.push_back(series_.mean_w(from_s, to_s));
    report_.overlay_measured_w.push_back(
        mean_w(log_, in_log_s(from_s), in_log_s(to_s)).value_or(kNotKnown));
  }
  report_.overlay_s.push_back(series_.end_s);
}

/// What of the options changes the prediction, for people.
std::string options_text(const AnalyzeOptions& options) {
  std::vector<std::string> parts;
  if (!options.tool_colours.empty())
    parts.push_back(fmt::format("colours {}", fmt::join(options.tool_colours, ",")));
  if (!options.materials.empty())
    parts.emplace_back("materials of its own");
  if (options.start_bed_c)
    parts.push_back(fmt::format("bed from {} degC", *options.start_bed_c));
  return fmt::format("{}", fmt::join(parts, "; "));
}

}  // namespace

ReconcileReport reconcile(const std::string& path, const Machine& machine, const MeterLog& log,
                          const ReconcileOptions& options) {
  return Reconciling(path, machine, log, options).run();
}

void keep_reconciliation(const std::string& history, const std::string& plate_path,
                         const ReconcileReport& report, const Machine& machine,
                         const AnalyzeOptions& options, const std::string& version,
                         std::int64_t now_s) {
  history::Store store(history);
  const auto content = source::hash_of_file(plate_path);
  if (!content)
    throw history::HistoryError(fmt::format("{}: cannot be read", plate_path));
  for (const ReconciledValue& value : report.values)
    store.keep_measured({*content,
                         {"", machine.name, machine_hash(machine), version, options_text(options)},
                         value.key,
                         value.predicted,
                         value.measured,
                         now_s,
                         report.log_path.empty()
                             ? "weighed"
                             : fmt::format("{} {}", report.log_path, report.log_hash)});
}

AccuracyBook read_accuracy(const std::string& history, const std::string& machine,
                           std::size_t* of_unknown) {
  if (!source::state_of(history))
    throw history::HistoryError(fmt::format("{}: there is no such history", history));
  history::Store store(history, history::Access::read);
  std::map<std::string, std::vector<double>> errors;
  std::size_t unknown = 0;
  const std::vector<history::Measured> measured = store.measured(machine, unknown);
  if (of_unknown != nullptr)
    *of_unknown = unknown;
  for (const history::Measured& one : measured)
    if (std::isfinite(one.predicted) && one.predicted > 0.0)
      errors[one.key].push_back(one.measured / one.predicted - 1.0);
  AccuracyBook book;
  for (const auto& [key, values] : errors) {
    AccuracyEntry entry{key, values.size(), 0.0, 0.0};
    const auto n = static_cast<double>(values.size());
    for (const double value : values)
      entry.mean += value / n;
    for (const double value : values)
      entry.spread += values.size() > 1 ? std::pow(value - entry.mean, 2) / (n - 1.0) : 0.0;
    entry.spread = std::sqrt(entry.spread);
    book.push_back(entry);
  }
  return book;
}

void widen_by_past(Account& account, const AccuracyBook& book) {
  std::string entries;
  for (const AccuracyEntry& entry : book)
    entries += fmt::format("{} {} {} {}\n", entry.key, entry.plates, entry.mean, entry.spread);
  account.made_from.set("book", base::hash_of_text(entries));
  // Two spreads to both sides of the mean error; the expected values stay the model's.
  const auto widened = [&](const char* key, double expected) {
    const auto found = std::ranges::find(book, key, &AccuracyEntry::key);
    if (found == book.end() || found->plates < kLeastPlatesOfBook)
      return std::pair{0.0, 0.0};
    return std::pair{std::max(0.0, 2.0 * found->spread - found->mean) * expected,
                     std::max(0.0, 2.0 * found->spread + found->mean) * expected};
  };
  Totals& totals = account.totals;
  const auto [below_wh, above_wh] = widened("energy_wh", totals.energy_wh);
  totals.energy_low_wh = std::max(0.0, totals.energy_low_wh - below_wh);
  totals.energy_high_wh += above_wh;
  const auto [below_g, above_g] = widened("purge_g", totals.purge_g);
  totals.purge_low_g = std::max(0.0, totals.purge_low_g - below_g);
  totals.purge_high_g += above_g;
  const auto [less_s, more_s] = widened("time_of_print_s", totals.time_of_print.expected);
  totals.time_of_print.low = std::max(0.0, totals.time_of_print.low - less_s);
  totals.time_of_print.high += more_s;
  const auto [below_s, above_s] = widened("time_s", totals.time.expected);
  if (below_s + above_s == 0.0)
    return;
  totals.time.low = std::max(0.0, totals.time.low - below_s);
  totals.time.high += above_s;
  totals.time_band.push_back({"past-errors", below_s, above_s});
  std::stable_sort(totals.time_band.begin(), totals.time_band.end(),
                   [](const TimeBandCause& a, const TimeBandCause& b) {
                     return a.below_s + a.above_s > b.below_s + b.above_s;
                   });
}

}  // namespace platetally
