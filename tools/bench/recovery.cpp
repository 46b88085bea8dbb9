// recovery [SEEDS] [MACHINE] [SECONDS]   how often the truth lies in the 95 % intervals of a
// calibration, over seeds, with a plug that is off by 1 W, samples every 1 s and 10 s, and one
// sample of a hundred far off; and how near the energy of a plate comes that the calibration has
// not seen. Figures of record: docs/methods-meter.md.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <map>
#include <string>
#include <vector>

#include "account/join/heat_input.hpp"
#include "heat/simulate.hpp"
#include "meter/calibrate/experiment.hpp"
#include "meter/calibrate/parameters.hpp"
#include "platetally/analyze.hpp"
#include "platetally/calibrate.hpp"
#include "support/synthetic_log.hpp"

namespace {

using namespace platetally;

Machine embedded(const std::string& name) {
  return load_machine(name).machine();
}

constexpr double kNormal95 = 1.959964;  // two-sided, of the normal distribution

/// The machine as it really is: every parameter off by up to 20 percent.
Machine truth_of(Machine machine, unsigned seed) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> off(0.85, 1.2);
  for (const std::size_t k : calibrate::applicable(machine)) {
    const calibrate::Parameter& parameter = calibrate::parameters()[k];
    parameter.set(machine, parameter.get(machine) * off(random));
  }
  return machine;
}

/// What the seeds have shown of one entry.
struct Found {
  int fitted = 0;
  int inside = 0;
  double error = 0.0;  ///< sums, of shares
  double error_square = 0.0;
  double half_interval = 0.0;
  double by_deviation = 0.0;  ///< squared, by the interval's own deviation

  void add(const FittedParameter& one, double truth) {
    const double off = one.value / truth - 1.0;
    const double deviation = 0.5 * std::log(one.high / one.low) / kNormal95;
    ++fitted;
    inside += truth >= one.low && truth <= one.high;
    error += off;
    error_square += off * off;
    half_interval += 0.5 * (one.high - one.low) / truth;
    by_deviation += std::pow(std::log(one.value / truth) / deviation, 2);
  }
};

struct Tried {
  std::map<std::string, Found> entries;
  double worst_energy = 0.0;
  double sum_energy = 0.0;
};

/// One machine as it might really be, seen by one plug.
void try_seed(const Machine& start, const std::string& plan_path, double interval_s, int seed,
              Tried& tried) {
  const Machine truth = truth_of(start, 1000U + static_cast<unsigned>(seed));
  test::PlugFaults faults;
  faults.interval_s = interval_s;
  faults.idle_w = truth.supply.idle_w;
  const HeatInput input = heat_input_of(plan_path, truth, {});
  const std::string text = test::synthetic_log(
      heat::run_heat(truth, input.materials, input.log).power, faults, static_cast<unsigned>(seed));
  CalibrationOptions one_day;  // the truth does not differ from day to day
  one_day.day_spread = 0.0;
  const CalibrationReport report =
      calibrate_machine(start, {{parse_meter_log(text, "log"), "plate=" + plan_path}}, one_day);
  for (const FittedParameter& one : report.fitted)
    for (const calibrate::Parameter& parameter : calibrate::parameters())
      if (parameter.key == one.key) {
        const double true_value = parameter.get(truth);
        tried.entries[one.key].add(one, true_value);
        if (true_value < one.low || true_value > one.high)
          fmt::print(stderr, "seed {}: {} off by {:+.2f} %, interval {:+.2f} to {:+.2f} %\n", seed,
                     one.key, 100.0 * (one.value / true_value - 1.0),
                     100.0 * (one.low / one.value - 1.0), 100.0 * (one.high / one.value - 1.0));
      }
  // An unseen plate; what the plan cannot tell (motors) is as in the truth.
  Machine found = report.machine;
  found.supply.motors_holding_w = truth.supply.motors_holding_w;
  found.supply.motors_moving_w = truth.supply.motors_moving_w;
  const std::string plate = "testdata/demo/labels.gcode.gz";
  const double true_wh = analyze_file(plate, truth).totals.energy_wh;
  const double error = std::abs(analyze_file(plate, found).totals.energy_wh / true_wh - 1.0);
  tried.worst_energy = std::max(tried.worst_energy, error);
  tried.sum_energy += error;
}

void print(const std::string& name, double interval_s, int seeds, const Tried& tried) {
  fmt::print(
      "{} every {:g} s, {} seeds: energy of an unseen plate off by {:.2f} % in the mean, {:.2f} % "
      "at "
      "worst\n",
      name, interval_s, seeds, 100.0 * tried.sum_energy / seeds, 100.0 * tried.worst_energy);
  for (const auto& [key, found] : tried.entries)
    fmt::print(
        "  {:<34} fitted {:3}, inside its interval {:3}; off by {:+.3f} % in the mean, {:.3f} % "
        "rms; interval +-{:.3f} %; {:.2f} deviations rms\n",
        key, found.fitted, found.inside, 100.0 * found.error / found.fitted,
        100.0 * std::sqrt(found.error_square / found.fitted),
        100.0 * found.half_interval / found.fitted, std::sqrt(found.by_deviation / found.fitted));
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  const int seeds = argc > 1 ? std::atoi(argv[1]) : 100;
  const std::string plan_path = "/tmp/platetally-recovery-plan-" +
                                std::string(argc > 2 ? argv[2] : "all") +
                                (argc > 3 ? argv[3] : "") + ".gcode";
  // Of the two intervals, one alone if asked for.
  std::vector<double> intervals_s{1.0, 10.0};
  if (argc > 3)
    intervals_s = {std::atof(argv[3])};
  std::vector<std::string> names{"changer-5", "switcher-4"};
  if (argc > 2)
    names = {argv[2]};
  for (const std::string& name : names) {
    const Machine start = embedded(name);
    std::ofstream(plan_path) << measuring_plan(start);
    for (const double interval_s : intervals_s) {
      Tried tried;
      for (int seed = 1; seed <= seeds; ++seed)
        try_seed(start, plan_path, interval_s, seed, tried);
      print(name, interval_s, seeds, tried);
    }
  }
  return 0;
}
