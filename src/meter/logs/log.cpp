#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

#include "base/hash.hpp"
#include "base/units.hpp"
#include "meter/logs/columns.hpp"
#include "platetally/meter.hpp"
#include "reading/source/content.hpp"
#include "reading/source/open.hpp"

namespace platetally {

namespace {

using meter::Layout;
using meter::TimeForm;
using meter::ValueForm;

// Assumed, all of them.
constexpr std::size_t kMostBytes = std::size_t{1} << 30;
constexpr double kLongestStepBack_s = 2.0;  // jitter of clocks; more is a clock that was set
constexpr double kGapFactor = 10.0;         // of the median distance: longer is not known
constexpr double kEpochFrom = 1e9;          // September 2001
constexpr double kMillisecondsFrom = 1e11;  // an epoch in milliseconds
constexpr double kHeldAtMost_s =
    base::kSecondsPerHour;  // by a line that is written where something changes
constexpr double kBetweenSessions_s = base::kSecondsPerHour;  // whose clocks begin anew
constexpr double kBeforeAll = -1e300;
constexpr double kNotKnown = std::numeric_limits<double>::quiet_NaN();

/// The median; of an even number of values the upper one of the two in the middle.
double middle_of(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

struct Raw {
  double t_s = 0.0;
  double value = 0.0;
  std::uint64_t line = 0;
};

class Reader {
 public:
  Reader(std::string_view text, std::string path, const MeterLogOptions& options)
      : text_(text), options_(options) {
    log_.path = std::move(path);
  }

  MeterLog read() {
    log_.hash = base::hash_of_text(text_);
    read_lines();
    const bool has_watts = layout_.value_form != ValueForm::none;
    if ((has_watts ? raw_.size() : log_.heaters.size()) < 2)
      throw UnreadableLog(
          fmt::format("{}: holds {} samples that can be read; expected lines such "
                      "as \"12.5,231.4\" (seconds, watts)",
                      log_.path, raw_.size()));
    if (first_s_ >= kEpochFrom)
      log_.start_epoch_s = first_s_;
    if (has_watts)
      finish_watts();
    finish_heaters();
    for (double& session_s : log_.sessions_s)
      session_s -= first_s_;
    for (auto& [reason, rejected] : rejected_)
      log_.rejected.push_back(rejected);
    return std::move(log_);
  }

 private:
  void reject(const std::string& reason, std::uint64_t line) {
    RejectedLines& rejected = rejected_[reason];
    rejected.reason = reason;
    if (rejected.count++ == 0)
      rejected.first_line = line;
  }

  void read_lines();
  std::optional<double> time_of(const std::vector<std::string_view>& cells);
  bool runs_on(double& t_s, const std::vector<std::string_view>& cells, std::uint64_t number);
  std::optional<double> value_of(const std::vector<std::string_view>& cells) const;
  void take(const std::vector<std::string_view>& cells, std::uint64_t number);
  void take_heaters(const std::vector<std::string_view>& cells, double t_s);
  void finish_watts();
  void finish_heaters();
  void to_watts();
  void drop_negative();
  void drop_spikes();
  void check_unit();
  void make_samples();

  std::string_view text_;
  const MeterLogOptions& options_;
  meter::Cutting cutting_;
  Layout layout_;
  MeterLog log_;
  std::vector<Raw> raw_;
  std::map<std::string, RejectedLines> rejected_;
  double first_s_ = 0.0;
  double latest_s_ = kBeforeAll;
  double clock_base_s_ = 0.0;  ///< of clocks that went past midnight
  double last_clock_s_ = 0.0;
  double session_ = 0.0;
  double session_base_s_ = 0.0;
  bool set_back_ = false;
};

void Reader::read_lines() {
  const std::vector<meter::TextLine> lines = meter::lines_of(text_);
  if (lines.empty())
    throw UnreadableLog(fmt::format("{}: is empty", log_.path));
  cutting_ = meter::find_cutting(lines, &meter::can_be_read);
  layout_ = meter::find_layout(lines, cutting_, log_.path, options_);
  log_.readings = layout_.readings;
  meter::Cutter cutter(cutting_);
  for (std::size_t i = cutting_.first_row; i < lines.size(); ++i)
    take(cutter.cells(lines[i].text), lines[i].number);
}

std::optional<double> Reader::time_of(const std::vector<std::string_view>& cells) {
  const std::string_view text = meter::trimmed(cells[layout_.time]);
  switch (layout_.time_form) {
    case TimeForm::moment:
      return meter::read_moment(text, layout_.date_order, true);
    case TimeForm::date_and_clock: {
      const auto midnight_s =
          meter::read_moment(meter::trimmed(cells[layout_.date]), layout_.date_order, true);
      const auto clock = meter::read_clock(text);
      if (!midnight_s || !clock)
        return std::nullopt;
      return *midnight_s + clock->seconds - clock->zone_s;
    }
    case TimeForm::clock: {
      constexpr double kHalfDay_s = 0.5 * base::kSecondsPerDay;
      const auto clock = meter::read_clock(text);
      if (!clock)
        return std::nullopt;
      if (clock->seconds < last_clock_s_ - kHalfDay_s)
        clock_base_s_ += base::kSecondsPerDay;  // past midnight
      last_clock_s_ = clock->seconds;
      return clock_base_s_ + clock->seconds;
    }
    case TimeForm::step: {
      const auto step = meter::read_number(text, cutting_.decimal_comma);
      if (!step || *step < 0.0)
        return std::nullopt;
      return (latest_s_ == kBeforeAll ? 0.0 : latest_s_) + *step * layout_.time_scale;
    }
    case TimeForm::number:
      break;
  }
  const auto number = meter::read_number(text, cutting_.decimal_comma);
  if (!number)
    return std::nullopt;
  return *number *
         (*number >= kMillisecondsFrom ? 1.0 / base::kMillisecondsPerSecond : layout_.time_scale);
}

/// A new session goes on behind the one before, with a gap, where its clock begins anew. False for
/// lines that go back in time.
bool Reader::runs_on(double& t_s, const std::vector<std::string_view>& cells,
                     std::uint64_t number) {
  if (layout_.session && *layout_.session < cells.size()) {
    const auto session =
        meter::read_number(cells[*layout_.session], cutting_.decimal_comma).value_or(session_);
    if (session != session_ || latest_s_ == kBeforeAll) {
      session_ = session;
      if (latest_s_ != kBeforeAll && t_s + session_base_s_ <= latest_s_)
        session_base_s_ = latest_s_ + kBetweenSessions_s - t_s;
      log_.sessions_s.push_back(t_s + session_base_s_);
    }
  }
  t_s += layout_.time_form == TimeForm::step ? 0.0 : session_base_s_;
  if (t_s == latest_s_) {
    reject("has the time of the line before", number);
    return false;
  }
  if (t_s > latest_s_)
    return true;
  if (latest_s_ - t_s > kLongestStepBack_s && !set_back_) {
    set_back_ = true;
    log_.doubts.push_back(
        fmt::format("the clock was set back by {:.0f} s in line {}; what follows is left out until "
                    "it has caught up",
                    latest_s_ - t_s, number));
  }
  reject("goes back in time", number);
  return false;
}

std::optional<double> Reader::value_of(const std::vector<std::string_view>& cells) const {
  auto value = meter::read_number(cells[layout_.value], cutting_.decimal_comma);
  if (value && layout_.value_form == ValueForm::volts_amps) {
    const auto amperes = meter::read_number(cells[layout_.second_value], cutting_.decimal_comma);
    if (!amperes)
      return std::nullopt;
    *value *= *amperes;
  }
  if (value)
    *value *= layout_.value_scale;
  return value;
}

void Reader::take_heaters(const std::vector<std::string_view>& cells, double t_s) {
  HeaterReading reading;
  reading.t_s = t_s;
  reading.values.fill(kNotKnown);
  bool any = false;
  for (std::size_t i = 0; i < kHeaterColumns; ++i) {
    if (!layout_.heaters[i] || *layout_.heaters[i] >= cells.size())
      continue;
    const auto value = meter::read_number(cells[*layout_.heaters[i]], cutting_.decimal_comma);
    if (value) {
      reading.values[i] = *value * layout_.heater_scale[i];
      any = true;
    }
  }
  if (any)
    log_.heaters.push_back(reading);
}

void Reader::take(const std::vector<std::string_view>& cells, std::uint64_t number) {
  if (cells.size() <= layout_.last_column())
    return reject("has too few columns", number);
  auto t_s = time_of(cells);
  if (!t_s)
    return reject("its time cannot be read", number);
  std::optional<double> value = 0.0;
  if (layout_.value_form != ValueForm::none) {
    value = value_of(cells);
    if (!value)
      return reject("its value cannot be read", number);
  }
  if (!runs_on(*t_s, cells, number))
    return;
  if (latest_s_ == kBeforeAll)
    first_s_ = *t_s;
  latest_s_ = *t_s;
  take_heaters(cells, *t_s);
  if (layout_.value_form != ValueForm::none)
    raw_.push_back({*t_s, *value, number});
}

void Reader::finish_watts() {
  if (layout_.value_form == ValueForm::counter || layout_.value_form == ValueForm::steps)
    to_watts();
  drop_negative();
  drop_spikes();
  check_unit();
  make_samples();
}

/// A counter gives the mean since the line before.
void Reader::to_watts() {
  std::vector<Raw> watts;
  for (std::size_t i = 0; i + 1 < raw_.size(); ++i) {
    const double wh = layout_.value_form == ValueForm::steps ? raw_[i + 1].value
                                                             : raw_[i + 1].value - raw_[i].value;
    if (wh < 0.0) {
      reject("the counter begins anew", raw_[i + 1].line);
      continue;
    }
    watts.push_back(
        {raw_[i].t_s, base::j_from_wh(wh) / (raw_[i + 1].t_s - raw_[i].t_s), raw_[i].line});
  }
  raw_ = std::move(watts);
}

/// No machine of this kind draws twenty kilowatts, nor less than one watt: then the unit is another
/// one. Where the heading says nothing of it, it is taken as that; else it is said.
void Reader::check_unit() {
  constexpr double kMostWatts = 20000.0;
  constexpr double kLeastWatts = 1.0;
  if (raw_.empty())
    return;
  std::vector<double> watts;
  for (const Raw& one : raw_)
    watts.push_back(one.value);
  const auto high = watts.begin() + static_cast<std::ptrdiff_t>(watts.size() * 95 / 100);
  std::nth_element(watts.begin(), high, watts.end());
  const double high_w = *high;
  const bool too_much = high_w > kMostWatts;
  if (!too_much && (high_w >= kLeastWatts || high_w <= 0.0))
    return;
  const double factor = too_much ? 1.0 / base::kWhPerKwh : base::kWhPerKwh;
  if (layout_.unit_is_stated || high_w * factor > kMostWatts || high_w * factor < kLeastWatts) {
    log_.doubts.push_back(fmt::format(
        "a machine that draws {:.4g} W: is the unit off by a thousand? --unit {} would read it so",
        high_w, too_much ? "mW" : "kW"));
    return;
  }
  log_.readings.push_back(fmt::format(
      "values up to {:.4g} are taken as {}watts, as no machine draws so {}; --unit W otherwise",
      high_w, too_much ? "milli" : "kilo", too_much ? "much" : "little"));
  for (Raw& one : raw_)
    one.value *= factor;
}

void Reader::drop_negative() {
  const auto negative = static_cast<std::size_t>(
      std::count_if(raw_.begin(), raw_.end(), [](const Raw& one) { return one.value < 0.0; }));
  if (2 * negative > raw_.size())
    throw UnreadableLog(
        fmt::format("{}: {} of {} samples are below zero watts; expected what the machine draws: "
                    "is the plug the "
                    "wrong way round, or the column another one?",
                    log_.path, negative, raw_.size()));
  std::erase_if(raw_, [this](const Raw& one) {
    if (one.value < 0.0)
      reject("is below zero watts", one.line);
    return one.value < 0.0;
  });
}

/// A lone sample far off both of its neighbours, which agree with each other. Where that happens
/// often it is how a heater is switched, and stays.
void Reader::drop_spikes() {
  // Assumed, both.
  constexpr double kMostShare = 0.03;
  constexpr double kFarOff = 10.0;  // of the usual difference between neighbours
  if (raw_.size() < 20)
    return;
  std::vector<double> steps;
  for (std::size_t i = 1; i < raw_.size(); ++i)
    steps.push_back(std::abs(raw_[i].value - raw_[i - 1].value));
  const double usual_w = std::max(middle_of(std::move(steps)), 0.1);
  std::vector<bool> lone(raw_.size(), false);
  std::size_t count = 0;
  for (std::size_t i = 1; i + 1 < raw_.size(); ++i) {
    const double before = raw_[i].value - raw_[i - 1].value;
    const double after = raw_[i].value - raw_[i + 1].value;
    lone[i] = before * after > 0.0 && std::abs(before - after) < kFarOff / 2.0 * usual_w &&
              std::min(std::abs(before), std::abs(after)) > kFarOff * usual_w;
    count += lone[i];
  }
  if (static_cast<double>(count) > kMostShare * static_cast<double>(raw_.size()))
    return;
  std::vector<Raw> kept;
  for (std::size_t i = 0; i < raw_.size(); ++i) {
    if (lone[i])
      reject("is a lone spike", raw_[i].line);
    else
      kept.push_back(raw_[i]);
  }
  raw_ = std::move(kept);
}

void Reader::make_samples() {
  if (raw_.size() < 2)
    throw UnreadableLog(fmt::format("{}: nothing is left after faulty lines", log_.path));
  std::vector<double> steps;
  for (std::size_t i = 1; i < raw_.size(); ++i)
    steps.push_back(raw_[i].t_s - raw_[i - 1].t_s);
  log_.interval_s = middle_of(std::move(steps));
  if (log_.heaters.empty())
    first_s_ = raw_.front().t_s;
  const double longest_s = layout_.holds ? kHeldAtMost_s : kGapFactor * log_.interval_s;
  double gaps_s = 0.0;
  std::size_t gaps = 0;
  for (std::size_t i = 0; i < raw_.size(); ++i) {
    const double step_s = i + 1 < raw_.size() ? raw_[i + 1].t_s - raw_[i].t_s : log_.interval_s;
    const bool gap = step_s > longest_s;
    if (gap) {
      ++gaps;
      gaps_s += step_s - log_.interval_s;
    }
    log_.samples.push_back({raw_[i].t_s - first_s_, raw_[i].value, gap ? log_.interval_s : step_s});
  }
  if (gaps > 0)
    log_.doubts.push_back(
        fmt::format("{} gaps, {:.0f} s in all, in which nothing is known", gaps, gaps_s));
  const auto [low, high] = std::minmax_element(
      raw_.begin(), raw_.end(), [](const Raw& a, const Raw& b) { return a.value < b.value; });
  if (low->value == high->value)
    log_.doubts.push_back(
        fmt::format("every sample is {:g} W: is it the right column?", low->value));
}

/// Zeros before a sensor was asked, and lone readings far off both neighbours, are not known.
void mend_temperatures(std::vector<HeaterReading>& readings, HeaterColumn column) {
  constexpr double kFarOff_k = 15.0;  // assumed, as the next
  constexpr double kNoZero_c = 10.0;
  const auto at = [&](std::size_t i) -> double& { return readings[i].values[column]; };
  double most_c = 0.0;
  for (std::size_t i = 0; i < readings.size(); ++i)
    most_c = std::max(most_c, at(i));
  if (most_c > kNoZero_c)
    for (std::size_t i = 0; i < readings.size(); ++i)
      if (at(i) == 0.0)
        at(i) = kNotKnown;
  for (std::size_t i = 1; i + 1 < readings.size(); ++i)
    if (std::abs(at(i) - at(i - 1)) > kFarOff_k && std::abs(at(i) - at(i + 1)) > kFarOff_k)
      at(i) = kNotKnown;
}

void Reader::finish_heaters() {
  std::vector<HeaterReading>& readings = log_.heaters;
  if (readings.size() < 2) {
    readings.clear();
    return;
  }
  mend_temperatures(readings, kBedC);
  mend_temperatures(readings, kNozzleC);
  std::vector<double> steps;
  for (std::size_t i = 1; i < readings.size(); ++i)
    steps.push_back(readings[i].t_s - readings[i - 1].t_s);
  const double usual_s = middle_of(std::move(steps));
  if (log_.interval_s <= 0.0)
    log_.interval_s = usual_s;
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const double step_s = i + 1 < readings.size() ? readings[i + 1].t_s - readings[i].t_s : usual_s;
    readings[i].lasts_s = step_s > kGapFactor * usual_s ? usual_s : step_s;
  }
  for (HeaterReading& reading : readings)
    reading.t_s -= first_s_;
}

}  // namespace

double MeterLog::energy_wh() const {
  double joules = 0.0;
  for (const MeterSample& sample : samples)
    joules += sample.w * sample.lasts_s;
  return base::wh_from_j(joules);
}

MeterLog parse_meter_log(std::string_view text, const std::string& path,
                         const MeterLogOptions& options) {
  return Reader(text, path, options).read();
}

MeterLog load_meter_log(const std::string& path, const MeterLogOptions& options) {
  std::string text;
  try {
    const std::unique_ptr<source::Plates> files = source::open_path(path);
    const std::unique_ptr<source::ByteSource> bytes = files->next();
    std::vector<char> chunk(source::kChunkBytes);
    while (const std::size_t got = bytes ? bytes->read(chunk) : 0) {
      text.append(chunk.data(), got);
      if (text.size() > kMostBytes)
        throw UnreadableLog(fmt::format("{}: is longer than 1 GiB", path));
    }
  } catch (const source::SourceError& error) {
    throw UnreadableLog(fmt::format("{}: {}", path, error.what()));
  }
  return parse_meter_log(text, path, options);
}

std::optional<double> mean_w(const MeterLog& log, double from_s, double to_s) {
  auto at =
      std::upper_bound(log.samples.begin(), log.samples.end(), from_s,
                       [](double t_s, const MeterSample& sample) { return t_s < sample.t_s; });
  if (at != log.samples.begin())
    --at;
  double joules = 0.0;
  double known_s = 0.0;
  for (; at != log.samples.end() && at->t_s < to_s; ++at) {
    const double overlap_s = std::min(at->t_s + at->lasts_s, to_s) - std::max(at->t_s, from_s);
    if (overlap_s <= 0.0)
      continue;
    joules += overlap_s * at->w;
    known_s += overlap_s;
  }
  if (known_s <= 0.0 || known_s < 0.5 * (to_s - from_s))
    return std::nullopt;
  return joules / known_s;
}

}  // namespace platetally
