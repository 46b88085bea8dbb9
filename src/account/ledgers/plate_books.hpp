// Everything that is kept while a plate is read, and the account that is made of it.
#pragma once

#include <algorithm>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "account/ledgers/footprint.hpp"
#include "account/ledgers/layer_ledger.hpp"
#include "account/ledgers/layer_sequence.hpp"
#include "account/ledgers/machine_requirements.hpp"
#include "account/ledgers/start_lines.hpp"
#include "account/ledgers/stroke_run.hpp"
#include "account/ledgers/time_ledger.hpp"
#include "account/ledgers/tool_use.hpp"
#include "account/ledgers/turn_ledger.hpp"
#include "account/objects/object_ledger.hpp"
#include "account/objects/object_shares.hpp"
#include "material/swaps/deposit_log.hpp"
#include "material/swaps/outside_log.hpp"
#include "material/swaps/purge_book.hpp"
#include "material/swaps/tower_finder.hpp"
#include "motion/timeline/durations.hpp"
#include "motion/timeline/heat_log_builder.hpp"
#include "platetally/machine.hpp"
#include "platetally/material.hpp"
#include "reading/interpreter/rows.hpp"

namespace platetally {
struct Account;
}

namespace platetally::heat {
struct HeatResult;
}

namespace platetally::ledgers {

class PlateBooks : public interpreter::RowSink {
 public:
  /// `materials`: by tool number, as many as the machine has tools.
  /// `colours`: of the tools, by tool number; an empty or missing one is the machine's.
  PlateBooks(const Machine& machine, const std::vector<Material>& materials,
             std::vector<std::string> colours = {});

  /// What comes next in program order, with its seconds.
  void take(const interpreter::Rows& rows) override;
  void take(const interpreter::Record& event) override { take_one(event); }

  /// From the first record on, objects are told apart; see AnalyzeOptions.
  void tell_objects_apart(bool draws_plate, std::optional<double> picture_at_mm);

  /// Looks for a prime tower and counts what is laid there as purge; once, after the last record.
  void settle_purge();

  /// Objects with their shares, and the pictures; once, after settle_purge(). Nothing where they
  /// were not to be told apart. `names`: of the objects that comments name, `layers`: ordinals.
  objects::ObjectsTold take_objects(const heat::HeatResult& heat,
                                    const std::vector<std::string>& names, std::size_t layers);

  const Demand& demand() const { return requirements_.demand(); }
  /// Laid outside the build area, where it may be purge or part.
  double outside_doubt_g() const { return outside_doubt_g_; }
  /// Pauses and manual changes, listed or not.
  std::uint64_t stops_in_all() const { return time_.stops_in_all(); }
  /// Fed at rest, where it may be purge of a change or none; after settle_purge().
  double flush_doubt_g() const;
  const LayerLedger& layer_ledger() const { return layer_ledger_; }
  /// What is laid in each layer of the ledger, by ordinal; after settle_purge().
  std::vector<LayerGrams> grams_by_layer() const;
  const Footprint& footprint() const { return footprint_; }
  std::vector<ToolUse> tool_uses() const { return tool_use_.uses(); }

  /// The log that heat runs over; once, after the last record.
  timeline::HeatLog take_heat_log() { return heat_log_.finish(); }

  /// The turns that the log's events name; once, after settle_purge(). Empty: too many to keep.
  std::vector<Turn> take_turns() { return turns_.take(); }

  /// Tiles under what the machine lays in places of its own (waste areas, start-up lines), by layer
  /// ordinal, as in HeatLog::footprint_by_layer.
  const std::vector<std::uint64_t>& fixed_tiles() const { return fixed_tiles_; }

  /// Ordinals of layers of nothing but start lines, which count in the account's first layer; after
  /// settle_purge().
  const std::vector<std::uint32_t>& start_layers() const { return start_layers_; }
  /// Ordinals of the account's layers, row by row.
  std::vector<std::size_t> rows(const std::vector<double>& layer_heights_mm) const;

  /// Writes totals, tools, pairs, zones and layers into `account`, whose unaccounted words are
  /// there. `layer_heights_mm` by ordinal.
  void write(const heat::HeatResult& heat, const std::vector<double>& layer_heights_mm,
             Account& account) const;

 private:
  void take_one(const interpreter::Record& record);
  void take_move(const interpreter::Record& record);
  void note_stop(const interpreter::Record& record, const timeline::Duration& duration);
  void close_run();
  void recount(const swaps::Recounted& filament);
  void note_for_objects(const interpreter::Record& record, const swaps::Feed& feed);
  void note_swap_for_objects(const interpreter::Record& record, const timeline::Duration& duration);
  LayerGrams grams_of(std::size_t ordinal) const {
    return grams_of_layer(purge_.material(), static_cast<std::uint32_t>(ordinal), g_per_mm_);
  }
  void move_to_tower();
  void note_place(const interpreter::Record& record, const swaps::Feed& feed);
  void settle_outside();
  void settle_start_lines();
  bool is_start(std::size_t ordinal) const {
    return std::find(start_layers_.begin(), start_layers_.end(), ordinal) != start_layers_.end();
  }
  std::set<LaidBetweenSwaps> purge_alone() const;
  void add_place(const interpreter::Record& record, const swaps::Feed& feed);
  void write_layers(const std::vector<std::size_t>& ordinals,
                    const std::vector<double>& layer_heights_mm, Account& account) const;
  void write_tools(Account& account) const;
  void write_pairs(Account& account) const;
  void write_visits(const std::vector<std::size_t>& ordinals, Account& account) const;
  void write_tower(Account& account) const;
  void write_stops(const heat::HeatResult& heat, const std::vector<std::size_t>& ordinals,
                   Account& account) const;
  std::vector<std::uint64_t> indices(const std::vector<std::size_t>& ordinals) const;
  double unknown_words_s(const Account& account) const;
  void write_totals(const heat::HeatResult& heat, Account& account) const;

  const Machine& machine_;
  std::vector<std::string> colours_;
  std::vector<double> g_per_mm_;
  timeline::Durations durations_;
  swaps::PurgeBook purge_;
  swaps::DepositLog visits_;
  swaps::TowerFinding tower_;
  double tower_laid_g_ = 0.0;
  swaps::OutsideLog outside_;
  double outside_doubt_g_ = 0.0;
  StartLines start_lines_;
  swaps::Box later_;  ///< printed inside the area behind the strokes that start_lines_ watched
  std::vector<std::uint32_t> start_layers_;  ///< ordinals of layers of nothing but start lines
  TimeLedger time_;
  LayerLedger layer_ledger_;
  LayerSequence layer_sequence_;
  TurnLedger turns_;
  Footprint footprint_;
  timeline::BedGrid fixed_grid_;
  std::vector<std::uint64_t> fixed_tiles_;
  std::vector<std::uint64_t> early_tiles_;  ///< under marked purge before the first swap
  StrokeRun run_;
  ToolUseLedger tool_use_;
  timeline::HeatLogBuilder heat_log_;
  MachineRequirements requirements_;
  std::vector<std::uint64_t> selects_;              ///< by tool
  std::unique_ptr<objects::ObjectLedger> objects_;  ///< null: not asked for
  bool draws_plate_ = false;
};

/// Layer ordinals, lowest height first: the rows of Account::layers. Ordinal 0 (before the first
/// layer) stays in front.
std::vector<std::size_t> by_height(const std::vector<double>& layer_heights_mm);

}  // namespace platetally::ledgers
