// The print, played to the thermal network: spans, set points, waits, tools.
#include "heat/simulate.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <numeric>

#include "base/diagnostics.hpp"
#include "base/units.hpp"
#include "heat/awaited.hpp"
#include "heat/heater_sample.hpp"
#include "heat/loads.hpp"
#include "heat/power_trace.hpp"
#include "heat/stepper.hpp"
#include "heat/thermal_machine.hpp"
#include "heat/zones.hpp"

namespace platetally::heat {

using Which = interpreter::Heater;
using timeline::HeatEvent;
using timeline::HeatEventKind;

namespace {

// Assumed, all of them.
constexpr double kLongestWaitS = 7200.0;
constexpr double kLongestWaitsS = 3.0 * base::kSecondsPerDay;  // of a plate: bounds its steps
constexpr double kPlateauLookS = 120.0;                        // a temperature that moves less than
constexpr double kPlateauK = 0.05;       // this in that time has reached its plateau
constexpr double kHeadFanFromC = 50.0;   // a head that is hotter is cooled, on or off
constexpr double kGrains = 400.0;        // that a print is played in, at least,
constexpr double kLongestGrainS = 60.0;  // each as long as that at most

class Run {
 public:
  Run(const Machine& machine, const std::vector<Material>& materials, const timeline::HeatLog& log,
      const HeatOptions& options)
      : machine_(machine),
        materials_(materials),
        log_(log),
        options_(options),
        thermal_(machine),
        stepper_(thermal_.network(), thermal_.heaters(), machine.supply.dc_limit_w),
        zones_(machine.bed, log.footprint_by_layer),
        head_set_c_(machine.heads.size(), 0.0),
        tool_on_head_(machine.heads.size(), -1) {
    result_.tools.resize(machine.tools.size());
    result_.zones.resize(thermal_.tiles());
    result_.waited_before_stop_s.resize(log.stop_lines.size());
    thermal_.start_at(options.start_bed_c.value_or(machine.room_c),
                      options.start_head_c.value_or(machine.room_c), stepper_.temperatures_c());
    stepper_.settle_sensors();
    for (ZoneHeat& zone : result_.zones)
      zone.peak_c = options.start_bed_c.value_or(machine.room_c);
    for (std::size_t tool = machine.tools.size(); tool-- > 0;)
      tool_on_head_[static_cast<std::size_t>(machine.tools[tool].head)] = static_cast<int>(tool);
    plan_ = zones_.plan(0);
    double spans_s = 0.0;
    for (const HeatEvent& event : log.events)
      spans_s += event.duration_s;
    joined_s_ = std::clamp(spans_s / kGrains, log.joined_s, std::max(log.joined_s, kLongestGrainS));
    stepper_.ceiling_s = std::max(joined_s_, stepper_.ceiling_s);
  }

  HeatResult go() {
    const Eigen::VectorXd start_c = stepper_.temperatures_c();
    for (std::size_t i = 0; i < log_.events.size(); ++i)
      i = play(i);
    if (log_.left_out > 0)
      note("heat-log-full", Severity::warning, 0,
           fmt::format(
               "found more set points and waits than can be kept; expected fewer; {} of them were "
               "left out of the heat model",
               log_.left_out));
    for (Eigen::Index i = 0; i < start_c.size(); ++i)
      result_.book_stored_j += thermal_.network().heat_capacity_j_k()[static_cast<std::size_t>(i)] *
                               (stepper_.temperatures_c()[i] - start_c[i]);
    result_.book_residual =
        std::abs(result_.book_in_j - result_.book_out_j - result_.book_stored_j) /
        std::max(1.0, result_.book_in_j);
    std::partial_sum(result_.waited_before_stop_s.begin(), result_.waited_before_stop_s.end(),
                     result_.waited_before_stop_s.begin());
    result_.connected_load_w =
        connected_load_w(machine_, thermal_.tiles(), thermal_.has_enclosure_heater());
    result_.peak_quarter_hour_w = trace_.peak_quarter_hour_w();
    result_.power = trace_.take();
    result_.diagnostics = diagnostics_.entries();
    return std::move(result_);
  }

 private:
  /// Plays the event at `index`; returns the last one played.
  std::size_t play(std::size_t index) {
    const HeatEvent& event = log_.events[index];
    switch (event.kind) {
      case HeatEventKind::span:
        return play_spans(index);
      case HeatEventKind::set_heater:
        set_heater(event);
        break;
      case HeatEventKind::wait_heater:
        wait(event);
        break;
      case HeatEventKind::set_fan:
        fan_ = std::clamp(event.value, 0.0, 1.0);
        apply();
        break;
      case HeatEventKind::take_tool:
        take_tool(event);
        break;
      case HeatEventKind::motors:
        motors_enabled_ = event.value > 0.0;
        break;
    }
    return index;
  }

  /// Joins spans of one owner up to joined_s_: in hold the power follows the mean flow.
  std::size_t play_spans(std::size_t index) {
    HeatEvent joined = log_.events[index];
    std::size_t last = index;
    for (std::size_t i = index + 1; i < log_.events.size(); ++i) {
      const HeatEvent& next = log_.events[i];
      if (next.kind != HeatEventKind::span || next.tool != joined.tool ||
          next.layer != joined.layer || joined.duration_s + next.duration_s > joined_s_)
        break;
      joined.duration_s += next.duration_s;
      joined.moving_s += next.moving_s;
      joined.volume_mm3 += next.volume_mm3;
      last = i;
    }
    enter_layer(joined.layer);
    motors_enabled_ = motors_enabled_ || joined.moving_s > 0.0;
    set_flow(joined);
    advance(joined.duration_s, joined.moving_s / joined.duration_s, joined.tool);
    thermal_.set_flow(-1, 0.0);
    return last;
  }

  void set_flow(const HeatEvent& span) {
    if (span.volume_mm3 <= 0.0 || span.tool < 0) {
      thermal_.set_flow(-1, 0.0);
      return;
    }
    const auto tool = static_cast<std::size_t>(span.tool);
    const Material& material = materials_[tool];
    const double g_s = base::g_from_mm3(span.volume_mm3, material.density_g_cm3) / span.duration_s;
    // Enthalpy grows about linearly between room and nozzle temperature.
    const double rise_k = std::max(1.0, material.nozzle_c - material.reference_room_c);
    thermal_.set_flow(machine_.tools[tool].head, g_s * material.enthalpy_j_g / rise_k);
  }

  void enter_layer(std::uint32_t layer) {
    if (result_.layers.size() <= layer)
      result_.layers.resize(layer + 1U);
    if (result_.layers[layer].start_s < 0.0)
      result_.layers[layer].start_s = clock_s_;
    if (layer == layer_)
      return;
    layer_ = layer;
    if (!machine_.bed.follow_layers)
      return;
    const ZonePlan next = zones_.plan(layer);
    if (next.active != plan_.active) {
      plan_ = next;
      apply();
    }
  }

  void set_heater(const HeatEvent& event) {
    switch (event.heater) {
      case Which::bed:
        bed_set_c_ = std::min(event.value, machine_.bed.maximum_c);
        break;
      case Which::enclosure:
        enclosure_set_c_ = std::min(event.value, machine_.enclosure.maximum_c);
        if (enclosure_set_c_ > 0.0 && !thermal_.has_enclosure_heater())
          note("enclosure-not-heated", Severity::warning, event.line,
               fmt::format(
                   "found a temperature for the enclosure; '{}' has no heater for it; left out",
                   machine_.name));
        break;
      case Which::head: {
        const auto head =
            static_cast<std::size_t>(machine_.tools[static_cast<std::size_t>(event.tool)].head);
        head_set_c_[head] = std::min(event.value, machine_.heads[head].maximum_c);
        break;
      }
    }
    apply();
  }

  void take_tool(const HeatEvent& event) {
    head_in_hand_ = event.tool < 0 ? -1 : machine_.tools[static_cast<std::size_t>(event.tool)].head;
    if (event.tool >= 0)
      tool_on_head_[static_cast<std::size_t>(head_in_hand_)] = event.tool;
    apply();
    if (head_in_hand_ < 0)
      return;
    // A head that waited at standby must be hot again before it prints.
    const auto head = static_cast<std::size_t>(head_in_hand_);
    if (machine_.heads[head].standby_c > 0.0 &&
        machine_.heads[head].standby_c < head_set_c_[head]) {
      HeatEvent reheat = event;
      reheat.heater = Which::head;
      wait(reheat);
    }
  }

  double head_target_c(std::size_t head) const {
    const double standby_c = machine_.heads[head].standby_c;
    const bool waits = static_cast<int>(head) != head_in_hand_ && standby_c > 0.0;
    return waits ? std::min(standby_c, head_set_c_[head]) : head_set_c_[head];
  }

  /// Puts set points, zones and fans into the network.
  void apply() {
    const double warm_c =
        machine_.room_c + machine_.bed.neighbour_fraction * (bed_set_c_ - machine_.room_c);
    for (std::size_t tile = 0; tile < thermal_.tiles(); ++tile) {
      const bool active = ((plan_.active >> tile) & 1U) != 0;
      const bool warm = ((plan_.warm >> tile) & 1U) != 0;
      const double target_c = active ? bed_set_c_ : warm ? warm_c : 0.0;
      set_target(tile, target_c, bed_set_c_ > machine_.room_c && (active || warm));
    }
    thermal_.set_cluster(plan_.active | plan_.warm);
    for (std::size_t head = 0; head < machine_.heads.size(); ++head) {
      const double target_c = head_target_c(head);
      set_target(thermal_.head_heater(head), target_c, target_c > machine_.room_c);
    }
    if (thermal_.has_enclosure_heater())
      set_target(thermal_.enclosure_heater(), enclosure_set_c_, enclosure_set_c_ > machine_.room_c);
    thermal_.set_part_fan(fan_, head_in_hand_, plan_.active);
  }

  void set_target(std::size_t heater, double target_c, bool on) {
    const heat::Heater& now = stepper_.heaters()[heater];
    changed_ = changed_ || now.target_c != target_c || now.on != on;
    stepper_.set_target(heater, target_c, on);
  }

  Loads loads(double moving_share) const {
    Loads loads;
    const Supply& supply = machine_.supply;
    if (motors_enabled_) {
      loads.motors_w =
          moving_share * supply.motors_moving_w + (1.0 - moving_share) * supply.motors_holding_w;
      loads.fans_w = supply.auxiliary_fans_w;
    }
    loads.fans_w += fan_ * supply.part_fan_w;
    for (std::size_t head = 0; head < machine_.heads.size(); ++head) {
      const std::size_t heater = thermal_.head_heater(head);
      const double t_c = stepper_.temperatures_c()[stepper_.heaters()[heater].node];
      if (stepper_.heaters()[heater].on || t_c > kHeadFanFromC)
        loads.fans_w += machine_.heads[head].fan_w;
    }
    return loads;
  }

  /// How far beyond what is watched for the step that is being tried ends, K: a band that is waited
  /// for, a hot head that goes cold, whose fan then stops.
  double beyond_k(const Awaited* awaited) const {
    double farthest_k = awaited != nullptr ? -awaited->next_distance_k() : -1e9;
    for (std::size_t head = 0; head < machine_.heads.size(); ++head)
      if (cools_down(head))
        farthest_k = std::max(farthest_k,
                              kHeadFanFromC - stepper_.sensor_next_c(thermal_.head_heater(head)));
    return farthest_k;
  }

  bool cools_down(std::size_t head) const {
    const heat::Heater& heater = stepper_.heaters()[thermal_.head_heater(head)];
    return !heater.on && stepper_.temperatures_c()[heater.node] > kHeadFanFromC;
  }

  bool any_cools_down() const {
    for (std::size_t head = 0; head < machine_.heads.size(); ++head)
      if (cools_down(head))
        return true;
    return false;
  }

  /// At most `duration_s`, to the end of what is awaited.
  void advance(double duration_s, double moving_share, int tool, const Awaited* awaited = nullptr) {
    double left_s = duration_s;
    while (left_s > 0.0) {
      const double began_s = clock_s_;
      left_s -= advance_evenly(left_s, loads(moving_share), awaited);
      count_time(clock_s_ - began_s, tool);
      if (left_s < 1e-9 * duration_s || (awaited != nullptr && awaited->distance_k() <= 0.0))
        break;
    }
    result_.total_s = clock_s_;
  }

  /// Until what is watched for happens. Returns how long that took.
  double advance_evenly(double duration_s, const Loads& constant, const Awaited* awaited) {
    if (thermal_.has_enclosure())
      stepper_.source_w()[thermal_.air_node()] =
          machine_.enclosure.waste_heat_share *
          (constant.motors_w + constant.fans_w + machine_.supply.idle_w);
    stepper_.refresh(changed_);
    changed_ = false;
    std::function<double()> beyond;
    if (awaited != nullptr || any_cools_down())
      beyond = [this, awaited] { return beyond_k(awaited); };
    return stepper_.advance(
        duration_s,
        [&](const StepReport& step) {
          ++result_.steps;
          PowerSample sample{clock_s_, step.duration_s, {}};
          book(step, constant, sample.energy);
          trace_.keep(sample);
          if (options_.keeps_heaters)
            result_.heaters.push_back(
                heater_sample(machine_, thermal_, stepper_, step, plan_.active, clock_s_));
          clock_s_ += step.duration_s;
        },
        beyond);
  }

  /// Adds one step to every book.
  void book(const StepReport& step, const Loads& constant, EnergyBy& sample) {
    const Supply& supply = machine_.supply;
    EnergyBy energy;
    for (int stage = 0; stage < 2; ++stage) {
      const std::vector<double>& heater_w = *step.heater_w[stage];
      const double weight_s = step.weight_s[stage];
      double dc_w = constant.motors_w + constant.fans_w;
      double ac_w = 0.0;
      double bed_w = 0.0, heads_w = 0.0, enclosure_w = 0.0, heat_w = 0.0;
      for (std::size_t i = 0; i < heater_w.size(); ++i) {
        const double w = heater_w[i];
        (stepper_.heaters()[i].is_dc ? dc_w : ac_w) += w;
        heat_w += w;
        const double wh = base::wh_from_j(weight_s * w);
        if (i < thermal_.tiles()) {
          bed_w += w;
          result_.zones[i].energy_wh += wh;
        } else if (i < thermal_.tiles() + machine_.heads.size()) {
          heads_w += w;
          const int tool = tool_on_head_[i - thermal_.tiles()];
          if (tool >= 0)
            result_.tools[static_cast<std::size_t>(tool)].energy_wh += wh;
        } else {
          enclosure_w += w;
        }
      }
      const double loss_w = supply_loss_w(supply, dc_w, ac_w);
      energy.bed_wh += base::wh_from_j(weight_s * bed_w);
      energy.hot_ends_wh += base::wh_from_j(weight_s * heads_w);
      energy.enclosure_wh += base::wh_from_j(weight_s * enclosure_w);
      energy.supply_loss_wh += base::wh_from_j(weight_s * loss_w);
      result_.peak_power_w = std::max(result_.peak_power_w, supply.idle_w + dc_w + ac_w + loss_w);
      double source_w = 0.0;
      if (thermal_.has_enclosure())
        source_w = stepper_.source_w()[thermal_.air_node()];
      result_.book_in_j += weight_s * (heat_w + source_w);
      result_.book_out_j += weight_s * step.to_room_w[stage];
    }
    energy.motors_wh = base::wh_from_j(step.duration_s * constant.motors_w);
    energy.fans_wh = base::wh_from_j(step.duration_s * constant.fans_w);
    energy.electronics_wh = base::wh_from_j(step.duration_s * supply.idle_w);
    for (EnergyBy* sum : {&result_.energy, &result_.layers[layer_].energy, &sample})
      *sum += energy;
    for (std::size_t tile = 0; tile < thermal_.tiles(); ++tile)
      result_.zones[tile].peak_c = std::max(
          result_.zones[tile].peak_c, stepper_.temperatures_c()[stepper_.heaters()[tile].node]);
  }

  void count_time(double duration_s, int tool) {
    LayerHeat& layer = result_.layers[layer_];
    if (bed_set_c_ > machine_.room_c) {
      layer.zones_active |= plan_.active;
      layer.zones_warm |= plan_.warm;
      result_.zones_used |= plan_.active;
      for (std::size_t tile = 0; tile < thermal_.tiles(); ++tile) {
        if (((plan_.active >> tile) & 1U) != 0)
          result_.zones[tile].active_s += duration_s;
        else if (((plan_.warm >> tile) & 1U) != 0)
          result_.zones[tile].neighbour_s += duration_s;
      }
    }
    if (tool >= 0)
      result_.tools[static_cast<std::size_t>(tool)].active_s += duration_s;
    for (std::size_t head = 0; head < machine_.heads.size(); ++head) {
      const int waiting = tool_on_head_[head];
      if (waiting >= 0 && waiting != tool && static_cast<int>(head) != head_in_hand_ &&
          stepper_.heaters()[thermal_.head_heater(head)].on)
        result_.tools[static_cast<std::size_t>(waiting)].standby_s += duration_s;
    }
  }

  bool can_wait(const HeatEvent& event) const {
    if (event.heater == Which::bed)
      return bed_set_c_ > machine_.room_c || event.wait_cooling;
    if (event.heater == Which::enclosure)
      return thermal_.has_enclosure_heater() && enclosure_set_c_ > machine_.room_c;
    if (event.tool < 0 || static_cast<std::size_t>(event.tool) >= machine_.tools.size())
      return false;
    const auto head =
        static_cast<std::size_t>(machine_.tools[static_cast<std::size_t>(event.tool)].head);
    return head_set_c_[head] > machine_.room_c || event.wait_cooling;
  }

  void wait(const HeatEvent& event) {
    enter_layer(event.layer);
    if (!can_wait(event))
      return;
    if (result_.wait_s > kLongestWaitsS) {
      note("waits-too-long", Severity::error, event.line,
           "the plate waits for heaters longer than three days up to here; expected less; from "
           "here on waits take no time");
      return;
    }
    const double began_s = clock_s_;
    const int tool =
        head_in_hand_ < 0 ? -1 : tool_on_head_[static_cast<std::size_t>(head_in_hand_)];
    const Awaited awaited(machine_, thermal_, stepper_, event, plan_.active);
    double looked_k = awaited.distance_k();
    while (looked_k > 0.0) {
      advance(kPlateauLookS, 0.0, tool, &awaited);
      const double now_k = awaited.distance_k();
      if (now_k > 0.0 && (looked_k - now_k < kPlateauK || clock_s_ - began_s > kLongestWaitS)) {
        note(
            "target-unreachable", Severity::warning, event.line,
            fmt::format("the {} never reached its target: {:.1f} K short after {:.0f} s; continued",
                        awaited.name(), now_k, clock_s_ - began_s));
        break;
      }
      looked_k = now_k;
    }
    advance(awaited.residency_s(), 0.0, tool);
    const double waited_s = clock_s_ - began_s;
    result_.layers[layer_].wait_s += waited_s;
    result_.wait_s += waited_s;
    const auto next = std::ranges::upper_bound(log_.stop_lines, event.line);
    if (next != log_.stop_lines.end())
      result_.waited_before_stop_s[static_cast<std::size_t>(next - log_.stop_lines.begin())] +=
          waited_s;
  }

  void note(const char* code, Severity severity, std::uint64_t line, std::string message) {
    Diagnostic diagnostic;
    diagnostic.code = code;
    diagnostic.severity = severity;
    diagnostic.line = line;
    diagnostic.message = std::move(message);
    diagnostics_.add(std::move(diagnostic));
  }

  const Machine& machine_;
  const std::vector<Material>& materials_;
  const timeline::HeatLog& log_;
  const HeatOptions& options_;
  ThermalMachine thermal_;
  Stepper stepper_;
  ZonePlanner zones_;
  ZonePlan plan_;
  HeatResult result_;
  PowerTrace trace_;
  base::Diagnostics diagnostics_;
  std::vector<double> head_set_c_;
  std::vector<int> tool_on_head_;
  double bed_set_c_ = 0.0;
  double enclosure_set_c_ = 0.0;
  double fan_ = 0.0;
  bool motors_enabled_ = false;
  int head_in_hand_ = -1;
  std::uint32_t layer_ = 0;
  double clock_s_ = 0.0;
  double joined_s_ = 0.0;  ///< spans are played together up to this long
  bool changed_ = true;    ///< set points, since the last step
};

}  // namespace

HeatResult run_heat(const Machine& machine, const std::vector<Material>& materials,
                    const timeline::HeatLog& log, const HeatOptions& options) {
  // The log's tools are those that a person's changes make of the machine's.
  if (machine.swap.filament_change_by_hand)
    return Run(filaments_by_hand(machine), materials, log, options).go();
  return Run(machine, materials, log, options).go();
}

}  // namespace platetally::heat
