// One machine fitted to all that is known of it: changes, prints, logs.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <map>
#include <stdexcept>

#include "account/join/heat_input.hpp"
#include "meter/calibrate/print_fit.hpp"
#include "platetally/calibrate.hpp"

namespace platetally {

namespace {

using calibrate::MeasuredPrint;
using calibrate::PrintStage;
using calibrate::TimedPlate;

constexpr std::size_t kMostBytesKept = std::size_t{4} << 30;

/// Below the file's folder if it is there, else as written.
std::string place_of(const std::string& plate, const std::string& prints_path) {
  const std::filesystem::path written(plate);
  const std::filesystem::path beside = std::filesystem::path(prints_path).parent_path() / written;
  std::error_code error;
  return written.is_relative() && std::filesystem::exists(beside, error) ? beside.string() : plate;
}

/// The prints of a file with their plates.
class Prints {
 public:
  Prints(const Machine& machine, const FinishedPrints& file, const AnalyzeOptions& analyze)
      : file_(file), before_(machine), analyze_(analyze) {
    for (const FinishedPrint& print : file.prints)
      read(print);
    for (const std::string& path : paths_)
      plates_used_.push_back({path, content_hash(path).value_or("")});
    if (plate_of_.empty())
      throw std::invalid_argument(
          fmt::format("{}: none of its plates can be read: {}", file.path, notes_.front()));
    read_before();
  }

  bool has_times() const { return !times_.empty(); }
  bool has_energies() const { return !energies_.empty(); }
  bool has_weights() const { return !weights_.empty(); }
  bool has_starts() const {
    return std::any_of(times_.begin(), times_.end(), [](const MeasuredPrint& one) {
      return one.print->span == PrintSpan::start;
    });
  }

  PrintStage fit_times(const Machine& machine) const;
  PrintStage fit_energies(const Machine& machine, const CalibrationReport* logs) const {
    // The print on the machine whose times are right by now.
    return calibrate::fit_energies(machine, heat_on(machine), energies_, file_.energy_step_wh,
                                   logs);
  }
  PrintStage fit_weights(const Machine& machine) const {
    std::vector<calibrate::PlateWeight> weights;
    for (const std::string& path : paths_)
      weights.push_back(weight_of(path, machine));
    return calibrate::fit_weights(machine, weights, weights_);
  }
  const std::vector<std::string>& notes() const { return notes_; }
  const std::vector<PlateUsed>& plates_used() const { return plates_used_; }

 private:
  void read(const FinishedPrint& print);
  void read_before();
  std::vector<HeatInput> heat_on(const Machine& machine) const;
  double grams_of(const std::string& path, Machine machine, double hidden_mm3) const;
  calibrate::PlateWeight weight_of(const std::string& path, const Machine& machine) const;

  const FinishedPrints& file_;
  const Machine& before_;
  const AnalyzeOptions& analyze_;
  std::map<std::string, std::size_t> plate_of_;
  std::map<std::string, std::string> unreadable_;
  std::vector<std::string> paths_;
  std::vector<PlateUsed> plates_used_;
  std::vector<TimedPlate> plates_;
  std::vector<MeasuredPrint> times_;
  std::vector<MeasuredPrint> energies_;
  std::vector<MeasuredPrint> weights_;
  std::size_t bytes_ = 0;
  std::vector<std::string> notes_;
};

void Prints::read(const FinishedPrint& print) {
  const std::string path = place_of(print.plate, file_.path);
  if (unreadable_.contains(path))
    return;
  if (!plate_of_.contains(path)) {
    try {
      plates_.emplace_back(path, before_);
    } catch (const UnreadablePlate& error) {
      unreadable_[path] = error.what();
      notes_.push_back(fmt::format("{}:{}: left out: {}", file_.path, print.line, error.what()));
      return;
    }
    bytes_ += plates_.back().bytes();
    if (bytes_ > kMostBytesKept)
      throw std::invalid_argument(fmt::format(
          "{}:{}: the plates up to here take more than 4 GiB; expected fewer or smaller ones",
          file_.path, print.line));
    plate_of_[path] = paths_.size();
    paths_.push_back(path);
  }
  const std::size_t plate = plate_of_[path];
  if (print.seconds)
    times_.push_back({&print, plate, 0.0});
  if (print.energy_wh)
    energies_.push_back({&print, plate, 0.0});
  if (print.grams)
    weights_.push_back({&print, plate, 0.0});
}

/// Heat waits depend on what the machine does before the first line: once more with those of the
/// machine that was found, until they stay.
PrintStage Prints::fit_times(const Machine& machine) const {
  constexpr int kMostRounds = 4;
  constexpr double kSame_s = 1.0;
  std::vector<double> waits_s(plates_.size(), 0.0);
  if (has_starts())
    waits_s = calibrate::heat_waits_s(machine, heat_on(machine));
  PrintStage stage;
  for (int round = 0; round < kMostRounds; ++round) {
    stage = calibrate::fit_times(machine, plates_, paths_, waits_s, times_, file_.seconds_step_s);
    if (!has_starts())
      break;
    const std::vector<double> now_s =
        calibrate::heat_waits_s(stage.machine, heat_on(stage.machine));
    const bool same = std::equal(now_s.begin(), now_s.end(), waits_s.begin(),
                                 [](double a, double b) { return std::abs(a - b) < kSame_s; });
    if (same)
      break;
    waits_s = now_s;
  }
  return stage;
}

std::vector<HeatInput> Prints::heat_on(const Machine& machine) const {
  std::vector<HeatInput> heat;
  for (const std::string& path : paths_)
    heat.push_back(heat_input_of(path, machine, analyze_));
  return heat;
}

double Prints::grams_of(const std::string& path, Machine machine, double hidden_mm3) const {
  machine.swap.hidden_purge_mm3 = hidden_mm3;
  HeatInput unused;
  const Totals totals = analyze_file_keeping(path, machine, analyze_, unused).totals;
  return totals.part_g + totals.purge_g + totals.start_up_g;
}

calibrate::PlateWeight Prints::weight_of(const std::string& path, const Machine& machine) const {
  constexpr double kSome_mm3 = 100.0;  // grams grow evenly with it
  const double grams = grams_of(path, machine, 0.0);
  return {grams, (grams_of(path, machine, kSome_mm3) - grams) / kSome_mm3};
}

/// What the machine predicts as it was.
void Prints::read_before() {
  const std::vector<calibrate::PlateTimes> times = calibrate::times_of(plates_, before_);
  std::erase_if(times_, [&](const MeasuredPrint& one) {
    const bool no_extrusion =
        one.print->span == PrintSpan::first_extrusion && times[one.plate].of_print_s <= 0.0;
    if (no_extrusion)
      notes_.push_back(
          fmt::format("{}:{}: left out: the plate extrudes nothing", file_.path, one.print->line));
    return no_extrusion;
  });
  std::vector<double> waits_s(plates_.size(), 0.0), energies_wh(plates_.size(), 0.0);
  if (has_energies() || has_starts())
    for (std::size_t i = 0; i < paths_.size(); ++i) {
      HeatInput unused;
      const Account account = analyze_file_keeping(paths_[i], before_, analyze_, unused);
      waits_s[i] = account.totals.time_by.heat_wait_s;
      energies_wh[i] = account.totals.energy_wh;
    }
  for (MeasuredPrint& one : times_)
    one.before = one.print->span == PrintSpan::first_extrusion
                     ? times[one.plate].of_print_s
                     : times[one.plate].all_s + waits_s[one.plate];
  for (MeasuredPrint& one : energies_)
    one.before = energies_wh[one.plate];
  for (MeasuredPrint& one : weights_)
    one.before = grams_of(paths_[one.plate], before_, before_.swap.hidden_purge_mm3);
}

/// `machine` with everything that only time depends on from `other`.
Machine with_times_of(const Machine& other, Machine machine) {
  machine.motion = other.motion;
  machine.swap = other.swap;
  machine.procedures = other.procedures;
  return machine;
}

void take(PrintStage stage, CalibrationReport& report, PrintsFit& prints) {
  for (FittedParameter& one : stage.fitted) {
    // Prints know more of an entry than the logs alone, whose word they had.
    const auto known =
        std::find_if(report.fitted.begin(), report.fitted.end(),
                     [&](const FittedParameter& other) { return other.key == one.key; });
    if (known != report.fitted.end())
      *known = std::move(one);
    else
      report.fitted.push_back(std::move(one));
  }
  for (UnfittedParameter& one : stage.not_told) {
    const auto is_same = [&](const auto& other) { return other.key == one.key; };
    if (std::none_of(report.fitted.begin(), report.fitted.end(), is_same) &&
        std::none_of(report.not_identifiable.begin(), report.not_identifiable.end(), is_same))
      report.not_identifiable.push_back(std::move(one));
  }
  std::erase_if(report.not_identifiable, [&](const UnfittedParameter& one) {
    return std::any_of(report.fitted.begin(), report.fitted.end(),
                       [&](const FittedParameter& other) { return other.key == one.key; });
  });
  prints.errors.push_back(stage.errors);
  prints.outcomes.insert(prints.outcomes.end(), stage.outcomes.begin(), stage.outcomes.end());
  report.notes.insert(report.notes.end(), stage.notes.begin(), stage.notes.end());
  report.converged = report.converged && stage.converged;
}

}  // namespace

CalibrationReport calibrate_machine(const Machine& machine, const CalibrationEvidence& evidence,
                                    const CalibrationOptions& options) {
  if (evidence.logs.empty() && !evidence.prints && !evidence.changes)
    throw std::invalid_argument("expected logs, finished prints or counted changes");
  AnalyzeOptions analyze;
  analyze.threads = 1;
  analyze.materials = options.materials;
  materials_of(machine, analyze);  // a machine that is not sound is said before any work
  CalibrationReport report;
  report.machine = evidence.changes ? with_changes(machine, *evidence.changes) : machine;
  report.converged = true;
  const Machine counted = report.machine;
  std::optional<Prints> prints;
  PrintsFit fit;
  std::optional<PrintStage> times;
  if (evidence.prints) {
    prints.emplace(counted, *evidence.prints, analyze);
    fit.path = evidence.prints->path;
    fit.hash = evidence.prints->hash;
  }
  if (prints && prints->has_times())
    times = prints->fit_times(counted);
  if (!evidence.logs.empty())
    report = calibrate_machine(times ? times->machine : counted, evidence.logs, options);
  else if (times)
    report.machine = times->machine;
  std::optional<PrintStage> energies;
  if (prints && prints->has_energies()) {
    energies = prints->fit_energies(report.machine, evidence.logs.empty() ? nullptr : &report);
    report.machine = energies->machine;
  }
  if (times && prints->has_starts() && (energies || !evidence.logs.empty()))
    times = prints->fit_times(with_times_of(counted, report.machine));  // waits last otherwise now
  if (times) {
    report.machine = with_times_of(times->machine, report.machine);
    take(std::move(*times), report, fit);
  }
  if (energies)
    take(std::move(*energies), report, fit);
  if (prints && prints->has_weights()) {
    PrintStage weights = prints->fit_weights(report.machine);
    report.machine = weights.machine;
    take(std::move(weights), report, fit);
  }
  report.changes = evidence.changes;
  report.made_from.machines = {used(machine)};  // as it was before changes were counted
  if (!options.materials.empty())
    report.made_from.set("materials", materials_hash(options.materials));
  if (evidence.changes)
    report.made_from.set("changes", evidence.changes->hash);
  if (prints) {
    report.made_from.set("prints", fit.hash);
    for (const PlateUsed& plate : prints->plates_used())
      report.made_from.add(plate);
    report.notes.insert(report.notes.end(), prints->notes().begin(), prints->notes().end());
    report.prints = std::move(fit);
  }
  return report;
}

}  // namespace platetally
