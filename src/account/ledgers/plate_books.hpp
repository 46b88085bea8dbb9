// Everything that is kept while a plate is read, and the account that is made of it.
#pragma once

#include <set>
#include <span>
#include <vector>

#include "account/ledgers/footprint.hpp"
#include "account/ledgers/layer_ledger.hpp"
#include "account/ledgers/layer_sequence.hpp"
#include "account/ledgers/machine_requirements.hpp"
#include "account/ledgers/stroke_run.hpp"
#include "account/ledgers/time_ledger.hpp"
#include "account/ledgers/tool_use.hpp"
#include "material/swaps/deposit_log.hpp"
#include "material/swaps/purge_book.hpp"
#include "material/swaps/tower_finder.hpp"
#include "motion/planning/timed_record.hpp"
#include "motion/timeline/durations.hpp"
#include "motion/timeline/heat_log_builder.hpp"
#include "platetally/account.hpp"
#include "platetally/machine.hpp"
#include "platetally/material.hpp"

namespace platetally::heat {
struct HeatResult;
}

namespace platetally::ledgers {

class PlateBooks {
 public:
  /// `materials`: by tool number, as many as the machine has tools.
  /// `colours`: of the tools, by tool number; an empty or missing one is the machine's.
  PlateBooks(const Machine& machine, const std::vector<Material>& materials,
             std::vector<std::string> colours = {});

  /// The next records in program order.
  void take(std::span<const motion::TimedRecord> batch);
  void take(const motion::TimedStrokes& strokes);

  /// Looks for a prime tower and counts what is laid there as purge; once, after the last record.
  void settle_purge();

  const Demand& demand() const { return requirements_.demand(); }
  const Footprint& footprint() const { return footprint_; }
  std::vector<ToolUse> tool_uses() const { return tool_use_.uses(); }

  /// The log that heat runs over; once, after the last record.
  timeline::HeatLog take_heat_log() { return heat_log_.finish(); }

  /// Writes totals, tools, pairs, zones and layers into `account`, whose unaccounted words are
  /// there. `layer_heights_mm` by ordinal.
  void write(const heat::HeatResult& heat, const std::vector<double>& layer_heights_mm,
             Account& account) const;

 private:
  void take_one(const motion::TimedRecord& timed);
  void take_move(const motion::TimedRecord& timed);
  void close_run();
  void move_to_tower();
  std::set<LaidBetweenSwaps> purge_alone() const;
  void add_place(const motion::TimedRecord& timed, const swaps::Feed& feed);
  void write_layers(const heat::HeatResult& heat, const std::vector<double>& layer_heights_mm,
                    Account& account) const;
  void write_tools(const heat::HeatResult& heat, Account& account) const;
  void write_pairs(Account& account) const;
  void write_visits(const std::vector<double>& layer_heights_mm, Account& account) const;
  void write_zones(const heat::HeatResult& heat, Account& account) const;
  void write_tower(Account& account) const;
  void write_totals(const heat::HeatResult& heat, Account& account) const;

  const Machine& machine_;
  std::vector<std::string> colours_;
  std::vector<double> g_per_mm_;
  timeline::Durations durations_;
  swaps::PurgeBook purge_;
  swaps::DepositLog visits_;
  swaps::TowerFinding tower_;
  double tower_laid_g_ = 0.0;
  TimeLedger time_;
  LayerLedger layer_ledger_;
  LayerSequence layer_sequence_;
  Footprint footprint_;
  StrokeRun run_;
  ToolUseLedger tool_use_;
  timeline::HeatLogBuilder heat_log_;
  MachineRequirements requirements_;
  std::vector<std::uint64_t> selects_;  ///< by tool
};

/// Grams per mm of filament, by tool number.
std::vector<double> g_per_mm_by_tool(const Machine& machine,
                                     const std::vector<Material>& materials);

}  // namespace platetally::ledgers
