// What is kept of a plate that was read: enough to play it again, changed.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "account/ledgers/footprint.hpp"
#include "account/ledgers/turn_ledger.hpp"
#include "heat/simulate.hpp"
#include "motion/timeline/heat_log.hpp"
#include "platetally/account.hpp"
#include "platetally/machine.hpp"
#include "platetally/material.hpp"
#include "platetally/plate.hpp"

namespace platetally::whatif {

struct KeptPlate {
  Machine machine;
  std::vector<Material> materials;  ///< by tool number
  timeline::HeatLog log;
  std::vector<ledgers::Turn> turns;  ///< that the log's events name; empty: too many to keep
  ledgers::Footprint footprint;
  std::vector<std::uint64_t> fixed_tiles;  ///< under what does not move with the plate, by ordinal
  std::vector<std::size_t> ordinals;       ///< of the account's layers, row by row
  Account account;                         ///< as it is
  heat::HeatOptions start{};               ///< how warm it was at the first line
  std::vector<std::uint32_t> start_layers{};  ///< ordinals that count in the first row

  /// Turns can be changed: they were kept, and the log tells them apart.
  bool has_turns() const { return !turns.empty() && log.holds_turns; }
};

struct PurgePolicy;

/// Plays a variant; see Plate::play. The account has no verdict. `policy`: of another machine's
/// swaps; null: the plate's own purge.
Played play(const KeptPlate& plate, const Variant& variant, const PurgePolicy* policy = nullptr);

/// Whether it changes more than the machine (machine_with).
bool changes_plate(const Variant& variant);

/// The plate as the variant has it; without a verdict. Throws UnreadablePlate, with
/// the reason, where it cannot be played.
Account varied(const KeptPlate& plate, const Variant& variant);

}  // namespace platetally::whatif
