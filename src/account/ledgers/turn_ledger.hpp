// What each tool does in each of its turns: what the variants of a plate are put together from.
//
// A turn is what one tool does in one layer between two swaps. The heat log states the turn of each
// of its events, so that a turn can be moved, left out or repeated with its heat. The ledger is
// bounded; a plate with more turns than that has no variants in which turns change.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "material/swaps/purge_book.hpp"
#include "material/swaps/recounted.hpp"
#include "motion/timeline/durations.hpp"
#include "reading/interpreter/record.hpp"

namespace platetally::ledgers {

struct Turn {
  std::uint32_t layer = 0;    ///< ordinal
  std::uint32_t segment = 0;  ///< swaps before it
  std::int16_t tool = -1;     ///< -1: none in hand
  std::int16_t from = -1;     ///< the tool that its swap puts away; -1: no swap in front of it
  // Expected seconds, the swap's own ones apart (the machine states those).
  double print_s = 0.0;           ///< laying part
  double travel_s = 0.0;          ///< laying nothing
  double rest_s = 0.0;            ///< drawing back and returning at rest
  double still_s = 0.0;           ///< dwell, homing, pauses, start and end
  double purge_s = 0.0;           ///< laying or feeding what the swap purges
  double filler_s = 0.0;          ///< laying what only keeps a tower standing
  double landing_travel_s = 0.0;  ///< of travel_s: between the swap and its first stroke
  double landing_rest_s = 0.0;    ///< of rest_s: the same
  // Filament, mm.
  double fed_mm = 0.0;        ///< net, all uses
  double melted_mm = 0.0;     ///< fresh, all uses
  double purge_mm = 0.0;      ///< because of the swap
  double filler_mm = 0.0;     ///< purge too, laid where no swap asks for it
  double start_up_mm = 0.0;   ///< waste before the first swap
  bool purge_stands = false;  ///< its purge is laid on a tower
  // The longest way behind its landing: where purge stands, that from the tower to the part.
  float way_mm = 0.0F;
  float way_s = 0.0F;
  float way_feed_mm_s = 0.0F;
  float direct_mm = 0.0F;  ///< from where was laid last before the swap to where that way ends

  double part_mm() const { return fed_mm - purge_mm - filler_mm - start_up_mm; }
  /// Without the swap's own seconds.
  double motion_s() const { return print_s + travel_s + rest_s + still_s + purge_s + filler_s; }
};

class TurnLedger {
 public:
  static constexpr std::size_t kMostTurns = 200'000;

  TurnLedger() : turns_(1) {}

  /// Any record, with its duration and where its filament goes. Returns the number of its turn.
  std::uint32_t add(const interpreter::Record& record, const timeline::Duration& duration,
                    const swaps::Feed& feed);

  /// The same for a move that takes its motion and nothing else.
  std::uint32_t add_move(const interpreter::Record& record, const swaps::Feed& feed) {
    if (record.tool != turns_.back().tool || record.layer != turns_.back().layer)
      begin(record.tool, record.layer, -1);
    add_motion(record, feed);
    return current();
  }

  /// Strokes of the part in the present turn.
  void add_strokes(double e_mm, double motion_s) {
    Turn& turn = turns_.back();
    turn.print_s += motion_s;
    turn.fed_mm += e_mm;
    turn.melted_mm += e_mm;
    lays_ = true;
  }

  /// Counts filament as another use after all, in the turn that fed it: of its tool, or of its
  /// segment where that is known. Calls of either kind come in the order of printing.
  void recount(const swaps::Recounted& filament);

  std::uint32_t current() const { return static_cast<std::uint32_t>(turns_.size() - 1); }

  /// All turns in the order of printing; empty if there were too many. The ledger is empty then.
  std::vector<Turn> take();

 private:
  void begin(std::int16_t tool, std::uint32_t layer, std::int16_t from);
  void add_motion(const interpreter::Record& record, const swaps::Feed& feed);
  Turn* turn_of(const swaps::Recounted& filament);
  void note_way(const interpreter::Record& record, bool lays, Turn& turn);
  template <typename Fits>
  Turn* find(std::size_t first, std::size_t end, std::size_t& last_found, const Fits& fits);

  std::vector<Turn> turns_;
  std::size_t found_of_tool_ = 0;     ///< the turn that was found last by its tool
  std::size_t found_of_segment_ = 0;  ///< the same by its segment
  bool laid_since_swap_ = false;      ///< part
  bool is_landing_ = false;           ///< nothing was laid since the swap
  bool overflows_ = false;
  bool swapped_ = false;                    ///< and nothing moved since
  bool lays_ = false;                       ///< the last move did
  std::array<double, 2> laid_mm_{};         ///< where the last stroke ended
  std::array<double, 2> before_swap_mm_{};  ///< the same when the last swap came
};

}  // namespace platetally::ledgers
