#include "motion/planner.hpp"
#include <algorithm>
#include <cmath>
namespace platetally::motion {
using interpreter::RecordKind;
Planner::Planner(const Machine& m, TimedSink& s)
    : limits_(m.motion), procedures_(m.procedures), sink_(s) {}
void Planner::take(std::span<const interpreter::Record> b) {
  for (auto& r : b)
    add(r);
}
void Planner::finish() {
  settle();
}
void Planner::add(const interpreter::Record& r) {
  TimedRecord t;
  t.record = r;
  Plan p;
  if (r.kind == RecordKind::move) {
    const auto& m = r.move;
    double d[4] = {m.to_mm[0] - m.from_mm[0], m.to_mm[1] - m.from_mm[1], m.to_mm[2] - m.from_mm[2],
                   m.e_mm};
    double l = std::sqrt(d[0] * d[0] + d[1] * d[1] + d[2] * d[2]);
    if (m.is_arc()) {
      double rr = std::hypot(m.from_mm[0] - m.centre_mm[0], m.from_mm[1] - m.centre_mm[1]);
      l = std::hypot(rr * m.sweep_rad, d[2]);
    }
    t.length_mm = l;
    if (l == 0)
      l = std::abs(d[3]);
    p.length = l;
    p.speed = m.feed_mm_s > 0 ? m.feed_mm_s : 1e9;
    p.acc = t.length_mm == 0 ? limits_.retract_acceleration_mm_s2
            : m.e_mm != 0    ? limits_.print_acceleration_mm_s2
                             : limits_.travel_acceleration_mm_s2;
    for (std::size_t i = 0; i < 4 && l > 0; ++i) {
      p.dir[i] = d[i] / l;
      double a = std::abs(p.dir[i]);
      if (a > 1e-12) {
        p.speed = std::min(p.speed, limits_.speed_mm_s[i] / a);
        p.acc = std::min(p.acc, limits_.acceleration_mm_s2[i] / a);
      }
    }
    p.cap = 0;
    if (!plans_.empty() && plans_.back().length > 0 && l > 0) {
      const Plan& q = plans_.back();
      double c = 0;
      for (int i = 0; i < 3; ++i)
        c += p.dir[i] * q.dir[i];
      c = std::clamp(c, -1.0, 1.0);
      double s = std::sqrt(0.5 * (1 + c));  // sin(phi/2), phi interior
      double v2 = s > 0.999999
                      ? 1e18
                      : std::min(p.acc, q.acc) * limits_.junction_deviation_mm * s / (1 - s);
      p.cap = std::min({v2, p.speed * p.speed, q.speed * q.speed});
    }
    pending_.push_back(t);
    plans_.push_back(p);
    if (plans_.size() >= 4096)
      settle();
    return;
  }
  if (r.kind == RecordKind::set_limits) {
    auto& e = r.event;
    auto ax = [&](auto& arr) {
      for (std::size_t i = 0; i < 4; ++i)
        if (std::isfinite(e.values[i]))
          arr[i] = e.values[i];
    };
    switch (e.limit) {
      case interpreter::Limit::axis_speed_mm_s:
        ax(limits_.speed_mm_s);
        break;
      case interpreter::Limit::axis_acceleration_mm_s2:
        ax(limits_.acceleration_mm_s2);
        break;
      case interpreter::Limit::print_acceleration_mm_s2:
        limits_.print_acceleration_mm_s2 = e.values[0];
        break;
      case interpreter::Limit::travel_acceleration_mm_s2:
        limits_.travel_acceleration_mm_s2 = e.values[0];
        break;
      case interpreter::Limit::retract_acceleration_mm_s2:
        limits_.retract_acceleration_mm_s2 = e.values[0];
        break;
      case interpreter::Limit::junction_deviation_mm:
        limits_.junction_deviation_mm = e.values[0];
        break;
      default:
        break;
    }
  }
  settle();
  if (r.kind == RecordKind::dwell || r.kind == RecordKind::takes_seconds)
    t.motion_s = r.event.value;
  if (r.kind == RecordKind::firmware_retract)
    t.motion_s = procedures_.retract_mm / procedures_.retract_speed_mm_s;
  if (r.kind == RecordKind::firmware_return)
    t.motion_s = procedures_.retract_mm / procedures_.return_speed_mm_s;
  sink_.take({&t, 1});
}
void Planner::settle() {
  std::size_t n = plans_.size();
  std::vector<double> w(n + 1, 0.0);
  for (std::size_t i = n; i-- > 0;)
    w[i] = std::min(i == 0 ? 0.0 : plans_[i].cap, w[i + 1] + 2 * plans_[i].acc * plans_[i].length);
  for (std::size_t i = 0; i < n; ++i)
    w[i + 1] = std::min(w[i + 1], w[i] + 2 * plans_[i].acc * plans_[i].length);
  for (std::size_t i = 0; i < n; ++i) {
    auto& p = plans_[i];
    if (p.length <= 0)
      continue;
    double v0 = std::sqrt(w[i]), v1 = std::sqrt(w[i + 1]);
    double vp =
        std::min(p.speed, std::sqrt(std::max(0.0, (2 * p.acc * p.length + w[i] + w[i + 1]) / 2)));
    vp = std::max({vp, v0, v1});
    double s = (2 * vp * vp - w[i] - w[i + 1]) / (2 * p.acc);
    pending_[i].motion_s = (2 * vp - v0 - v1) / p.acc + std::max(0.0, p.length - s) / vp;
  }
  if (n)
    sink_.take({pending_.data(), n});
  pending_.clear();
  plans_.clear();
}
}  // namespace platetally::motion
