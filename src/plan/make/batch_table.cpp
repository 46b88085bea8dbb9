// A plate is read once for each machine and kept; copies are variants of it. How many copies are
// tried: every number up to 8, every even division of what is wanted (all on one plate, on two, on
// three, ...), the most that find room, and what those leave over.
#include "plan/make/batch_table.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <memory>
#include <optional>
#include <tuple>

#include "account/findings/verdict.hpp"
#include "account/whatif/replan.hpp"
#include "base/run_each.hpp"
#include "base/units.hpp"
#include "material/swaps/colour.hpp"
#include "plan/solve/problem.hpp"
#include "platetally/analyze.hpp"
#include "platetally/plate.hpp"
#include "platetally/variant.hpp"

namespace platetally::plan {

namespace {

constexpr int kEveryUpTo = 8;
constexpr int kMostOnAPlate = 1000;  // of the what-if

/// What the account of a batch leaves behind.
struct Tallied {
  int times = 1;
  Account account;  ///< without its layers, visits and findings
};

/// All of a plate on a machine; jobs of the same plate share it.
struct PlateOnMachine {
  std::vector<Tallied> tallied;
  std::string impossible;  ///< why it cannot be printed there at all
  int room_for = 0;        ///< times; 0: not reached
  bool replanned = false;
  std::vector<std::string> assumed;
  std::vector<PlateUsed> read;
};

using Key = std::tuple<std::string, std::size_t, std::size_t, std::vector<std::string>>;

struct Wanted {
  std::set<int> times;
  int most = 1;
};

std::vector<std::string> known_colours(const std::vector<std::string>& colours) {
  std::vector<std::string> known;
  for (const std::string& colour : colours)
    known.push_back(swaps::parse_colour(colour) ? colour : "");
  return known;
}

int plates_for(const QueueJob& job) {
  return (job.copies + job.parts - 1) / job.parts;
}

int most_times(const QueueJob& job) {
  const int most = job.most_parts > 0 ? job.most_parts / job.parts : kMostOnAPlate;
  return std::clamp(plates_for(job), 1, most);
}

Wanted wanted_by(const QueueJob& job) {
  Wanted wanted;
  const int plates = plates_for(job);
  wanted.most = most_times(job);
  for (int times = 1; times <= std::min(wanted.most, kEveryUpTo); ++times)
    wanted.times.insert(times);
  for (int on = 1; on <= plates; ++on)
    wanted.times.insert(std::min((plates + on - 1) / on, wanted.most));
  return wanted;
}

class Tallier {
 public:
  Tallier(const Queue& queue, const Key& key, Wanted wanted)
      : queue_(queue), key_(key), wanted_(std::move(wanted)) {}

  PlateOnMachine tally();

 private:
  bool try_times(int times);
  void find_room();
  const Machine& machine() const { return queue_.machines[std::get<1>(key_)].machine; }

  const Queue& queue_;
  const Key& key_;
  Wanted wanted_;
  std::optional<Plate> plate_;
  PlateOnMachine result_;
  int fits_ = 1;
  int too_many_ = 0;     ///< 0: not met
  std::string why_not_;  ///< of the last that could not be played
};

/// False: there is no room.
bool Tallier::try_times(int times) {
  Variant variant;
  variant.repeat = times;
  const Machine& sliced_for = queue_.machines[std::get<2>(key_)].machine;
  Tallied tallied{times, {}};
  if (!whatif::swaps_alike(plate_->account(), sliced_for, machine())) {
    result_.replanned = true;
    result_.assumed.clear();
    try {
      tallied.account = whatif::replan(plate_->kept(), variant, result_.assumed);
    } catch (const UnreadablePlate& error) {
      why_not_ = error.what();
      return false;
    }
    tallied.account.verdict = findings::judge(tallied.account, machine());
  } else if (times == 1) {
    tallied.account = plate_->account();
  } else {
    Played played = plate_->play(variant);
    if (!played.ok()) {
      why_not_ = played.impossible;
      return false;
    }
    tallied.account = std::move(played.account);
  }
  Account& account = tallied.account;
  account.layers.clear();
  account.visits.clear();
  account.bed_picture = {};
  result_.tallied.push_back(std::move(tallied));
  return true;
}

/// The most that find room, by halving, and what they leave over.
void Tallier::find_room() {
  while (too_many_ - fits_ > 1) {
    const int middle = fits_ + (too_many_ - fits_) / 2;
    (try_times(middle) ? fits_ : too_many_) = middle;
  }
  result_.room_for = fits_;
  const int left = *wanted_.times.rbegin() % fits_;
  if (left > 0)
    try_times(left);
}

PlateOnMachine Tallier::tally() {
  AnalyzeOptions options;
  options.threads = 1;
  options.findings = false;
  options.tool_colours = known_colours(std::get<3>(key_));
  options.tool_colours.resize(std::min(options.tool_colours.size(), machine().tools.size()));
  try {
    plate_ = keep_plate(std::get<0>(key_), machine(), options);
    result_.read = plate_->account().made_from.plates;
  } catch (const UnreadablePlate& error) {
    result_.impossible = error.what();
    return std::move(result_);
  }
  for (const int times : wanted_.times) {
    if (try_times(times)) {
      fits_ = times;
    } else {
      too_many_ = times;
      break;
    }
    const Account& account = result_.tallied.back().account;
    if (account.verdict.grade == Grade::cannot) {
      std::vector<std::string> reasons;
      for (const VerdictReason& reason : account.verdict.reasons)
        if (reason.grade == Grade::cannot)
          reasons.push_back(reason.text);
      result_.impossible = fmt::format("{}", fmt::join(reasons, "; "));
      return std::move(result_);
    }
  }
  if (result_.tallied.empty()) {
    result_.impossible = why_not_;
    return std::move(result_);
  }
  if (too_many_ > 0)
    find_room();
  std::ranges::sort(result_.tallied, {}, &Tallied::times);
  const auto same = std::ranges::unique(result_.tallied, {}, &Tallied::times);
  result_.tallied.erase(same.begin(), same.end());
  return std::move(result_);
}

/// Power in steps, each the highest of the samples that lie in it, stretched to the print's time.
std::vector<double> power_of(const Account& account, double print_s) {
  double sampled_s = 0.0;
  for (const PowerSample& sample : account.power)
    sampled_s += sample.duration_s;
  const auto steps = static_cast<std::size_t>(print_s / solve::kPowerStep_s) + 1;
  std::vector<double> power_w(steps, sampled_s > 0.0 ? 0.0 : account.totals.peak_power_w);
  const double stretch = sampled_s > 0.0 ? print_s / sampled_s : 1.0;
  double at_s = 0.0;
  for (const PowerSample& sample : account.power) {
    const double until_s = at_s + sample.duration_s * stretch;
    const double mean_w =
        sample.duration_s > 0.0 ? base::j_from_wh(sample.energy.sum_wh()) / sample.duration_s : 0.0;
    for (auto step = static_cast<std::size_t>(at_s / solve::kPowerStep_s);
         step < steps && static_cast<double>(step) * solve::kPowerStep_s < until_s; ++step)
      power_w[step] = std::max(power_w[step], mean_w);
    at_s = until_s;
  }
  return power_w;
}

TriedBatch batch_of(const Queue& queue, std::size_t job, std::size_t machine,
                    const PlateOnMachine& plate, const Tallied& tallied) {
  const QueueMachine& on = queue.machines[machine];
  const Totals& totals = tallied.account.totals;
  TriedBatch batch;
  BatchRow& row = batch.row;
  row.job = job;
  row.machine = machine;
  row.times = tallied.times;
  row.parts = tallied.times * queue.jobs[job].parts;
  row.replanned = plate.replanned;
  row.time_s = totals.time.expected;
  row.swaps = totals.swaps;
  row.purge_g = totals.purge_g + totals.start_up_g;
  row.energy_wh = totals.energy_wh;
  batch.part_g = totals.part_g;
  batch.swap_s = totals.time_by.swap_s;
  batch.power_w = power_of(tallied.account, row.time_s);
  const std::optional<Prices>& prices = on.prices ? on.prices : queue.prices;
  if (!prices)
    return batch;
  Prices at = *prices;
  if (at.energy_per_kwh_by_hour.empty()) {
    row.cost = cost_of_plate(tallied.account, at, row.parts).total();
    return batch;
  }
  for (std::size_t hour = 0; hour < at.energy_per_kwh_by_hour.size(); ++hour) {
    at.start_hour = static_cast<double>(hour);
    batch.cost_by_hour.push_back(cost_of_plate(tallied.account, at, row.parts).total());
  }
  row.cost = *std::ranges::min_element(batch.cost_by_hour);
  return batch;
}

/// Filaments of the tools that a plate feeds.
std::vector<std::string> filaments_of(const QueueJob& job, const Account& account) {
  std::vector<std::string> filaments;
  for (const ToolAccount& tool : account.tools) {
    if (tool.filament_mm <= 0.0)
      continue;
    const auto index = static_cast<std::size_t>(tool.tool);
    std::string filament = index < job.colours.size() ? job.colours[index] : tool.colour;
    if (filament.empty())
      filament = fmt::format("filament {}", tool.tool);
    if (std::ranges::find(filaments, filament) == filaments.end())
      filaments.push_back(std::move(filament));
  }
  return filaments;
}

/// How long somebody is there at a stretch, at most.
double longest_stay_s(const QueueMachine& machine) {
  std::vector<hours::Span> spans;
  for (const WeekSpan& span : machine.attended)
    spans.push_back({span.from_s, span.to_s});
  const hours::Calendar calendar(spans);
  return calendar.is_always() ? 1e12 : static_cast<double>(calendar.longest_s());
}

/// Why an otherwise printable job cannot go on a machine in `print_s`; empty: it can.
std::string misfit(const QueueMachine& machine, const JobTable& table, double print_s) {
  if (table.filaments.size() > machine.machine.tools.size())
    return fmt::format("it takes {} filaments; {} holds {}", table.filaments.size(), machine.name,
                       machine.machine.tools.size());
  const double longest_s = longest_stay_s(machine);
  const double setup_s =
      machine.handling_s + static_cast<double>(table.filaments.size()) * machine.spool_change_s;
  if (setup_s > longest_s)
    return fmt::format(
        "handling and changing spools take up to {:.0f} min, longer than anybody is "
        "there",
        base::min_from_s(setup_s));
  if (!machine.unattended &&
      setup_s + print_s + static_cast<double>(solve::kPowerStep_s) > longest_s)
    return fmt::format(
        "it must not print unattended, and nobody is there for {:.1f} h at a stretch",
        base::h_from_s(setup_s + print_s));
  return "";
}

/// What each job asks of each plate and machine; jobs of the same plate ask together.
using AskedFor = std::map<Key, Wanted>;

Key key_of(const QueueJob& job, std::size_t machine) {
  return Key{job.path, machine, job.sliced_for, job.colours};
}

AskedFor asked_for(const Queue& queue, const PrintedTimes& also) {
  AskedFor asked;
  for (std::size_t j = 0; j < queue.jobs.size(); ++j)
    for (const std::size_t machine : queue.jobs[j].machines) {
      Wanted own = wanted_by(queue.jobs[j]);
      if (const auto printed = also.find({j, machine}); printed != also.end())
        own.times.insert(printed->second.begin(), printed->second.end());
      Wanted& all = asked[key_of(queue.jobs[j], machine)];
      all.times.merge(own.times);
      all.most = std::max(all.most, own.most);
    }
  return asked;
}

std::map<Key, PlateOnMachine> tally_all(const Queue& queue, AskedFor asked, int threads) {
  std::map<Key, PlateOnMachine> results;
  std::vector<std::pair<std::map<Key, PlateOnMachine>::iterator, Wanted>> tasks;
  for (auto& [key, wanted] : asked)
    tasks.emplace_back(results.try_emplace(key).first, std::move(wanted));
  base::run_each(tasks.size(), threads, [&](std::size_t i) {
    tasks[i].first->second = Tallier(queue, tasks[i].first->first, tasks[i].second).tally();
  });
  return results;
}

/// Adds what a machine can print of a job, or why it cannot.
void add_machine(const Queue& queue, std::size_t job, std::size_t machine,
                 const PlateOnMachine& plate, const std::set<int>& also, JobTable& table) {
  const QueueMachine& on = queue.machines[machine];
  std::string impossible = plate.impossible;
  if (impossible.empty()) {
    const Account& first = plate.tallied.front().account;
    if (table.filaments.empty())
      table.filaments = filaments_of(queue.jobs[job], first);
    impossible = misfit(on, table, first.totals.time.expected);
  }
  if (!impossible.empty()) {
    table.why_not.push_back(fmt::format("on {}: {}", on.name, impossible));
    TriedBatch none;
    none.row.job = job;
    none.row.machine = machine;
    none.row.parts = queue.jobs[job].parts;
    none.row.impossible = impossible;
    table.batches.push_back(std::move(none));
    return;
  }
  for (const Tallied& tallied : plate.tallied) {
    if (tallied.times > most_times(queue.jobs[job]) && !also.contains(tallied.times))
      continue;
    table.batches.push_back(batch_of(queue, job, machine, plate, tallied));
    table.batches.back().row.impossible = misfit(on, table, tallied.account.totals.time.expected);
  }
  if (plate.room_for > 0 && plate.room_for < most_times(queue.jobs[job])) {
    TriedBatch none;
    none.row.job = job;
    none.row.machine = machine;
    none.row.times = plate.room_for + 1;
    none.row.parts = none.row.times * queue.jobs[job].parts;
    none.row.impossible = "no room on the bed";
    table.batches.push_back(std::move(none));
  }
}

}  // namespace

std::vector<JobTable> try_batches(const Queue& queue, int threads, const PrintedTimes& also,
                                  std::vector<std::string>& assumed, MadeFrom& made_from) {
  const std::map<Key, PlateOnMachine> plates = tally_all(queue, asked_for(queue, also), threads);
  for (const auto& [key, plate] : plates) {
    for (const PlateUsed& read : plate.read)
      made_from.add(read);
    for (const std::string& sentence : plate.assumed) {
      // How many minutes of purging fall away is told by the batches' own rows.
      const std::string same = sentence.substr(0, sentence.find(", with "));
      if (std::ranges::find(assumed, same) == assumed.end())
        assumed.push_back(same);
    }
  }
  std::vector<JobTable> tables(queue.jobs.size());
  const std::set<int> none;
  for (std::size_t j = 0; j < queue.jobs.size(); ++j)
    for (const std::size_t machine : queue.jobs[j].machines) {
      const auto printed = also.find({j, machine});
      add_machine(queue, j, machine, plates.at(key_of(queue.jobs[j], machine)),
                  printed == also.end() ? none : printed->second, tables[j]);
    }
  return tables;
}

}  // namespace platetally::plan
