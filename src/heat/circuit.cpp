// Machines on one circuit.
//
// Cold start: each kind of machine heats its whole bed and all its heads from the room, then prints
// (axes moving, fans on). Its draw over time is kept as means of kSampleS seconds, which is what
// breakers and cables feel; starts are shifted against each other by whole samples, and the least
// shift is looked for at which no sample is above the continuous share.
//
// Burst: while printing, thermostats switch their heaters fully on and off, independently. A heater
// of P watts that needs h of them on average is on for h / P of the time; the sum of all heaters of
// all machines is then a sum of independent two-valued numbers, whose distribution is added up watt
// by watt. Range: heaters that switch slowly against each other's periods; a heater that is driven
// in many small pulses a second bursts less.
#include "platetally/circuit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "base/units.hpp"
#include "heat/simulate.hpp"
#include "platetally/made_from.hpp"

namespace platetally {

namespace {

constexpr double kSampleS = 5.0;
constexpr double kQuarterHourS = 900.0;
constexpr double kPrintS = 1800.0;
constexpr int kMostMachines = 100;
constexpr double kMostStaggerS = 7200.0;

/// Draw of one machine at the wall, by samples; the last one goes on.
struct Curve {
  std::vector<double> w;
  double heat_up_s = 0.0;
  double connected_load_w = 0.0;

  double at(std::ptrdiff_t sample) const {
    if (sample < 0)
      return 0.0;
    return w[std::min(static_cast<std::size_t>(sample), w.size() - 1)];
  }
};

timeline::HeatEvent event(timeline::HeatEventKind kind, interpreter::Heater heater, int tool,
                          double value) {
  timeline::HeatEvent made;
  made.kind = kind;
  made.heater = heater;
  made.tool = static_cast<std::int16_t>(tool);
  made.value = value;
  return made;
}

/// Bed and heads on, waited for, then `kPrintS` of printing.
timeline::HeatLog cold_start(const Machine& machine, double bed_c, double nozzle_c) {
  using timeline::HeatEventKind;
  using Which = interpreter::Heater;
  timeline::HeatLog log;
  log.events.push_back(event(HeatEventKind::set_heater, Which::bed, -1, bed_c));
  const auto tools = static_cast<int>(machine.tools.size());
  for (int tool = 0; tool < tools; ++tool)
    log.events.push_back(event(HeatEventKind::set_heater, Which::head, tool, nozzle_c));
  log.events.push_back(event(HeatEventKind::take_tool, Which::head, 0, 0.0));
  log.events.push_back(event(HeatEventKind::motors, Which::bed, 0, 1.0));
  log.events.push_back(event(HeatEventKind::wait_heater, Which::bed, -1, 0.0));
  for (int tool = 0; tool < tools; ++tool)
    log.events.push_back(event(HeatEventKind::wait_heater, Which::head, tool, 0.0));
  for (int sample = 0; sample < static_cast<int>(kPrintS / kSampleS); ++sample) {
    timeline::HeatEvent span = event(HeatEventKind::span, Which::bed, 0, 0.0);
    span.layer = 1;
    span.duration_s = kSampleS;
    span.moving_s = kSampleS;
    log.events.push_back(span);
  }
  const int tiles = machine.bed.rows * machine.bed.columns;
  log.footprint_by_layer.assign(2,
                                tiles >= 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << tiles) - 1);
  return log;
}

std::vector<Material> materials_of(const Machine& machine) {
  std::vector<Material> materials;
  for (const Tool& tool : machine.tools) {
    const Material* known = find_embedded_material(tool.material);
    materials.push_back(known != nullptr ? *known : *find_embedded_material("PLA"));
  }
  return materials;
}

Curve curve_of(const Machine& machine, const CircuitPlan& plan) {
  const double bed_c = std::min(plan.bed_c, machine.bed.maximum_c);
  double nozzle_c = plan.nozzle_c;
  for (const Head& head : machine.heads)
    nozzle_c = std::min(nozzle_c, head.maximum_c);
  const heat::HeatResult result =
      heat::run_heat(machine, materials_of(machine), cold_start(machine, bed_c, nozzle_c));
  Curve curve;
  curve.heat_up_s = result.wait_s;
  curve.connected_load_w = result.connected_load_w;
  for (const PowerSample& sample : result.power) {
    const double w = base::j_from_wh(sample.energy.sum_wh()) / std::max(sample.duration_s, 1e-9);
    const auto until =
        static_cast<std::size_t>(std::ceil((sample.start_s + sample.duration_s) / kSampleS - 1e-9));
    while (curve.w.size() < until)
      curve.w.push_back(w);
  }
  if (curve.w.empty())
    curve.w.push_back(machine.supply.idle_w);
  return curve;
}

double mean_printing_w(const Curve& curve) {
  const auto samples = std::min(curve.w.size(), static_cast<std::size_t>(600.0 / kSampleS));
  double sum = 0.0;
  for (std::size_t i = curve.w.size() - samples; i < curve.w.size(); ++i)
    sum += curve.w[i];
  return sum / static_cast<double>(samples);
}

/// All machines in the order of the plan, `shift` samples between their starts.
std::vector<double> joint(const std::vector<const Curve*>& starts, std::ptrdiff_t shift) {
  std::size_t longest = 0;
  for (const Curve* curve : starts)
    longest = std::max(longest, curve->w.size());
  const auto total =
      static_cast<std::ptrdiff_t>(longest) + shift * static_cast<std::ptrdiff_t>(starts.size());
  std::vector<double> sum(static_cast<std::size_t>(total), 0.0);
  for (std::size_t i = 0; i < starts.size(); ++i)
    for (std::ptrdiff_t sample = 0; sample < total; ++sample)
      sum[static_cast<std::size_t>(sample)] +=
          starts[i]->at(sample - shift * static_cast<std::ptrdiff_t>(i));
  return sum;
}

double highest(const std::vector<double>& w) {
  return *std::max_element(w.begin(), w.end());
}

double highest_quarter_hour(const std::vector<double>& w) {
  const auto window = static_cast<std::size_t>(kQuarterHourS / kSampleS);
  double sum = 0.0;
  double most = 0.0;
  for (std::size_t i = 0; i < w.size(); ++i) {
    sum += w[i];
    if (i >= window)
      sum -= w[i - window];
    if (i + 1 >= std::min(window, w.size()))
      most = std::max(most, sum / static_cast<double>(std::min(window, w.size())));
  }
  return most;
}

/// Distribution of the draw of heaters that switch fully: probability by whole watts.
class Burst {
 public:
  /// `count` heaters of `power_w`, each on for `duty` of the time.
  void add(double power_w, double duty, int count) {
    const auto step = static_cast<std::size_t>(std::lround(power_w));
    const double on = std::clamp(duty, 0.0, 1.0);
    for (int i = 0; i < count; ++i) {
      std::vector<double> next(probability_.size() + step, 0.0);
      for (std::size_t w = 0; w < probability_.size(); ++w) {
        next[w] += probability_[w] * (1.0 - on);
        next[w + step] += probability_[w] * on;
      }
      probability_ = std::move(next);
    }
  }
  void add_constant(double w) { constant_w_ += w; }
  double quantile(double share) const {
    double sum = 0.0;
    for (std::size_t w = 0; w < probability_.size(); ++w) {
      sum += probability_[w];
      if (sum >= share - 1e-12)
        return constant_w_ + static_cast<double>(w);
    }
    return constant_w_ + static_cast<double>(probability_.size() - 1);
  }

 private:
  std::vector<double> probability_{1.0};
  double constant_w_ = 0.0;
};

/// Heaters of one machine as they hold: at the wall, what is drawn in bursts and what is not. Which
/// heater takes how much follows from their shares of the energy while printing.
void add_burst(const Machine& machine, const Curve& curve, double bed_share, double heads_share,
               int count, Burst& burst) {
  const double mean_w = mean_printing_w(curve);
  const double up = 1.0 + machine.supply.loss_share;
  const double bed_up =
      machine.bed.supply == HeaterSupply::ac ? 1.0 / machine.supply.ac_efficiency : up;
  const int tiles = machine.bed.rows * machine.bed.columns;
  const double tile_w = machine.bed.tile_power_w * bed_up;
  burst.add(tile_w, bed_share * mean_w / (tiles * tile_w), tiles * count);
  double heads_w = 0.0;
  for (const Head& head : machine.heads)
    heads_w += head.power_w * up;
  for (const Head& head : machine.heads)
    burst.add(head.power_w * up, heads_share * mean_w / heads_w, count);
  burst.add_constant((1.0 - bed_share - heads_share) * mean_w * count);
}

struct Shares {
  double bed = 0.0;
  double heads = 0.0;
};

/// Of the draw while printing, with the losses of their conversion.
Shares shares_of(const Machine& machine, const CircuitPlan& plan) {
  const heat::HeatResult result = heat::run_heat(
      machine, materials_of(machine),
      cold_start(machine, std::min(plan.bed_c, machine.bed.maximum_c), plan.nozzle_c));
  EnergyBy late;
  double from_s = result.total_s - 600.0;
  for (const PowerSample& sample : result.power)
    if (sample.start_s >= from_s) {
      late.bed_wh += sample.energy.bed_wh;
      late.hot_ends_wh += sample.energy.hot_ends_wh;
      late.motors_wh += sample.energy.sum_wh();
    }
  const double total_wh = std::max(late.motors_wh, 1e-9);
  return {late.bed_wh / total_wh, late.hot_ends_wh / total_wh};
}

void require_sense(const CircuitPlan& plan) {
  int machines = 0;
  for (const CircuitMachines& entry : plan.machines) {
    if (entry.count < 1)
      throw std::invalid_argument(
          fmt::format("found {} of '{}'; expected 1 or more", entry.count, entry.machine.name));
    machines += entry.count;
  }
  if (machines < 1 || machines > kMostMachines)
    throw std::invalid_argument(
        fmt::format("found {} machines; expected 1 to {}", machines, kMostMachines));
  if (!(plan.volts >= 50.0 && plan.volts <= 1000.0 && plan.amps >= 1.0 && plan.amps <= 1000.0))
    throw std::invalid_argument(fmt::format(
        "found {} V and {} A; expected 50 to 1000 V and 1 to 1000 A", plan.volts, plan.amps));
  if (!(plan.continuous_share > 0.0 && plan.continuous_share <= 1.0))
    throw std::invalid_argument(
        fmt::format("found a continuous share of {}; expected 0 to 1", plan.continuous_share));
}

}  // namespace

CircuitReport plan_circuit(const CircuitPlan& plan) {
  require_sense(plan);
  CircuitReport report;
  report.circuit_w = plan.volts * plan.amps;
  report.continuous_w = report.circuit_w * plan.continuous_share;
  std::vector<Curve> curves;
  curves.reserve(plan.machines.size());
  std::vector<const Curve*> starts;
  Burst all;
  report.made_from.set("volts", fmt::format("{}", plan.volts));
  report.made_from.set("amps", fmt::format("{}", plan.amps));
  report.made_from.set("continuous_share", fmt::format("{}", plan.continuous_share));
  report.made_from.set("bed_c", fmt::format("{}", plan.bed_c));
  report.made_from.set("nozzle_c", fmt::format("{}", plan.nozzle_c));
  for (const CircuitMachines& entry : plan.machines) {
    report.made_from.add(used(entry.machine));
    const Curve& curve = curves.emplace_back(curve_of(entry.machine, plan));
    const Shares shares = shares_of(entry.machine, plan);
    Burst one;
    add_burst(entry.machine, curve, shares.bed, shares.heads, 1, one);
    add_burst(entry.machine, curve, shares.bed, shares.heads, entry.count, all);
    report.rows.push_back({entry.machine.name, entry.count, curve.connected_load_w,
                           highest(curve.w), curve.heat_up_s, mean_printing_w(curve),
                           one.quantile(0.99)});
    report.machines += entry.count;
    report.connected_load_w += curve.connected_load_w * entry.count;
    report.printing_w += mean_printing_w(curve) * entry.count;
    for (int i = 0; i < entry.count; ++i)
      starts.push_back(&curve);
  }
  report.burst_95_w = all.quantile(0.95);
  report.burst_99_w = all.quantile(0.99);
  const std::vector<double> together = joint(starts, 0);
  report.together_peak_w = highest(together);
  report.together_quarter_hour_w = highest_quarter_hour(together);
  report.staggered_peak_w = report.together_peak_w;
  report.staggered_quarter_hour_w = report.together_quarter_hour_w;
  for (std::ptrdiff_t shift = 0; static_cast<double>(shift) * kSampleS <= kMostStaggerS; ++shift) {
    const std::vector<double> staggered = joint(starts, shift);
    if (highest(staggered) > report.continuous_w)
      continue;
    report.stagger_s = static_cast<double>(shift) * kSampleS;
    report.staggered_peak_w = highest(staggered);
    report.staggered_quarter_hour_w = highest_quarter_hour(staggered);
    break;
  }
  return report;
}

}  // namespace platetally
