// The band is that of an ordinary print: what is left open of each entry, by how much it moves that
// print's energy; and what no entry explains, of which another print is another draw.
//
// Prints say the latter twice. Once as the spread that the fit found, which follows the middle of
// them; and once as the errors of plates that were left out of the fit, which count a plate of
// another kind as what it is. The wider of the two is the band: (spread^2 + g' C g) with g the
// slope of the print's energy and C the covariance of all entries, or the mean square of the
// errors, each with Student's t for as many plates as there are and what is usual beforehand.
#include "meter/calibrate/energy_band.hpp"

#include <algorithm>
#include <cmath>

#include "base/units.hpp"
#include "heat/simulate.hpp"
#include "meter/calibrate/parameters.hpp"
#include "meter/calibrate/statistics.hpp"
#include "meter/calibrate/windows.hpp"

namespace platetally::calibrate {

namespace {

/// An ordinary print, for what a machine's description leaves open: two hours at 60 and 215 degC.
timeline::HeatLog ordinary_print() {
  using timeline::HeatEvent;
  using timeline::HeatEventKind;
  timeline::HeatLog log;
  const auto add = [&](HeatEventKind kind, interpreter::Heater heater, double value) {
    HeatEvent event;
    event.kind = kind;
    event.heater = heater;
    event.tool = 0;
    event.value = value;
    log.events.push_back(event);
  };
  add(HeatEventKind::take_tool, interpreter::Heater::head, 0.0);
  add(HeatEventKind::set_heater, interpreter::Heater::bed, 60.0);
  add(HeatEventKind::set_heater, interpreter::Heater::head, 215.0);
  add(HeatEventKind::wait_heater, interpreter::Heater::bed, 0.0);
  add(HeatEventKind::wait_heater, interpreter::Heater::head, 0.0);
  add(HeatEventKind::set_fan, interpreter::Heater::bed, 1.0);
  HeatEvent span;
  span.tool = 0;
  span.layer = 1;
  span.duration_s = span.moving_s = 2.0 * base::kSecondsPerHour;
  span.volume_mm3 = 3.0 * span.duration_s;
  log.events.push_back(span);
  return log;
}

/// Its energy on a machine.
class OrdinaryPrint {
 public:
  explicit OrdinaryPrint(const std::vector<Material>& materials) : materials_(materials) {}
  double energy_wh(const Machine& machine) const {
    return heat::run_heat(machine, materials_, print_).energy.sum_wh();
  }

 private:
  const std::vector<Material>& materials_;
  timeline::HeatLog print_ = ordinary_print();
};

/// 95 of 100 errors of plates that were left out lie within this; those that disagree by far count
/// as little as they did in the fit.
double band_of_left_out(const FitProblem& problem, const RobustFit& fit) {
  double plates = kUsualWorth;
  double squares = kUsualWorth * problem.usual_spread * problem.usual_spread;
  for (std::size_t i = 0; i < problem.measured.size(); ++i) {
    const Measured& one = problem.measured[i];
    const double repeats = static_cast<double>(
        std::count_if(problem.measured.begin(), problem.measured.end(),
                      [&](const Measured& other) { return other.plate == one.plate; }));
    const auto row = static_cast<Eigen::Index>(i);
    const double counts = fit.weight[row] / repeats;
    plates += counts;
    squares += counts * std::pow(fit.left_out[row] - one.log_value, 2);
  }
  return half_95_of(plates) * std::sqrt(squares / plates);
}

}  // namespace

double band_of_logs(const Machine& machine, const std::vector<Material>& materials,
                    const std::vector<std::size_t>& chosen, const Eigen::MatrixXd& known,
                    double day_spread, double off) {
  const OrdinaryPrint print(materials);
  const double whole_wh = print.energy_wh(machine);
  Eigen::VectorXd slopes = Eigen::VectorXd::Zero(known.rows());
  double variance = off * off;
  for (const std::size_t k : applicable(machine)) {
    const Parameter& parameter = parameters()[k];
    Machine more = machine;
    parameter.set(more, parameter.get(machine) * std::exp(Windows::kStep));
    const double slope = (print.energy_wh(more) / whole_wh - 1.0) / Windows::kStep;
    const auto found = std::find(chosen.begin(), chosen.end(), k);
    if (found != chosen.end())
      slopes[found - chosen.begin()] = slope;
    else
      variance += std::pow(slope * parameter.prior, 2);
    variance += std::pow(slope * day_spread, 2);
  }
  variance += slopes.dot(known * slopes);
  return std::min(1.0, kHalf95 * std::sqrt(variance));
}

double band_of_prints(const Machine& machine, const std::vector<Material>& materials,
                      const std::vector<PrintEntry>& entries, const FitProblem& problem,
                      const RobustFit& fit) {
  const OrdinaryPrint print(materials);
  const double log_wh = std::log(print.energy_wh(machine));
  Eigen::VectorXd slopes(fit.x.size());
  for (std::size_t k = 0; k < entries.size(); ++k) {
    const auto row = static_cast<Eigen::Index>(k);
    const FitEntry& entry = problem.entries[k];
    const double at = std::clamp(fit.x[row], entry.low, entry.high);
    const double there = at + (at + entry.step <= entry.high ? entry.step : -entry.step);
    Machine other = machine;
    entries[k].set(other, entries[k].value(there));
    slopes[row] = (std::log(print.energy_wh(other)) - log_wh) / (there - at);
  }
  const double left_open = std::max(0.0, slopes.dot(fit.covariance * slopes));
  const double of_model = half_95_of(fit.freedom) * std::sqrt(fit.spread * fit.spread + left_open);
  const bool has_left_out =
      std::any_of(problem.measured.begin(), problem.measured.end(),
                  [&](const Measured& one) { return one.plate != problem.measured.front().plate; });
  return std::min(1.0,
                  has_left_out ? std::max(of_model, band_of_left_out(problem, fit)) : of_model);
}

}  // namespace platetally::calibrate
