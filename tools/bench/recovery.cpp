// recovery [SEEDS] [MACHINE] [SECONDS]   how often the truth lies in the 95 % intervals of a
// calibration, over seeds, with a plug that is off by 1 W, samples every 1 s and 10 s, and one
// sample of a hundred far off; and how near the energy of a plate comes that the calibration has
// not seen. Figures of record: docs/methods-meter.md.
#include <fmt/format.h>

#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <map>
#include <numeric>

#include "calibrate/experiment.hpp"
#include "calibrate/parameters.hpp"
#include "heat/run.hpp"
#include "heat_input.hpp"
#include "platetally/analyze.hpp"
#include "platetally/calibrate.hpp"
#include "support/synthetic_log.hpp"

namespace {

using namespace platetally;

Machine embedded(const std::string& name) {
  return load_machine(name).machine;
}

constexpr double kNormal95 = 1.959964;  // two-sided, of the normal distribution

/// The machine as it really is: every parameter off by up to 20 percent.
Machine truth_of(Machine machine, unsigned seed) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> off(0.85, 1.2);
  for (const calibrate::Parameter& parameter : calibrate::parameters())
    parameter.set(machine, parameter.get(machine) * off(random));
  return machine;
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
    const std::string plan = measuring_plan(start);
    std::ofstream(plan_path) << plan;
    for (const double interval_s : intervals_s) {
      std::map<std::string, int> inside;
      std::map<std::string, int> fitted;
      // Sums of the error, its square, half the interval, squared deviations by the interval's own.
      std::map<std::string, std::array<double, 4>> shares;
      double worst_energy = 0.0;
      double sum_energy = 0.0;
      for (int seed = 1; seed <= seeds; ++seed) {
        const Machine truth = truth_of(start, 1000U + static_cast<unsigned>(seed));
        test::PlugFaults faults;
        faults.interval_s = interval_s;
        faults.idle_w = truth.supply.idle_w;
        // Steps of the truth as fine as the model's.
        HeatInput input = heat_input_of(plan_path, truth, {});
        calibrate::split_spans(input.log);
        const std::string text =
            test::synthetic_log(heat::run_heat(truth, input.materials, input.log).power, faults,
                                static_cast<unsigned>(seed));
        const CalibrationReport report =
            calibrate_machine(start, {{parse_meter_log(text, "log"), "plate=" + plan_path}}, {});
        for (const FittedParameter& one : report.fitted)
          for (const calibrate::Parameter& parameter : calibrate::parameters())
            if (parameter.key == one.key) {
              ++fitted[one.key];
              const double value = parameter.get(truth);
              const double error = one.value / value - 1.0;
              shares[one.key][0] += error;
              shares[one.key][1] += error * error;
              shares[one.key][2] += 0.5 * (one.high - one.low) / value;
              const double half = 0.5 * std::log(one.high / one.low) / kNormal95;
              shares[one.key][3] += std::pow(std::log(one.value / value) / half, 2);
              inside[one.key] += value >= one.low && value <= one.high;
            }
        // An unseen plate; what the plan cannot tell (motors) is as in the truth.
        Machine found = report.machine;
        found.supply.motors_holding_w = truth.supply.motors_holding_w;
        found.supply.motors_moving_w = truth.supply.motors_moving_w;
        const std::string plate = "testdata/demo/labels.gcode.gz";
        const double true_wh = analyze_file(plate, truth).totals.energy_wh;
        const double error = std::abs(analyze_file(plate, found).totals.energy_wh / true_wh - 1.0);
        worst_energy = std::max(worst_energy, error);
        sum_energy += error;
      }
      fmt::print(
          "{} every {:g} s, {} seeds: energy of an unseen plate off by {:.2f} % in the mean, "
          "{:.2f} % at worst\n",
          name, interval_s, seeds, 100.0 * sum_energy / seeds, 100.0 * worst_energy);
      for (const auto& [key, count] : fitted)
        fmt::print(
            "  {:<34} fitted {:3}, inside its interval {:3}; off by {:+.3f} % in the mean, {:.3f} "
            "% rms; "
            "interval +-{:.3f} %; {:.2f} deviations rms\n",
            key, count, inside[key], 100.0 * shares[key][0] / count,
            100.0 * std::sqrt(shares[key][1] / count), 100.0 * shares[key][2] / count,
            std::sqrt(shares[key][3] / count));
      std::fflush(stdout);
    }
  }
  return 0;
}
