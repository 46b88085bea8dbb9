// A plate kept for variants, made by hand: layers of even turns, on a tower, into a chute, or
// without purge.
#pragma once

#include <algorithm>
#include <map>
#include <random>
#include <utility>
#include <vector>

#include "account/ledgers/heat_rows.hpp"
#include "account/whatif/kept_plate.hpp"
#include "base/units.hpp"
#include "heat/simulate.hpp"
#include "motion/timeline/durations.hpp"

namespace platetally::test {

/// By layer, one to three of the first three tools.
inline std::vector<std::vector<int>> any_orders(std::mt19937& random, std::size_t layers) {
  std::vector<std::vector<int>> orders;
  for (std::size_t i = 0; i < layers; ++i) {
    std::vector<int> order{0, 1, 2};
    std::shuffle(order.begin(), order.end(), random);
    order.resize(1 + random() % 3);
    orders.push_back(order);
  }
  return orders;
}

/// Each tool of a layer prints kPrintS, travels kTravelS and lays kPartMm; each swap in front of it
/// purges kPurgeMm in kPurgeS.
struct HandMade {
  static constexpr double kPrintS = 20.0;
  static constexpr double kTravelS = 2.0;
  static constexpr double kLandingS = 0.5;  ///< of kTravelS, behind a swap
  static constexpr double kPurgeS = 6.0;
  static constexpr double kPurgeMm = 10.0;
  static constexpr double kPartMm = 30.0;
  static constexpr double kHeadC = 215.0;
  static constexpr double kStepMm = 0.2;

  Machine machine;
  std::vector<std::vector<int>> layers;
  bool on_tower = false;
  double filler_mm = 0.0;  ///< of a tower, in each layer with fewer swaps than the most

  explicit HandMade(std::vector<std::vector<int>> orders, std::size_t heads = 4)
      : layers(std::move(orders)) {
    machine.heads.assign(heads, Head{});
    machine.tools.assign(4, Tool{});
    for (std::size_t tool = 0; tool < machine.tools.size(); ++tool)
      machine.tools[tool].head = static_cast<int>(tool % heads);
    machine.swap.head_change_s = {5, 7, 9};
    machine.swap.filament_change_s = {40, 50, 70};
  }

  whatif::KeptPlate make() const {
    whatif::KeptPlate plate{machine, {}, {}, {}, ledgers::Footprint(machine.area), {}, {}, {}};
    for (std::size_t tool = 0; tool < machine.tools.size(); ++tool)
      plate.materials.push_back(*find_embedded_material("PLA"));
    lay_footprint(plate);
    make_turns(plate);
    make_log(plate);
    plate.ordinals.resize(layers.size() + 1);
    for (std::size_t i = 0; i < plate.ordinals.size(); ++i)
      plate.ordinals[i] = i;
    make_account(plate);
    return plate;
  }

 private:
  static void lay_footprint(whatif::KeptPlate& plate) {
    interpreter::Move move{};
    for (double y = 100.0; y <= 140.0; y += 1.0) {
      move.from_mm = {100.0, y, 0.2};
      move.to_mm = {140.0, y, 0.2};
      plate.footprint.add(move, 1);
    }
  }

  void make_turns(whatif::KeptPlate& plate) const {
    std::size_t most = 0;
    std::vector<std::size_t> swaps;
    int in_hand = layers.front().front();
    for (const std::vector<int>& order : layers) {
      std::size_t count = 0;
      for (const int tool : order) {
        count += tool != in_hand ? 1U : 0U;
        in_hand = tool;
      }
      swaps.push_back(count);
      most = std::max(most, count);
    }
    in_hand = layers.front().front();
    ledgers::Turn start;
    start.tool = static_cast<std::int16_t>(in_hand);
    start.still_s = 10.0;
    plate.turns.push_back(start);
    for (std::size_t i = 0; i < layers.size(); ++i)
      for (const int tool : layers[i]) {
        ledgers::Turn turn;
        turn.layer = static_cast<std::uint32_t>(i + 1);
        turn.tool = static_cast<std::int16_t>(tool);
        turn.segment = plate.turns.back().segment;
        turn.print_s = kPrintS;
        turn.travel_s = kTravelS;
        if (tool != in_hand) {
          turn.from = static_cast<std::int16_t>(in_hand);
          ++turn.segment;
          turn.landing_travel_s = kLandingS;
          turn.purge_s = kPurgeS;
          turn.purge_mm = kPurgeMm;
          turn.purge_stands = on_tower;
        }
        in_hand = tool;
        if (tool == layers[i].back() && on_tower) {
          turn.filler_mm = filler_mm * static_cast<double>(most - swaps[i]);
          turn.filler_s = 0.5 * turn.filler_mm;
          turn.purge_stands = true;
        }
        turn.fed_mm = turn.melted_mm = kPartMm + turn.purge_mm + turn.filler_mm;
        plate.turns.push_back(turn);
      }
  }

  void make_log(whatif::KeptPlate& plate) const {
    using timeline::HeatEvent;
    using timeline::HeatEventKind;
    const auto add = [&plate](HeatEventKind kind, std::size_t turn, int tool) -> HeatEvent& {
      HeatEvent event;
      event.kind = kind;
      event.turn = static_cast<std::uint32_t>(turn);
      event.layer = plate.turns[turn].layer;
      event.tool = static_cast<std::int16_t>(tool);
      plate.log.events.push_back(event);
      return plate.log.events.back();
    };
    add(HeatEventKind::set_heater, 0, -1).value = 60.0;  // bed
    for (std::size_t tool = 0; tool < machine.tools.size(); ++tool) {
      HeatEvent& event = add(HeatEventKind::set_heater, 0, static_cast<int>(tool));
      event.heater = interpreter::Heater::head;
      event.value = kHeadC;
    }
    add(HeatEventKind::take_tool, 0, plate.turns[0].tool);
    const double area_mm2 = base::filament_area_mm2(1.75);
    for (std::size_t i = 0; i < plate.turns.size(); ++i) {
      const ledgers::Turn& turn = plate.turns[i];
      if (turn.from >= 0) {
        add(HeatEventKind::take_tool, i, turn.tool);
        add(HeatEventKind::span, i, turn.tool).duration_s =
            timeline::Durations::swap_s(machine, turn.from, turn.tool).expected;
      }
      HeatEvent& span = add(HeatEventKind::span, i, turn.tool);
      span.duration_s = span.moving_s = turn.motion_s();
      span.volume_mm3 = turn.melted_mm * area_mm2;
    }
    HeatEvent& off = add(HeatEventKind::set_heater, plate.turns.size() - 1, 0);
    off.heater = interpreter::Heater::head;
    plate.log.footprint_by_layer.assign(layers.size() + 1, 1);
  }

  void make_account(whatif::KeptPlate& plate) const {
    Account& account = plate.account;
    const double g_per_mm =
        base::g_from_mm3(base::filament_area_mm2(1.75), plate.materials[0].density_g_cm3);
    account.layers.resize(layers.size() + 1);
    for (std::size_t tool = 0; tool < machine.tools.size(); ++tool) {
      account.tools.emplace_back();
      account.tools.back().tool = static_cast<int>(tool);
    }
    for (std::size_t i = 0; i < layers.size(); ++i) {
      account.layers[i + 1].index = i + 1;
      account.layers[i + 1].z_mm = kStepMm * static_cast<double>(i + 1);
      account.layers[i + 1].order = layers[i];
      account.visits.push_back({i + 1, layers[i]});
    }
    Totals& totals = account.totals;
    std::map<std::pair<int, int>, SwapPairAccount> pairs;
    SwapPairAccount* pair = nullptr;
    for (const ledgers::Turn& turn : plate.turns) {
      LayerAccount& layer = account.layers[turn.layer];
      ToolAccount& tool = account.tools[static_cast<std::size_t>(turn.tool)];
      double swap_s = 0.0;
      if (turn.from >= 0) {
        const Range own_s = timeline::Durations::swap_s(machine, turn.from, turn.tool);
        swap_s = own_s.expected;
        totals.time += own_s;
        ++layer.swaps;
        ++tool.selects;
        pair = &pairs[{turn.from, turn.tool}];
        pair->from = turn.from;
        pair->to = turn.tool;
        ++pair->count;
      }
      totals.time += Range::exactly(turn.motion_s());
      layer.time_by.print_s += turn.print_s;
      layer.time_by.travel_s += turn.travel_s;
      layer.time_by.other_s += turn.still_s;
      layer.time_by.swap_s += swap_s + turn.purge_s + turn.filler_s;
      const double purge_g = (turn.purge_mm + turn.filler_mm) * g_per_mm;
      layer.purge_g += purge_g;
      tool.purge_g += purge_g;
      layer.part_g += turn.part_mm() * g_per_mm;
      tool.part_g += turn.part_mm() * g_per_mm;
      if (pair != nullptr)
        pair->purge_g += purge_g;
    }
    for (const auto& [key, row] : pairs)
      account.swap_pairs.push_back(row);
    account.tower.verdict = on_tower ? "tower" : "none";
    const heat::HeatResult heat = heat::run_heat(machine, plate.materials, plate.log);
    totals.time += Range::exactly(heat.wait_s);
    ledgers::write_heat_rows(heat, plate.ordinals, machine, account);
    ledgers::sum_layers(account);
    totals.purge_low_g = totals.purge_high_g = totals.purge_g;
    (on_tower ? totals.purge_by.tower_g : totals.purge_by.at_rest_g) = totals.purge_g;
    totals.set_power_and_energy_band(plate.machine.supply.energy_spread);
  }
};

}  // namespace platetally::test
