// Every column is looked at over lines from all of the log: what its cells can be read as, whether
// its numbers run, and the words of its heading. The time is the column that runs; a column of
// steps is added up where there is no other.
#include "meter/logs/columns.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cctype>
#include <charconv>
#include <cmath>
#include <initializer_list>

#include "base/units.hpp"
#include "meter/logs/column.hpp"

namespace platetally::meter {

namespace {

constexpr double kEpochFrom = 1e9;     // September 2001
constexpr double kHolesAllowed = 0.5;  // a state that is now and then unavailable

class Finder {
 public:
  Finder(const std::vector<TextLine>& lines, const Cutting& cutting, const std::string& path,
         const MeterLogOptions& options)
      : cutting_(cutting),
        path_(path),
        options_(options),
        rows_(some_lines(lines, cutting.first_row)),
        columns_(columns_of(rows_, cutting)) {}

  Layout find() {
    find_time();
    find_heaters();
    find_value();
    layout_.readings.push_back(
        cutting_.objects
            ? "every line is an object of JSON"
            : fmt::format("columns are cut at {}{}",
                          cutting_.separator == ' '    ? "blanks"
                          : cutting_.separator == '\t' ? "tabs"
                                                       : fmt::format("'{}'", cutting_.separator),
                          cutting_.decimal_comma ? ", numbers have a decimal comma" : ""));
    say_time();
    say_value();
    say_heaters();
    for (const std::string& passed : cutting_.passed_by)
      layout_.readings.push_back(passed);
    return layout_;
  }

 private:
  std::size_t named(const std::string& wanted) const {
    std::size_t number = 0;
    const char* const end = wanted.data() + wanted.size();
    const auto read = std::from_chars(wanted.data(), end, number);
    if (read.ec == std::errc{} && read.ptr == end && number >= 1 && number <= columns_.size())
      return number - 1;
    for (std::size_t i = 0; i < columns_.size(); ++i)
      if (lower(columns_[i].name) == lower(wanted))
        return i;
    throw UnreadableLog(fmt::format("{}:1: there is no column '{}'; expected a heading or 1 to {}",
                                    path_, wanted, columns_.size()));
  }

  template <typename Score>
  std::optional<std::size_t> best(const Score& score) const {
    std::optional<std::size_t> found;
    double most = 0.0;
    for (std::size_t i = 0; i < columns_.size(); ++i)
      if (const double value = score(i, columns_[i]); value > most) {
        most = value;
        found = i;
      }
    return found;
  }

  void find_time();
  void find_date_order();
  void find_heaters();
  void find_value();
  void find_power();
  bool find_energy();
  void scale_value();
  void say_time();
  void say_value();
  void say_heaters();
  [[noreturn]] void give_up(const char* what) const;
  std::string name_of(std::size_t column) const {
    return fmt::format(
        "{}{}", column + 1,
        columns_[column].name.empty() ? "" : fmt::format(" ({})", columns_[column].name));
  }
  bool is_taken(std::size_t column) const {
    const auto is_it = [column](const auto& heater) { return heater && *heater == column; };
    return column == layout_.time ||
           (layout_.time_form == TimeForm::date_and_clock && column == layout_.date) ||
           std::any_of(layout_.heaters.begin(), layout_.heaters.end(), is_it);
  }

  const Cutting& cutting_;
  const std::string& path_;
  const MeterLogOptions& options_;
  std::vector<std::string_view> rows_;
  std::vector<Column> columns_;
  Layout layout_;
};

double score_of_time(std::size_t index, const Column& column) {
  const double early = -0.01 * static_cast<double>(index);
  if (column.moment >= kMostPart)
    return 100.0 + (column.is_time() ? 10.0 : 0.0) + early;
  if (column.clock >= kMostPart)
    return 80.0 + (column.is_step() ? -60.0 : 0.0) + early;
  if (!column.is_number() || (column.is_energy() && !column.has({"time"})))
    return 0.0;
  const bool epoch = column.least >= kEpochFrom;
  if (column.is_time() && !column.is_step() && column.mostly_runs())
    return (column.runs() ? 70.0 : 60.0) + early;
  if (column.runs())
    return (epoch ? 65.0 : column.is_power() || column.is_step() ? 5.0 : 40.0) + early;
  return column.is_time() ? 20.0 + early : 0.0;
}

void Finder::find_time() {
  std::optional<std::size_t> found;
  if (!options_.time_column.empty())
    found = named(options_.time_column);
  else
    found = best(score_of_time);
  const auto date = best([](std::size_t, const Column& column) { return column.date - kMostPart; });
  const auto clock =
      best([](std::size_t, const Column& column) { return column.clock - kMostPart; });
  if (options_.time_column.empty() && date && clock &&
      (!found || columns_[*found].moment < kMostPart)) {
    layout_.time_form = TimeForm::date_and_clock;
    layout_.date = *date;
    layout_.time = *clock;
    find_date_order();
    return;
  }
  if (!found)
    give_up("no column runs as a time does");
  layout_.time = *found;
  const Column& column = columns_[*found];
  layout_.holds = column.has({"changed", "change"});
  if (column.moment >= kMostPart || column.date >= kMostPart)
    layout_.time_form = TimeForm::moment;
  else if (column.clock >= kMostPart)
    layout_.time_form = TimeForm::clock;
  else if (column.is_step() || (!column.mostly_runs() && column.is_number() &&
                                column.least >= 0.0 && options_.time_column.empty()))
    layout_.time_form = TimeForm::step;
  if (column.has({"ms", "milliseconds", "millis"}))
    layout_.time_scale = 1.0 / base::kMillisecondsPerSecond;
  else if (column.has({"min", "minutes"}))
    layout_.time_scale = base::kSecondsPerMinute;
  else if (column.has({"h", "hours"}))
    layout_.time_scale = base::kSecondsPerHour;
  if (layout_.time_form == TimeForm::moment)
    find_date_order();
}

/// A number above twelve decides; else the order with which the log lasts less long; else what the
/// separator suggests.
void Finder::find_date_order() {
  const std::size_t at =
      layout_.time_form == TimeForm::date_and_clock ? layout_.date : layout_.time;
  Cutter cutter(cutting_);
  std::optional<WrittenDate> last;
  std::array<double, 2> span_days{};
  std::array<std::optional<double>, 2> before;
  bool first_above = false;
  bool second_above = false;
  bool twelve_hours = false;
  for (const std::string_view line : rows_) {
    const auto& cells = cutter.cells(line);
    if (at >= cells.size())
      continue;
    std::string_view text = trimmed(cells[at]);
    const std::optional<WrittenDate> date = take_date(text);
    if (!date || date->year_first || date->named_month)
      continue;
    const std::string rest =
        lower(layout_.time_form == TimeForm::date_and_clock && layout_.time < cells.size()
                  ? cells[layout_.time]
                  : text);
    twelve_hours = twelve_hours || rest.find('m') != std::string::npos;
    first_above = first_above || date->first > 12;
    second_above = second_above || date->second > 12;
    for (const DateOrder order : {DateOrder::day_first, DateOrder::month_first}) {
      const auto place = static_cast<std::size_t>(order);
      const std::optional<double> days = days_of(*date, order);
      if (days && before[place])
        span_days[place] += std::abs(*days - *before[place]);
      before[place] = days;
    }
    last = date;
  }
  if (!last)
    return;
  const bool month_first = !options_.date_order.empty()   ? options_.date_order == "month-first"
                           : first_above != second_above  ? second_above
                           : span_days[0] != span_days[1] ? span_days[1] < span_days[0]
                                                          : last->separator == '/' && twelve_hours;
  layout_.date_order = month_first ? DateOrder::month_first : DateOrder::day_first;
}

/// Targets, temperatures and duties of bed and nozzle, by their headings.
void Finder::find_heaters() {
  for (std::size_t i = 0; i < kHeaterColumns; ++i)
    if (!options_.heater_columns[i].empty())
      layout_.heaters[i] = named(options_.heater_columns[i]);
  for (std::size_t i = 0; i < columns_.size(); ++i) {
    const Column& column = columns_[i];
    if (!column.is_part() || column.is_bed() == column.is_nozzle() || !column.is_number() ||
        is_taken(i))
      continue;
    const bool share = column.has({"%", "percent", "pct"}) || column.most <= 1.0;
    HeaterColumn what = kBedC;
    if (column.has({"target", "set", "setpoint", "goal", "wanted"}))
      what = kBedTarget;
    else if (column.has({"duty", "pwm", "output"}) || (column.is_power() && share))
      what = kBedDuty;
    else if (column.is_power() || column.is_energy() ||
             (column.words.size() > 1 &&
              !column.has({"c", "degc", "temp", "temperature", "actual", "current", "measured"})))
      continue;
    const std::size_t place = what + (column.is_bed() ? 0U : 3U);
    if (!layout_.heaters[place])
      layout_.heaters[place] = i;
  }
  for (const std::size_t place : {std::size_t{kBedDuty}, std::size_t{kNozzleDuty}})
    if (layout_.heaters[place]) {
      // A share, percent, or a byte.
      const double most = columns_[*layout_.heaters[place]].most;
      layout_.heater_scale[place] = most > 100.0 ? 1.0 / 255.0 : most > 1.5 ? 0.01 : 1.0;
    }
  layout_.session = best([&](std::size_t i, const Column& column) {
    return column.has({"session", "run"}) && column.is_number() && !is_taken(i) ? 1.0 : 0.0;
  });
}

/// How well a column may be the machine's power; 0: it is not.
double score_of_power(std::size_t index, const Column& column, bool has_headings) {
  const double early = -0.01 * static_cast<double>(index);
  if (column.number < kHolesAllowed || column.is_part() || column.is_energy())
    return 0.0;
  if (!has_headings)
    return column.is_number() ? 10.0 + early : 0.0;
  const double score = column.has({"w", "watt", "watts", "kw", "mw", "kilowatts", "milliwatts"})
                           ? 100.0
                       : column.is_power() || column.has({"load"}) ? 90.0
                       : column.has({"state", "value", "reading"}) ? 50.0
                                                                   : 0.0;
  if (score == 0.0 || column.has({"factor", "pf", "reactive", "var"}))
    return 0.0;
  return score + early - (column.has({"apparent", "va"}) ? 40.0 : 0.0) -
         (column.has({"max", "min", "peak", "limit", "maximum", "minimum"}) ? 30.0 : 0.0);
}

void Finder::find_value() {
  if (!options_.wh_column.empty() && !options_.watts_column.empty())
    throw UnreadableLog(fmt::format("{}: expected a column of watts or one of watt-hours", path_));
  if (!options_.watts_column.empty()) {
    layout_.value = named(options_.watts_column);
  } else if (!options_.wh_column.empty()) {
    layout_.value = named(options_.wh_column);
    layout_.value_form = columns_[layout_.value].is_step() ? ValueForm::steps : ValueForm::counter;
  } else {
    find_power();
  }
  if (layout_.value_form == ValueForm::none)
    return;
  if (layout_.value >= columns_.size() || layout_.value == layout_.time)
    give_up("no column is the power");
  scale_value();
}

void Finder::find_power() {
  const bool has_headings = !cutting_.names.empty();
  const auto watts = best([&](std::size_t i, const Column& column) {
    // Without headings the first behind the time, or before it.
    const double behind = !has_headings && i > layout_.time ? 1.0 : 0.0;
    const double score =
        is_taken(i) || layout_.session == i ? 0.0 : score_of_power(i, column, has_headings);
    return score > 0.0 ? score + behind : 0.0;
  });
  const auto of_text = [](const Column& column) { return column.number < kHolesAllowed; };
  const bool says_energy = std::any_of(columns_.begin(), columns_.end(), [&](const Column& column) {
    return of_text(column) && lower(column.example).find("energy") != std::string::npos;
  });
  if (watts && (columns_[*watts].is_power() || !says_energy)) {
    layout_.value = *watts;
    return;
  }
  if (find_energy())
    return;
  if (watts) {
    layout_.value = *watts;
    layout_.value_form = ValueForm::counter;
    return;
  }
  const auto volts = best([](std::size_t, const Column& column) {
    return column.is_number() && column.has({"v", "volt", "volts", "voltage"}) ? 1.0 : 0.0;
  });
  const auto amperes = best([](std::size_t, const Column& column) {
    return column.is_number() &&
                   column.has({"a", "ma", "amp", "amps", "ampere", "amperes", "current"})
               ? 1.0
               : 0.0;
  });
  if (volts && amperes) {
    layout_.value_form = ValueForm::volts_amps;
    layout_.value = *volts;
    layout_.second_value = *amperes;
    return;
  }
  if (layout_.heaters[kBedDuty] || layout_.heaters[kNozzleDuty]) {
    layout_.value_form = ValueForm::none;
    return;
  }
  give_up("no column is the power");
}

bool Finder::find_energy() {
  const auto found = best([&](std::size_t i, const Column& column) {
    if (column.number < kHolesAllowed || is_taken(i) || column.is_part())
      return 0.0;
    const double score = column.is_energy() ? 100.0 : column.has({"total", "counter"}) ? 50.0 : 0.0;
    return score > 0.0 && column.is_step() ? score - 20.0 : score;
  });
  if (!found)
    return false;
  layout_.value = *found;
  layout_.value_form = columns_[*found].is_step() || columns_[*found].rising < kMostlyRuns
                           ? ValueForm::steps
                           : ValueForm::counter;
  return true;
}

void Finder::scale_value() {
  const Column& column = columns_[layout_.value];
  const bool is_counter =
      layout_.value_form == ValueForm::counter || layout_.value_form == ValueForm::steps;
  std::string unit = lower(options_.unit);
  if (unit.empty())
    unit = column.has({"kw", "kwh", "kilowatts"})          ? "k"
           : column.has({"mw", "mwh", "milliwatts", "ma"}) ? "m"
           : column.has({"w", "wh", "watt", "watts"})      ? "w"
                                                           : "";
  if (layout_.value_form == ValueForm::volts_amps && columns_[layout_.second_value].has({"ma"}))
    unit = "m";
  layout_.unit_is_stated = !unit.empty();
  if (unit.starts_with('k'))
    layout_.value_scale = base::kWhPerKwh;
  else if (unit.starts_with('m'))
    layout_.value_scale = 1.0 / base::kWhPerKwh;
  else if (unit.empty() && is_counter && column.has({"energy", "consumption"}) &&
           column.most - column.least < 1.0 && column.most < 1e5 && options_.wh_column.empty())
    layout_.readings.push_back(fmt::format(
        "column {} goes up by {:.3g} in all: if it counts kilowatt-hours, say --unit kWh",
        name_of(layout_.value), column.most - column.least));
}

void Finder::say_time() {
  const char* const guessed = options_.time_column.empty() ? ", guessed" : "";
  switch (layout_.time_form) {
    case TimeForm::date_and_clock:
      layout_.readings.push_back(fmt::format("dates are in column {}, times in column {}, guessed",
                                             layout_.date + 1, layout_.time + 1));
      break;
    case TimeForm::step:
      layout_.readings.push_back(fmt::format("column {} holds steps of time, which are added up{}",
                                             layout_.time + 1, guessed));
      break;
    default:
      layout_.readings.push_back(
          fmt::format("times are in column {}{}", layout_.time + 1, guessed));
  }
  const bool numbers_only = [&] {
    const std::size_t at =
        layout_.time_form == TimeForm::date_and_clock ? layout_.date : layout_.time;
    std::string_view text = columns_[at].example;
    const auto date = take_date(text);
    return date && !date->year_first && !date->named_month;
  }();
  if (numbers_only)
    layout_.readings.push_back(fmt::format(
        "dates have the {} first{}", layout_.date_order == DateOrder::day_first ? "day" : "month",
        options_.date_order.empty() ? ", guessed; --dates says otherwise" : ""));
  if (layout_.holds)
    layout_.readings.emplace_back("a line is written where something changes, so each holds on");
}

void Finder::say_value() {
  const char* const guessed =
      options_.watts_column.empty() && options_.wh_column.empty() ? ", guessed" : "";
  const char* const size = layout_.value_scale > 1.0   ? "kilo"
                           : layout_.value_scale < 1.0 ? "milli"
                                                       : "";
  switch (layout_.value_form) {
    case ValueForm::none:
      layout_.readings.emplace_back("there is no column of watts");
      break;
    case ValueForm::volts_amps:
      layout_.readings.push_back(
          fmt::format("watts are column {} times column {} (volts and {}amperes), guessed",
                      layout_.value + 1, layout_.second_value + 1, size));
      break;
    default:
      layout_.readings.push_back(
          fmt::format("column {} holds {}{}{}", layout_.value + 1, size,
                      layout_.value_form == ValueForm::counter ? "watt-hours that add up"
                      : layout_.value_form == ValueForm::steps ? "watt-hours since the line before"
                                                               : "watts",
                      guessed));
  }
}

void Finder::say_heaters() {
  constexpr std::array<const char*, kHeaterColumns> kNames{
      "the bed's target",    "its temperature", "its duty",
      "the nozzle's target", "its temperature", "its duty"};
  std::vector<std::string> parts;
  for (std::size_t i = 0; i < kHeaterColumns; ++i)
    if (layout_.heaters[i])
      parts.push_back(fmt::format("{} in column {}{}", kNames[i], *layout_.heaters[i] + 1,
                                  layout_.heater_scale[i] < 0.005  ? " (of 255)"
                                  : layout_.heater_scale[i] < 0.05 ? " (percent)"
                                                                   : ""));
  if (!parts.empty())
    layout_.readings.push_back(fmt::format("{}, guessed", fmt::join(parts, ", ")));
}

void Finder::give_up(const char* what) const {
  std::string text = fmt::format(
      "{}: {}; expected a column of times and one of watts, such as \"12.5,231.4\"; found", path_,
      what);
  constexpr std::size_t kMostListed = 20;
  for (std::size_t i = 0; i < std::min(columns_.size(), kMostListed); ++i) {
    const Column& column = columns_[i];
    const bool is_when = column.moment + column.clock + column.date >= kMostPart;
    text += fmt::format(
        "\n  column {}: {}", name_of(i),
        column.filled == 0.0 ? "empty"
        : is_when ? fmt::format("times such as {} (--time-column {})", column.example, i + 1)
        : column.runs()
            ? fmt::format(
                  "numbers that rise from {:g} to {:g} (--time-column {}, or --wh-column {} "
                  "where they count watt-hours)",
                  column.least, column.most, i + 1, i + 1)
        : column.is_number() ? fmt::format("numbers from {:g} to {:g} (--watts-column {})",
                                           column.least, column.most, i + 1)
                             : fmt::format("text such as '{}'", column.example));
  }
  throw UnreadableLog(text);
}

}  // namespace

std::size_t Layout::last_column() const {
  std::size_t last = std::max(time, value_form == ValueForm::none ? time : value);
  if (time_form == TimeForm::date_and_clock)
    last = std::max(last, date);
  if (value_form == ValueForm::volts_amps)
    last = std::max(last, second_value);
  return last;
}

bool can_be_read(std::string_view cell) {
  const std::string_view text = trimmed(cell);
  std::string_view rest = text;
  return read_number(text, false) || read_number(text, true) || read_clock(text) ||
         (take_date(rest) && (rest.empty() || read_moment(text, DateOrder::day_first) ||
                              read_moment(text, DateOrder::month_first)));
}

Layout find_layout(const std::vector<TextLine>& lines, const Cutting& cutting,
                   const std::string& path, const MeterLogOptions& options) {
  return Finder(lines, cutting, path, options).find();
}

}  // namespace platetally::meter
