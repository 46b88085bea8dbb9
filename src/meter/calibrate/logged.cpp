// Set points are played as they were. What a set point does not say is taken from the log as well:
//
//   start   temperatures of the first lines;
//   room    where bed and nozzle are off and cold at the beginning of a session: the lower of the
//           two; sessions that begin warm: the mean of the others;
//   part fan, and the air that a moving bed stirs: the nozzle's duty over its rise above the room,
//           by minutes in which it holds. The tenth part of the minutes with the least of it stand
//           still, the tenth with the most have everything on, and between the two the share goes
//           evenly. Where either is far from what the machine's description says of it, as in a log
//           that prints from end to end, the description's counts.
#include "meter/calibrate/logged.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "base/units.hpp"
#include "heat/film.hpp"

namespace platetally::calibrate {

namespace {

using timeline::HeatEvent;
using timeline::HeatEventKind;

// Assumed, all of them.
constexpr double kHeatedFor_s = 180.0;  // a session that is worth looking at
constexpr double kCold_c = 35.0;
constexpr double kAlike_k = 4.0;
constexpr double kHeld_k = 4.0;  // of its target
constexpr double kHotNozzle_c = 120.0;
constexpr double kTenth = 0.1;
constexpr std::size_t kFewestMinutes = 20;
constexpr double kApart = 1.2;
constexpr double kFar = 1.35;  // of what is described
constexpr double kFanStep = 0.1;

double value_or(double value, double other) {
  return std::isfinite(value) ? value : other;
}

/// The first temperature that is known; NaN where there is none.
double first_of(const MeterLog& log, HeaterColumn column) {
  for (const HeaterReading& reading : log.heaters)
    if (std::isfinite(reading.values[column]))
      return reading.values[column];
  return std::numeric_limits<double>::quiet_NaN();
}

std::optional<double> cold_room_of(const MeterLog& log) {
  const double bed_c = first_of(log, kBedC);
  const double nozzle_c = value_or(first_of(log, kNozzleC), bed_c);
  const bool is_off = value_or(log.heaters.front().values[kBedTarget], 0.0) <= 0.0 ||
                      log.heaters.front().values[kBedTarget] > bed_c + kAlike_k;
  if (!is_off || !(bed_c < kCold_c) || !(std::abs(bed_c - nozzle_c) < kAlike_k))
    return std::nullopt;
  return std::min(bed_c, nozzle_c);
}

double heated_s(const MeterLog& log) {
  double seconds = 0.0;
  for (const HeaterReading& reading : log.heaters)
    if (value_or(reading.values[kBedTarget], 0.0) > 0.0 ||
        value_or(reading.values[kNozzleTarget], 0.0) > 0.0)
      seconds += reading.lasts_s;
  return seconds;
}

/// By minutes of a session: duty of the nozzle over its rise, where it holds all the time.
std::map<int, double> holding_minutes(const MeterLog& log, double room_c) {
  struct Sum {
    double duty_s = 0.0, rise_s = 0.0, seconds = 0.0;
    bool holds = true;
  };
  std::map<int, Sum> sums;
  for (const HeaterReading& reading : log.heaters) {
    Sum& sum = sums[static_cast<int>(reading.t_s / base::kSecondsPerMinute)];
    const double target_c = reading.values[kNozzleTarget];
    sum.holds = sum.holds && target_c > kHotNozzle_c &&
                std::abs(reading.values[kNozzleC] - target_c) < kHeld_k &&
                std::isfinite(reading.values[kNozzleDuty]);
    sum.duty_s += reading.values[kNozzleDuty] * reading.lasts_s;
    sum.rise_s += (target_c - room_c) * reading.lasts_s;
    sum.seconds += reading.lasts_s;
  }
  std::map<int, double> minutes;
  for (const auto& [minute, sum] : sums)
    if (sum.holds && sum.seconds > 0.5 * base::kSecondsPerMinute && sum.rise_s > 0.0)
      minutes[minute] = sum.duty_s / sum.rise_s;
  return minutes;
}

double quantile(std::vector<double> values, double share) {
  const auto place =
      values.begin() + static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), place, values.end());
  return *place;
}

/// Duty over rise of a nozzle that stands still, and of one with everything on.
std::pair<double, double> levels_of(const std::vector<double>& minutes, const Machine& machine) {
  constexpr double kUsual_c = 215.0;
  const Head& head = machine.heads.front();
  const auto fourth = [](double c) { return std::pow(base::k_from_c(c), 4); };
  const double rays_w_k =
      heat::radiation_strength(head.radiating_area_cm2 * 1e-4, head.emissivity) *
      (fourth(kUsual_c) - fourth(machine.room_c)) / (kUsual_c - machine.room_c);
  const double still_w_k = head.still_loss_w_k + head.fan_loss_w_k + rays_w_k;
  double still = still_w_k / head.power_w;
  double blown = (still_w_k + head.fan_loss_w_k * head.part_fan_factor) / head.power_w;
  if (minutes.size() < kFewestMinutes)
    return {still, blown};
  const auto seen_if_near = [&](double described, double share) {
    const double seen = quantile(minutes, share);
    return seen < kFar * described && described < kFar * seen ? seen : described;
  };
  still = seen_if_near(still, kTenth);
  blown = std::max(kApart * still, seen_if_near(blown, 1.0 - kTenth));
  return {still, blown};
}

class Playing {
 public:
  Playing(const std::map<int, double>& minutes, double still, double blown)
      : minutes_(minutes), still_(still), blown_(blown) {}

  timeline::HeatLog play(const MeterLog& log) {
    HeatEvent take;
    take.kind = HeatEventKind::take_tool;
    take.tool = 0;
    made_.events.push_back(take);
    for (std::size_t i = 0; i < log.heaters.size(); ++i) {
      const HeaterReading& reading = log.heaters[i];
      set(interpreter::Heater::bed, reading.values[kBedTarget], bed_c_);
      set(interpreter::Heater::head, reading.values[kNozzleTarget], nozzle_c_);
      blow(static_cast<int>(reading.t_s / base::kSecondsPerMinute));
      wait_s_ +=
          i + 1 < log.heaters.size() ? log.heaters[i + 1].t_s - reading.t_s : reading.lasts_s;
    }
    flush();
    return std::move(made_);
  }

 private:
  void set(interpreter::Heater heater, double target_c, double& now_c) {
    if (!std::isfinite(target_c) || target_c == now_c)
      return;
    flush();
    now_c = target_c;
    HeatEvent event;
    event.kind = HeatEventKind::set_heater;
    event.heater = heater;
    event.tool = 0;
    event.value = target_c;
    made_.events.push_back(event);
  }
  /// The fan of a minute; a nozzle that does not hold says nothing, one that is off has none.
  void blow(int minute) {
    double fan = nozzle_c_ <= 0.0 ? 0.0 : fan_;
    if (const auto found = minutes_.find(minute); found != minutes_.end() && blown_ > still_)
      fan = std::clamp((found->second - still_) / (blown_ - still_), 0.0, 1.0);
    if (std::abs(fan - fan_) < kFanStep)
      return;
    flush();
    fan_ = fan;
    HeatEvent event;
    event.kind = HeatEventKind::set_fan;
    event.value = fan;
    made_.events.push_back(event);
  }
  void flush() {
    if (wait_s_ <= 0.0)
      return;
    HeatEvent span;
    span.tool = 0;
    span.duration_s = wait_s_;
    made_.events.push_back(span);
    wait_s_ = 0.0;
  }

  const std::map<int, double>& minutes_;
  double still_;
  double blown_;
  timeline::HeatLog made_;
  double bed_c_ = 0.0;
  double nozzle_c_ = 0.0;
  double fan_ = 0.0;
  double wait_s_ = 0.0;
};

}  // namespace

std::vector<Experiment> logged_experiments(const std::vector<MeterLog>& sessions,
                                           const Machine& machine) {
  std::vector<Experiment> experiments;
  double rooms_c = 0.0;
  int rooms = 0;
  for (const MeterLog& session : sessions) {
    if (session.heaters.empty() || heated_s(session) < kHeatedFor_s)
      continue;
    Experiment experiment;
    experiment.log = &session;
    experiment.is_logged = true;
    experiment.room_c = cold_room_of(session);
    if (experiment.room_c) {
      rooms_c += *experiment.room_c;
      ++rooms;
    }
    experiments.push_back(experiment);
  }
  std::vector<std::map<int, double>> minutes;
  std::vector<double> all;
  for (Experiment& experiment : experiments) {
    if (!experiment.room_c && rooms > 0)
      experiment.room_c = rooms_c / rooms;
    const double room_c = experiment.room_c.value_or(machine.room_c);
    experiment.start_bed_c = value_or(first_of(*experiment.log, kBedC), room_c);
    experiment.start_head_c = value_or(first_of(*experiment.log, kNozzleC), room_c);
    minutes.push_back(holding_minutes(*experiment.log, room_c));
    for (const auto& [minute, share] : minutes.back())
      all.push_back(share);
  }
  const auto [still, blown] = levels_of(all, machine);
  for (std::size_t i = 0; i < experiments.size(); ++i)
    experiments[i].heat_log = Playing(minutes[i], still, blown).play(*experiments[i].log);
  return experiments;
}

}  // namespace platetally::calibrate
