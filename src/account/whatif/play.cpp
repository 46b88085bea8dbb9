// A variant is played in three steps: the plate's turns are rewritten (rewrite.cpp), the heat log
// follows them (replay.cpp) and what lies where follows the bed's zones (placement.cpp); then heat
// runs over the new log, and the account is the plate's, changed by what is different.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "account/ledgers/heat_rows.hpp"
#include "account/ledgers/purge_short.hpp"
#include "account/whatif/heating.hpp"
#include "account/whatif/kept_plate.hpp"
#include "account/whatif/placement.hpp"
#include "account/whatif/replay.hpp"
#include "account/whatif/rewrite.hpp"
#include "base/units.hpp"
#include "heat/simulate.hpp"
#include "platetally/analyze.hpp"

namespace platetally {

namespace whatif {

namespace {

void require(bool holds, const std::string& message) {
  if (!holds)
    throw std::invalid_argument(message);
}

void check(const Variant& variant, const Machine& machine) {
  const auto has = [&](int tool) {
    require(tool >= 0 && static_cast<std::size_t>(tool) < machine.tools.size(),
            fmt::format("machine '{}' has no tool {}; its last is {}", machine.name, tool,
                        machine.tools.size() - 1));
  };
  for (const auto& [tool, other] : variant.merge) {
    has(tool);
    has(other);
  }
  for (const int tool : variant.without)
    has(tool);
  for (const HeatInTime& heat : variant.heat)
    has(heat.tool);
  for (const std::vector<int>& order : variant.orders)
    for (const int tool : order)
      has(tool);
  require(variant.repeat >= 1 && variant.repeat <= 1000, "repeat: expected 1 to 1000");
  require(variant.layers_share > 0.0 && variant.layers_share <= 1.0,
          "layers_share: expected more than 0, at most 1");
}

class Player {
 public:
  Player(const KeptPlate& plate, const Variant& variant, const PurgePolicy* policy)
      : plate_(plate),
        variant_(variant),
        policy_(policy),
        machine_(machine_with(plate.machine, variant)),
        footprint_(plate.footprint) {}

  Played play();

 private:
  bool change_turns();
  bool change_place();
  void build_tower();
  bool change_heating();
  void move_stops();
  void heat_up();

  const KeptPlate& plate_;
  const Variant& variant_;
  const PurgePolicy* policy_;
  Machine machine_;
  ledgers::Footprint footprint_;
  timeline::HeatLog log_;
  Played played_;
};

bool Player::change_turns() {
  if (!changes_turns(variant_) && policy_ == nullptr) {
    log_.events.reserve(plate_.log.events.size() + kMostWordsInTime * variant_.heat.size());
    log_ = plate_.log;
    return true;
  }
  if (!plate_.has_turns()) {
    played_.impossible = "it changes tools more often than is kept";
    return false;
  }
  Rewritten rewritten = rewrite(plate_, variant_, policy_);
  played_.impossible = rewritten.impossible;
  if (!played_.ok())
    return false;
  log_ = replay_log(plate_, variant_, rewritten);
  change_account(plate_, rewritten, played_.account);
  std::vector<ledgers::Turn> turns;
  turns.reserve(rewritten.turns.size());
  for (const NewTurn& turn : rewritten.turns)
    turns.push_back(turn.now);
  ledgers::hold_against_need(turns, machine_, plate_.materials, played_.account);
  played_.assumed = std::move(rewritten.assumed);
  return true;
}

/// As wide as the fullest layer asks for, up to the last layer with a swap.
void Player::build_tower() {
  double area_mm2 = 0.0, below_mm = 0.0;
  std::size_t last = 0;
  for (std::size_t i = 1; i < played_.account.layers.size(); ++i) {
    const LayerAccount& layer = played_.account.layers[i];
    const double height_mm = layer.z_mm - below_mm;
    below_mm = layer.z_mm;
    if (layer.purge_g <= 0.0 || height_mm <= 0.0)
      continue;
    const double mm3 =
        layer.purge_g / base::g_from_mm3(1.0, plate_.materials.front().density_g_cm3);
    area_mm2 = std::max(area_mm2, mm3 / height_mm);
    last = i;
  }
  if (last == 0 || last >= plate_.ordinals.size())
    return;
  if (auto with = with_tower(footprint_, std::sqrt(area_mm2),
                             static_cast<std::uint32_t>(plate_.ordinals[last]), machine_))
    footprint_ = std::move(*with);
  else
    played_.assumed.emplace_back("no place was found for a prime tower; none is heated for it");
}

bool Player::change_place() {
  const bool moves = variant_.shift_x_mm != 0.0 || variant_.shift_y_mm != 0.0;
  const bool leaves_tower = variant_.drop_tower || (policy_ != nullptr && !policy_->on_tower);
  const bool builds_tower =
      policy_ != nullptr && policy_->on_tower && plate_.account.tower.verdict != "tower";
  if (!moves && variant_.repeat <= 1 && !leaves_tower && !builds_tower)
    return true;
  if (leaves_tower)
    footprint_ = without_purge(footprint_);
  if (variant_.repeat > 1) {
    auto copies = repeated(footprint_, variant_.repeat, machine_);
    if (!copies) {
      played_.impossible = fmt::format("there is no room for {} of them", variant_.repeat);
      return false;
    }
    footprint_ = std::move(copies->footprint);
    played_.copies_at_mm = std::move(copies->shifts_mm);
  }
  if (builds_tower)
    build_tower();
  if (moves)
    footprint_ = moved(footprint_, variant_.shift_x_mm, variant_.shift_y_mm);
  const std::size_t layers = std::max<std::size_t>(log_.footprint_by_layer.size(), 1);
  log_.footprint_by_layer = tiles_by_layer(footprint_, machine_.bed, layers);
  for (std::size_t i = 0; i < std::min(layers, plate_.fixed_tiles.size()); ++i)
    log_.footprint_by_layer[i] |= plate_.fixed_tiles[i];
  played_.account.bed_picture = picture_of(footprint_, machine_);
  return true;
}

bool Player::change_heating() {
  std::vector<HeatFrom> tools;
  for (const HeatInTime& heat : variant_.heat) {
    if (heat.layer >= plate_.ordinals.size()) {
      played_.impossible = fmt::format("it has no layer {}", heat.layer);
      return false;
    }
    tools.push_back({heat.tool, static_cast<std::uint32_t>(plate_.ordinals[heat.layer])});
  }
  heat_in_time(tools, machine_, log_);
  return true;
}

/// A stop comes at the same share of its layer's time. Where a layer swaps otherwise, it is not
/// known which of its stops are left, and none are listed.
void Player::move_stops() {
  Account& account = played_.account;
  const std::vector<LayerAccount>& old = plate_.account.layers;
  const std::vector<LayerAccount>& now = account.layers;
  for (Stop& stop : account.stops) {
    const std::size_t layer = stop.layer;
    if (layer >= old.size() || layer >= now.size() || old[layer].swaps != now[layer].swaps ||
        old[layer].time_by.sum_s() <= 0.0) {
      account.stops.clear();
      return;
    }
    const double into_s = stop.after.expected - old[layer].start_s;
    const double scale = now[layer].time_by.sum_s() / old[layer].time_by.sum_s();
    const double after_s = now[layer].start_s + std::max(0.0, into_s) * scale;
    const double share = stop.after.expected > 0.0 ? after_s / stop.after.expected : 0.0;
    stop.after = {share * stop.after.low, after_s, share * stop.after.high};
  }
}

void Player::heat_up() {
  Account& account = played_.account;
  const heat::HeatResult heat = heat::run_heat(machine_, plate_.materials, log_, plate_.start);
  account.totals.time += Range::exactly(heat.wait_s - plate_.account.totals.time_by.heat_wait_s);
  ledgers::write_heat_rows(heat, plate_.ordinals, machine_, account, plate_.start_layers);
  ledgers::sum_layers(account);
  move_stops();
  account.power = heat.power;
  account.totals.set_power_and_energy_band(machine_.supply.energy_spread);
}

Played Player::play() {
  played_.account = plate_.account;
  played_.account.findings.clear();
  played_.account.verdict = {};
  played_.account.what_if.changes = describe(variant_);
  if (change_turns() && change_place() && change_heating())
    heat_up();
  played_.account.what_if.assumed = fmt::format("{}", fmt::join(played_.assumed, "; "));
  return std::move(played_);
}

}  // namespace

Played play(const KeptPlate& plate, const Variant& variant, const PurgePolicy* policy) {
  check(variant, plate.machine);
  return Player(plate, variant, policy).play();
}

bool changes_plate(const Variant& variant) {
  Variant on_plate = variant;
  on_plate.standby_c.reset();
  on_plate.room_c.reset();
  return !on_plate.is_as_it_is();
}

Account varied(const KeptPlate& plate, const Variant& variant) {
  Played played;
  try {
    played = play(plate, variant);
  } catch (const std::invalid_argument& error) {
    throw UnreadablePlate(error.what());
  }
  if (!played.ok())
    throw UnreadablePlate(
        fmt::format("what if ({}): cannot be told: {}", describe(variant), played.impossible));
  return std::move(played.account);
}

}  // namespace whatif

Machine machine_with(Machine machine, const Variant& variant) {
  if (variant.standby_c)
    for (Head& head : machine.heads)
      head.standby_c = *variant.standby_c;
  if (variant.room_c)
    machine.room_c = *variant.room_c;
  return machine;
}

}  // namespace platetally
