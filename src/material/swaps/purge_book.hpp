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
#include "motion/timeline/swap_watch.hpp"
#include "platetally/machine.hpp"
#include "reading/interpreter/record.hpp"

namespace platetally::swaps {

/// Where the filament of a move goes.
enum class Use : std::uint8_t {
  none,  ///< nothing new: travel, drawing back, returning what was drawn back
  part,
  purge,     ///< after the first swap
  start_up,  ///< waste before the first swap: purge lines, priming
};

/// What waste was recognised by.
enum class Mark : std::uint8_t { none, at_rest, place, comment, tower };
inline constexpr std::size_t kMarks = 5;

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
  ToolFilament& operator+=(const ToolFilament& other);
};

/// What the swaps from one tool to another cost.
struct PairBook {
  std::uint64_t count = 0;
  double purge_mm = 0.0;  ///< of the tool that comes
  double hidden_purge_mm = 0.0;
};

/// Purge before the first swap: marked, in a place where more was purged because of swaps later, so
/// the foot of a tower; or fed at rest right before the tool was put away.
struct EarlyPurge {
  Box box;
  std::size_t tool = 0;
  std::uint32_t layer = 0;
  double fresh_mm = 0.0;
  Use was = Use::start_up;  ///< what it was counted as so far, part or start-up
};

class PurgeBook {
 public:
  explicit PurgeBook(const Machine& machine);

  /// The next record, with what it did to the tool in hand. Returns where its filament goes.
  Feed take(const interpreter::Record& record, const timeline::Swap& swap);

  /// Filament that goes into the part and pays no debt.
  void add_part(std::size_t tool, double e_mm) { tools_[tool].net_mm += e_mm; }

  /// By tool number.
  const std::vector<ToolFilament>& tools() const { return tools_; }
  /// tools x tools, row-major: from, to.
  const std::vector<PairBook>& pairs() const { return pairs_; }
  std::uint64_t swaps() const { return swaps_; }
  /// Purge of one tool by what it was recognised by, in mm.
  double purge_mm(std::size_t tool, Mark mark) const {
    return purge_by_mark_mm_[tool][static_cast<std::size_t>(mark)];
  }

  /// Counts part filament of `tool`, laid because of the swap from -> to, as purge after all.
  void move_to_purge(Mark mark, std::size_t tool, int from, int to, double part_mm);
  /// Counts part filament as start-up.
  void move_to_start_up(std::size_t tool, double part_mm) { tools_[tool].start_up_mm += part_mm; }

  /// Counts as purge what lies before the first swap and is its or a tower's, and says what that
  /// was; it is booked on the first pair. Once, after the last record.
  std::vector<EarlyPurge> settle_early();

 private:
  bool lies_in_waste(const interpreter::Record& record) const;
  bool lies_outside(const interpreter::Record& record) const;
  Feed feed_move(const interpreter::Record& record);
  Feed feed_at_rest(const interpreter::Record& record, double fresh_mm, bool marked);
  Feed waste(const Feed& feed, std::size_t tool);
  void take_swap(const timeline::Swap& swap);
  PairBook& pair_of(int from, int to) {
    return pairs_[static_cast<std::size_t>(from) * tools_.size() + static_cast<std::size_t>(to)];
  }
  void note_marked_place(const interpreter::Record& record, double fresh_mm);

  const Machine& machine_;
  std::vector<double> filament_area_mm2_;
  std::vector<double> debt_mm_;
  std::vector<double> left_mm_;  ///< debt of the tool that was in hand before an unused one
  std::vector<bool> used_;
  std::vector<ToolFilament> tools_;
  std::vector<PairBook> pairs_;
  std::vector<std::array<double, kMarks>> purge_by_mark_mm_;
  std::uint64_t swaps_ = 0;
  timeline::Swap last_swap_;
  timeline::Swap first_swap_;
  std::vector<EarlyPurge> early_;
  EarlyPurge ram_;  ///< fed at rest since something was laid, before the first swap
  std::vector<Box> late_;
  double at_rest_mm_ = 0.0;  ///< fresh filament of the present run of E-only moves
};

}  // namespace platetally::swaps
