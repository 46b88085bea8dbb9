// Where each tool's filament goes: into the part, into purge because of swaps, or into start-up.
//
// Counted without trusting comments as far as motion alone decides: filament fed at rest beyond
// what was drawn back before (a chute), and material laid inside a waste area (a line, a bin). What
// is laid outside the build area is said to be there, and decided at the end (outside_log.hpp).
// Marks raise the rest. Definitions and limits: docs/methods.md.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "material/swaps/box.hpp"
#include "material/swaps/material_book.hpp"
#include "material/swaps/recounted.hpp"
#include "material/swaps/use.hpp"
#include "motion/timeline/swap_watch.hpp"
#include "platetally/machine.hpp"
#include "reading/interpreter/record.hpp"

namespace platetally::swaps {

struct Feed {
  Use use = Use::none;
  Mark mark = Mark::none;
  double fresh_mm = 0.0;    ///< filament beyond the retraction debt
  double earlier_mm = 0.0;  ///< fed before as part, and of this use after all
  bool outside = false;     ///< part as far as is known, but outside the build area
};

/// Filament of one tool in mm, by use. `net_mm` is the sum of all that E words feed.
struct ToolFilament {
  double net_mm = 0.0;
  double purge_mm = 0.0;
  double start_up_mm = 0.0;
  double hidden_purge_mm = 0.0;  ///< by the machine's own macro; in neither of the others
  double part_mm() const { return net_mm - purge_mm - start_up_mm; }
};

/// What the swaps from one tool to another cost.
struct PairBook {
  std::uint64_t count = 0;
  double purge_mm = 0.0;  ///< of the tool that comes
  double hidden_purge_mm = 0.0;
};

/// Fed at rest before the first swap and behind what was laid: makes up for ooze, unless swaps
/// flush in the same place.
struct FirstFlush {
  Box box;
  std::size_t tool = 0;
  double fresh_mm = 0.0;
  bool swaps_flush_there = false;
};

class PurgeBook {
 public:
  explicit PurgeBook(const Machine& machine);

  /// The next record, with what it did to the tool in hand. Returns where its filament goes.
  Feed take(const interpreter::Record& record, const timeline::Swap& swap);

  /// Filament that goes into the part and pays no debt.
  void add_part(std::uint32_t layer, std::size_t tool, double e_mm) {
    material_.add(layer, tool, Use::part, e_mm);
  }

  /// All filament, by layer, tool and use.
  const MaterialBook& material() const { return material_; }
  /// The same by tool number, over the plate.
  std::vector<ToolFilament> tools() const;
  /// tools x tools, row-major: from, to.
  const std::vector<PairBook>& pairs() const { return pairs_; }
  std::uint64_t swaps() const { return swaps_; }
  /// Purge of one tool by what it was recognised by, in mm.
  double purge_mm(std::size_t tool, Mark mark) const {
    return purge_by_mark_mm_[tool][static_cast<std::size_t>(mark)];
  }

  /// Filament of a tool that is not counted as purge of a change, and may be: what a tool that was
  /// never used feeds like a return, and draws back before it lays or feeds anything more; and what
  /// is fed at rest in a print that has not swapped yet, where swaps flush. In mm; after
  /// settle_early().
  double doubt_mm(std::size_t tool) const { return doubt_mm_[tool]; }

  /// Counts filament as another use after all.
  void recount(const Recounted& filament);

  /// What lies before the first swap and is its purge or a tower's: marked, in a place where more
  /// was purged because of swaps later, so the foot of a tower; or fed at rest right before the
  /// tool was put away. Nothing is counted yet: whoever asks recounts it. Fills doubt_mm(). Once,
  /// after the last record.
  std::vector<Recounted> settle_early();

 private:
  struct MarkedEarly {
    Box box;
    Recounted filament;
  };

  bool lies_in_waste(const interpreter::Record& record) const;
  bool lies_outside(const interpreter::Record& record) const;
  Feed feed_move(const interpreter::Record& record);
  void take_over_debt(const interpreter::Move& move, std::size_t tool);
  Feed feed_at_rest(const interpreter::Record& record, double fresh_mm, bool marked);
  void note_flush(const interpreter::Record& record, double fresh_mm);
  Feed waste(const Feed& feed, const interpreter::Record& record);
  void take_swap(const timeline::Swap& swap, std::uint32_t layer);
  PairBook& pair_of(int from, int to) {
    return pairs_[static_cast<std::size_t>(from) * material_.tools() +
                  static_cast<std::size_t>(to)];
  }
  void note_marked_place(const interpreter::Record& record, double fresh_mm);

  const Machine& machine_;
  std::vector<double> filament_area_mm2_;
  std::vector<double> debt_mm_;
  std::vector<double> left_mm_;  ///< debt of the tool that was in hand before an unused one
  std::vector<bool> used_;
  MaterialBook material_;
  std::vector<PairBook> pairs_;
  std::vector<std::array<double, kMarks>> purge_by_mark_mm_;
  std::uint64_t swaps_ = 0;
  timeline::Swap last_swap_;
  timeline::Swap first_swap_;
  std::vector<MarkedEarly> early_;
  Recounted ram_;  ///< fed at rest since something was laid, before the first swap
  std::vector<Box> late_;
  std::vector<double> returned_mm_;  ///< by tool: just now, for the tool that it came after
  std::vector<double> doubt_mm_;
  std::vector<FirstFlush> first_flushes_;
  double at_rest_mm_ = 0.0;  ///< fresh filament of the present run of E-only moves
};

}  // namespace platetally::swaps
