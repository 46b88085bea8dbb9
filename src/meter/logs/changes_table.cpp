// Counters of changes: one change a line, or one counter a line.
//
// Seconds of a change that went on long after the others are a stop: something jammed, or a person
// had to come. They are told apart, as a stop is rare and long: of single changes by length, more
// than kStopFactor times the median; of counters by their own columns. The mean is what sums need;
// where several machines were counted each counts once, and the median stands for a machine that
// was not counted, the tenths for how far machines differ. One counter alone says nothing of its
// spread: the tenth and nine tenths of one machine's changes are taken from what 61 counted
// machines showed, 0.63 and 1.56 of the median.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/hash.hpp"
#include "meter/logs/table.hpp"
#include "platetally/meter.hpp"
#include "platetally/prints.hpp"
#include "reading/source/content.hpp"

namespace platetally {

namespace {

using meter::Table;
using meter::TableCell;
using meter::TableRow;

// Assumed, but for the two shares.
constexpr double kStopFactor = 4.0;
constexpr std::size_t kEnoughForTenths = 10;  // changes of one machine
constexpr double kEnoughChanges = 10.0;       // of a counter, to be counted among machines
constexpr double kEnoughForStops = 100.0;     // the same, for its stops
constexpr double kLowShare = 0.63;            // see above
constexpr double kHighShare = 1.56;
constexpr double kMost_s = 3600.0;  // of a change, as in the machine file
constexpr std::size_t kMostFaults = 20;

struct Counter {
  double changes = 0.0;  ///< that were timed
  double seconds = 0.0;  ///< of one
  double all = 0.0;      ///< changes among which the stops were counted
  std::optional<double> stops;
  std::optional<double> stops_s;  ///< all of them together
};

/// At `share` of the values in order, between the two beside it.
double quantile(std::vector<double> values, double share) {
  std::sort(values.begin(), values.end());
  const double at = share * static_cast<double>(values.size() - 1);
  const auto below = static_cast<std::size_t>(at);
  const std::size_t above = std::min(below + 1, values.size() - 1);
  return values[below] + (at - static_cast<double>(below)) * (values[above] - values[below]);
}

double mean_of(const std::vector<double>& values) {
  double sum = 0.0;
  for (const double value : values)
    sum += value;
  return sum / static_cast<double>(values.size());
}

Range of_one_machine(double seconds) {
  return {kLowShare * seconds, seconds, std::min(kMost_s, kHighShare * seconds)};
}

/// What a machine file takes.
Range inside(const Range& seconds) {
  return {std::min(kMost_s, seconds.low), std::min(kMost_s, seconds.expected),
          std::min(kMost_s, seconds.high)};
}

CountedChanges of_single(SwapKind kind, const std::vector<double>& all_s) {
  const double longest_s = kStopFactor * quantile(all_s, 0.5);
  std::vector<double> plain_s, stops_s;
  for (const double seconds : all_s)
    (seconds > longest_s ? stops_s : plain_s).push_back(seconds);
  CountedChanges counted;
  counted.kind = kind;
  counted.changes = all_s.size();
  const double mean_s = mean_of(plain_s);
  counted.seconds = of_one_machine(mean_s);
  if (plain_s.size() >= kEnoughForTenths)
    counted.seconds = {std::min(mean_s, quantile(plain_s, 0.1)), mean_s,
                       std::max(mean_s, quantile(plain_s, 0.9))};
  counted.seconds = inside(counted.seconds);
  counted.stops = stops_s.size();
  counted.stop_share = static_cast<double>(stops_s.size()) / static_cast<double>(all_s.size());
  if (!stops_s.empty())
    counted.stop_s = std::min(kMost_s, mean_of(stops_s) - mean_s);
  return counted;
}

void count_stops(const std::vector<Counter>& counters, CountedChanges& counted) {
  std::vector<double> shares, each_s;
  const double least = counters.size() > 1 ? kEnoughForStops : 1.0;
  for (const Counter& one : counters) {
    if (!one.stops)
      continue;
    counted.stops += static_cast<std::uint64_t>(*one.stops);
    if (one.all < least)
      continue;
    shares.push_back(std::min(1.0, *one.stops / one.all));
    if (one.stops_s && *one.stops >= 1.0)
      each_s.push_back(*one.stops_s / *one.stops);
  }
  if (!shares.empty())
    counted.stop_share = quantile(shares, 0.5);
  if (!each_s.empty())
    counted.stop_s = std::min(kMost_s, quantile(each_s, 0.5));
}

CountedChanges of_counters(SwapKind kind, const std::vector<Counter>& counters) {
  CountedChanges counted;
  counted.kind = kind;
  counted.machines = counters.size();
  std::vector<double> each_s;
  for (const Counter& one : counters) {
    counted.changes += static_cast<std::uint64_t>(one.changes);
    if (one.changes >= kEnoughChanges || counters.size() == 1)
      each_s.push_back(one.seconds);
  }
  if (each_s.empty())
    for (const Counter& one : counters)
      each_s.push_back(one.seconds);
  const double middle_s = quantile(each_s, 0.5);
  counted.seconds = of_one_machine(middle_s);
  if (each_s.size() >= kEnoughForTenths)
    counted.seconds = {quantile(each_s, 0.1), middle_s, quantile(each_s, 0.9)};
  count_stops(counters, counted);
  return counted;
}

class ChangesReader {
 public:
  ChangesReader(std::string_view text, const std::string& path) : table_(text, path) {
    file_.path = path;
    file_.hash = base::hash_of_text(text);
  }

  ChangesFile read() {
    find_columns();
    for (const TableRow& row : table_.rows())
      if (!each_)
        read_change(row);
      else
        read_counter(row);
    if (single_.empty() && counters_.empty())
      throw UnreadableLog(
          fmt::format("{}: no change in it that can be used; expected lines such as "
                      "\"41.5\" under a heading \"seconds\"",
                      file_.path));
    for (const auto& [kind, seconds] : single_)
      file_.counted.push_back(of_single(kind, seconds));
    for (const auto& [kind, counters] : counters_)
      file_.counted.push_back(of_counters(kind, counters));
    return std::move(file_);
  }

 private:
  void find_columns();
  void read_change(const TableRow& row);
  void read_counter(const TableRow& row);
  std::optional<SwapKind> kind_of(const TableRow& row);
  /// 0 or more; nothing is there, or it is said.
  std::optional<double> number(const TableRow& row, std::optional<std::size_t> column, double most);
  void fault(const TableRow& row, std::uint64_t column, std::string message);

  Table table_;
  ChangesFile file_;
  std::optional<std::size_t> seconds_, kind_, purge_, changes_, each_, all_, stops_, stops_s_;
  std::map<SwapKind, std::vector<double>> single_;
  std::map<SwapKind, std::vector<Counter>> counters_;
};

void ChangesReader::find_columns() {
  kind_ = table_.column({"kind"});
  each_ = table_.column({"seconds_a_change", "mean_s", "mean_seconds"});
  seconds_ = table_.column({"seconds", "s", "duration_s", "time_s"});
  purge_ = table_.column({"purge_s"});
  changes_ = table_.column({"changes"});
  all_ = table_.column({"changes_in_all"});
  stops_ = table_.column({"stops"});
  stops_s_ = table_.column({"stop_s_in_all", "stops_s"});
  if (!each_ && !seconds_)
    throw UnreadableLog(fmt::format(
        "{}:1: expected a column seconds (one change a line), or changes and seconds_a_change (one "
        "counter a line), found \"{}\"",
        file_.path, fmt::join(table_.headings(), ", ")));
  file_.readings.emplace_back(each_ ? "one counter a line" : "one change a line");
  if (!purge_)
    file_.readings.emplace_back(
        "seconds are taken as they are; where they hold purging that the plates hold as moves too, "
        "a column purge_s takes it off, else it is counted twice");
}

void ChangesReader::fault(const TableRow& row, std::uint64_t column, std::string message) {
  if (file_.faults.size() >= kMostFaults) {
    ++file_.faults.back().count;
    return;
  }
  Diagnostic said;
  said.code = "change-left-out";
  said.line = row.line;
  said.column = column;
  said.message = std::move(message);
  file_.faults.push_back(std::move(said));
}

std::optional<double> ChangesReader::number(const TableRow& row, std::optional<std::size_t> column,
                                            double most) {
  const TableCell* const cell = Table::cell(row, column);
  if (cell == nullptr)
    return std::nullopt;
  const auto value = table_.number(cell->text);
  if (value && *value >= 0.0 && *value <= most)
    return value;
  fault(row, cell->column,
        fmt::format("'{}': expected a number from 0 to {:g}, left it out", cell->text, most));
  return std::nullopt;
}

std::optional<SwapKind> ChangesReader::kind_of(const TableRow& row) {
  const TableCell* const cell = Table::cell(row, kind_);
  if (cell == nullptr || cell->text == "filament")
    return SwapKind::filament_change;
  if (cell->text == "head")
    return SwapKind::head_change;
  fault(row, cell->column,
        fmt::format("'{}' is no kind of change; expected filament or head, left the line out",
                    cell->text));
  return std::nullopt;
}

void ChangesReader::read_change(const TableRow& row) {
  const auto kind = kind_of(row);
  const auto seconds = number(row, seconds_, 1e9);
  if (!kind || !seconds)
    return;
  single_[*kind].push_back(std::max(0.0, *seconds - number(row, purge_, 1e9).value_or(0.0)));
}

void ChangesReader::read_counter(const TableRow& row) {
  const auto kind = kind_of(row);
  const auto seconds = number(row, each_, kMost_s);
  if (!kind || !seconds)
    return;
  Counter counter;
  counter.changes = number(row, changes_, 1e9).value_or(1.0);
  counter.seconds = std::max(0.0, *seconds - number(row, purge_, kMost_s).value_or(0.0));
  counter.stops = number(row, stops_, 1e9);
  counter.stops_s = number(row, stops_s_, 1e12);
  counter.all = std::max(number(row, all_, 1e9).value_or(counter.changes), 1.0);
  counters_[*kind].push_back(counter);
}

}  // namespace

ChangesFile parse_changes(std::string_view text, const std::string& path) {
  return ChangesReader(text, path).read();
}

ChangesFile load_changes(const std::string& path) {
  return parse_changes(meter::text_of_file(path), path);
}

Machine with_changes(Machine machine, const ChangesFile& changes) {
  for (const CountedChanges& counted : changes.counted) {
    if (counted.kind == SwapKind::head_change)
      machine.swap.head_change_s = counted.seconds;
    else
      machine.swap.filament_change_s = counted.seconds;
    if (counted.stop_share)
      machine.swap.long_swap_probability = *counted.stop_share;
    if (counted.stop_s)
      machine.swap.long_swap_extra_s = *counted.stop_s;
  }
  return machine;
}

}  // namespace platetally
