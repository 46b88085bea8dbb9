#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <map>
#include <sstream>

#include "meter/logs/columns.hpp"
#include "platetally/meter.hpp"
#include "reading/source/content.hpp"

namespace platetally {

namespace {

using meter::Layout;

// Assumed, all of them.
constexpr std::size_t kHeadLines = 12;
constexpr std::size_t kMostBytes = std::size_t{1} << 30;
constexpr double kLongestStepBack_s = 2.0;  // jitter of clocks; more is a clock that was set
constexpr double kGapFactor = 10.0;         // of the median distance: longer is not known
constexpr double kEpochFrom = 1e9;          // September 2001

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
    log_.hash = source::hash_of_text(text_);
    read_lines();
    if (raw_.size() < 2)
      throw UnreadableLog(
          fmt::format("{}: holds {} samples that can be read; expected lines such "
                      "as \"12.5,231.4\" (seconds, watts)",
                      log_.path, raw_.size()));
    if (raw_.front().t_s >= kEpochFrom)
      log_.start_epoch_s = raw_.front().t_s;
    if (layout_.cumulative)
      to_watts();
    drop_negative();
    drop_spikes();
    make_samples();
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
  void take(std::string_view line, std::uint64_t number);
  void to_watts();
  void drop_negative();
  void drop_spikes();
  void make_samples();

  std::string_view text_;
  const MeterLogOptions& options_;
  Layout layout_;
  MeterLog log_;
  std::vector<Raw> raw_;
  std::map<std::string, RejectedLines> rejected_;
  double latest_s_ = -1e300;
  bool set_back_ = false;
};

void Reader::read_lines() {
  std::vector<std::pair<std::string_view, std::uint64_t>> lines;
  std::uint64_t number = 0;
  for (std::size_t from = 0; from < text_.size();) {
    const std::size_t end = std::min(text_.find('\n', from), text_.size());
    std::string_view line = text_.substr(from, end - from);
    from = end + 1;
    ++number;
    if (number == 1 && line.starts_with("\xEF\xBB\xBF"))
      line.remove_prefix(3);
    if (!line.empty() && line.back() == '\r')
      line.remove_suffix(1);
    if (line.find_first_not_of(" \t") == std::string_view::npos || line.front() == '#')
      continue;
    lines.emplace_back(line, number);
  }
  if (lines.empty())
    throw UnreadableLog(fmt::format("{}: is empty", log_.path));
  std::vector<std::string_view> head;
  for (std::size_t i = 0; i < std::min(kHeadLines, lines.size()); ++i)
    head.push_back(lines[i].first);
  layout_ = meter::find_layout(head, log_.path, options_);
  log_.readings = layout_.readings;
  for (std::size_t i = layout_.has_heading ? 1 : 0; i < lines.size(); ++i)
    take(lines[i].first, lines[i].second);
}

void Reader::take(std::string_view line, std::uint64_t number) {
  const auto cells = meter::cut(line, layout_.separator);
  if (cells.size() <= std::max(layout_.time, layout_.value))
    return reject("has too few columns", number);
  const auto t_s = meter::read_time(cells[layout_.time], layout_);
  if (!t_s)
    return reject("its time cannot be read", number);
  const auto value = meter::read_number(cells[layout_.value], layout_.decimal_comma);
  if (!value)
    return reject("its value cannot be read", number);
  if (*t_s == latest_s_)
    return reject("has the time of the line before", number);
  if (*t_s < latest_s_) {
    if (latest_s_ - *t_s > kLongestStepBack_s && !set_back_) {
      set_back_ = true;
      log_.doubts.push_back(fmt::format(
          "the clock was set back by {:.0f} s in line {}; what follows is left out until "
          "it has caught up",
          latest_s_ - *t_s, number));
    }
    return reject("goes back in time", number);
  }
  latest_s_ = *t_s;
  raw_.push_back({*t_s, *value * layout_.value_scale, number});
}

/// A counter gives the mean since the line before.
void Reader::to_watts() {
  std::vector<Raw> watts;
  for (std::size_t i = 0; i + 1 < raw_.size(); ++i) {
    const double wh = raw_[i + 1].value - raw_[i].value;
    if (wh < 0.0) {
      reject("the counter begins anew", raw_[i + 1].line);
      continue;
    }
    watts.push_back({raw_[i].t_s, wh * 3600.0 / (raw_[i + 1].t_s - raw_[i].t_s), raw_[i].line});
  }
  raw_ = std::move(watts);
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
  const auto middle = steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2);
  std::nth_element(steps.begin(), middle, steps.end());
  const double usual_w = std::max(*middle, 0.1);
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
  auto middle = steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2);
  std::nth_element(steps.begin(), middle, steps.end());
  log_.interval_s = *middle;
  const double longest_s = kGapFactor * log_.interval_s;
  double gaps_s = 0.0;
  std::size_t gaps = 0;
  const double origin_s = raw_.front().t_s;
  for (std::size_t i = 0; i < raw_.size(); ++i) {
    const double step_s = i + 1 < raw_.size() ? raw_[i + 1].t_s - raw_[i].t_s : log_.interval_s;
    const bool gap = step_s > longest_s;
    if (gap) {
      ++gaps;
      gaps_s += step_s - log_.interval_s;
    }
    log_.samples.push_back({raw_[i].t_s - origin_s, raw_[i].value, gap ? log_.interval_s : step_s});
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

}  // namespace

double MeterLog::energy_wh() const {
  double joules = 0.0;
  for (const MeterSample& sample : samples)
    joules += sample.w * sample.lasts_s;
  return joules / 3600.0;
}

MeterLog parse_meter_log(std::string_view text, const std::string& path,
                         const MeterLogOptions& options) {
  return Reader(text, path, options).read();
}

MeterLog load_meter_log(const std::string& path, const MeterLogOptions& options) {
  std::ifstream file(path, std::ios::binary);
  if (!file)
    throw UnreadableLog(fmt::format("{}: cannot be read", path));
  std::ostringstream bytes;
  bytes << file.rdbuf();
  std::string text = std::move(bytes).str();
  if (text.size() > kMostBytes)
    throw UnreadableLog(fmt::format("{}: is longer than 1 GiB", path));
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
