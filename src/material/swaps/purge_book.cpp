// Fresh filament is what a move feeds beyond the tool's retraction debt:
//   debt' = max(0, debt - e),  fresh = max(0, e - debt).
// A tool that was never used owes nothing, unless the first that it feeds, at rest, is just what
// was drawn back of the tool that was left: many plates return on the new tool behind every change,
// the first time too. Where more than kDrawnOutMm was drawn back, one nozzle serves both: the old
// filament waits out of it, and the new one comes from as far, in as many moves as it likes. A run
// of moves that feed above one place, at rest or up and down, is purge when its fresh volume
// exceeds kPrimeMm3: a nozzle that is merely primed gets less (1 mm3 is 0.4 mm of 1.75 mm filament;
// common practice, no source). The run's first cubic millimetre counts with the rest once the bound
// is passed.
#include "material/swaps/purge_book.hpp"

#include <algorithm>
#include <cmath>

#include "base/give_back.hpp"
#include "base/units.hpp"

namespace platetally::swaps {

using interpreter::Move;
using interpreter::Record;
using interpreter::RecordKind;

namespace {

constexpr double kPrimeMm3 = 1.0;
constexpr double kSameReturn = 0.02;
constexpr double kDrawnOutMm = 5.0;    // more than a retraction: out of the nozzle
constexpr float kSamePlace_mm = 2.0F;  // assumed; between purge of one place
constexpr std::size_t kMostPlaces = 64;
constexpr std::size_t kMostEarly = 10'000;

}  // namespace

std::vector<ToolFilament> PurgeBook::tools() const {
  std::vector<ToolFilament> tools;
  for (std::size_t tool = 0; tool < material_.tools(); ++tool) {
    const MaterialBook::Cell cell = material_.of_tool(tool);
    tools.push_back({cell.fed_mm(), cell.of(Use::purge), cell.of(Use::start_up), cell.hidden_mm});
  }
  return tools;
}

PurgeBook::PurgeBook(const Machine& machine)
    : machine_(machine),
      debt_mm_(machine.tools.size(), 0.0),
      left_mm_(machine.tools.size(), 0.0),
      used_(machine.tools.size(), false),
      material_(machine.tools.size()),
      pairs_(machine.tools.size() * machine.tools.size()),
      purge_by_mark_mm_(machine.tools.size()),
      returned_mm_(machine.tools.size(), 0.0),
      doubt_mm_(machine.tools.size(), 0.0) {
  for (const Tool& tool : machine.tools)
    filament_area_mm2_.push_back(base::filament_area_mm2(tool.filament_diameter_mm));
}

/// By the middle of the move, as the layers are.
bool PurgeBook::lies_outside(const Record& record) const {
  const Move& move = record.move;
  const double x_mm = 0.5 * (move.from_mm[0] + move.to_mm[0]);
  const double y_mm = 0.5 * (move.from_mm[1] + move.to_mm[1]);
  const BuildArea& area = machine_.area;
  return (record.flags & interpreter::kOutsideIsPart) == 0 &&
         (x_mm < area.x_min_mm || x_mm > area.x_max_mm || y_mm < area.y_min_mm ||
          y_mm > area.y_max_mm);
}

bool PurgeBook::lies_in_waste(const Record& record) const {
  const Move& move = record.move;
  const double x_mm = 0.5 * (move.from_mm[0] + move.to_mm[0]);
  const double y_mm = 0.5 * (move.from_mm[1] + move.to_mm[1]);
  return std::any_of(machine_.waste_areas.begin(), machine_.waste_areas.end(),
                     [&](const WasteArea& waste) {
                       return x_mm >= waste.x_min_mm && x_mm <= waste.x_max_mm &&
                              y_mm >= waste.y_min_mm && y_mm <= waste.y_max_mm;
                     });
}

void PurgeBook::take_swap(const timeline::Swap& swap, std::uint32_t layer) {
  const auto to = static_cast<std::size_t>(swap.to);
  if (!used_[to] && swap.from >= 0)
    left_mm_[to] = debt_mm_[static_cast<std::size_t>(swap.from)];
  if (swap.selection != timeline::Selection::swap)
    return;
  last_swap_ = swap;
  if (swaps_ == 0)
    first_swap_ = swap;
  ++swaps_;
  PairBook& pair = pair_of(swap.from, swap.to);
  ++pair.count;
  const double hidden_mm = machine_.swap.hidden_purge_mm3 / filament_area_mm2_[to];
  pair.hidden_purge_mm += hidden_mm;
  material_.add_hidden(layer, to, hidden_mm);
}

Feed PurgeBook::take(const interpreter::Record& record, const timeline::Swap& swap) {
  if (swap.selection != timeline::Selection::none)
    take_swap(swap, record.layer);
  if (record.kind != RecordKind::move) {
    at_rest_mm_ = 0.0;
    return {};
  }
  return feed_move(record);
}

/// A tool that was never used returns what was drawn back of the tool that was left. What it draws
/// back at once may have been no return.
void PurgeBook::take_over_debt(const Move& move, std::size_t tool) {
  const bool is_same = std::abs(move.e_mm - left_mm_[tool]) <= kSameReturn * move.e_mm;
  if (!is_same && left_mm_[tool] < kDrawnOutMm)
    return;
  debt_mm_[tool] = left_mm_[tool];
  returned_mm_[tool] = is_same ? move.e_mm : 0.0;
}

Feed PurgeBook::feed_move(const Record& record) {
  const Move& move = record.move;
  const bool stationary = move.is_above_one_place();
  if (!stationary)
    at_rest_mm_ = 0.0;
  if (swaps_ == 0 && interpreter::lays_material(record))
    ram_.mm = 0.0;
  if (record.tool < 0)
    return {};
  if (move.e_mm == 0.0)
    return {interpreter::lays_material(record) ? Use::part : Use::none, Mark::none, 0.0, 0.0};
  const auto tool = static_cast<std::size_t>(record.tool);
  const bool marked = (record.flags & interpreter::kMarkedPurge) != 0;
  if (returned_mm_[tool] > 0.0 && move.e_mm < 0.0) {
    doubt_mm_[tool] += returned_mm_[tool];
    note_flush(record, 0.0);
  }
  returned_mm_[tool] = 0.0;
  if (!used_[tool] && stationary && !marked)
    take_over_debt(move, tool);
  used_[tool] = true;
  const double fresh_mm = std::max(0.0, move.e_mm - debt_mm_[tool]);
  debt_mm_[tool] = std::max(0.0, debt_mm_[tool] - move.e_mm);
  // What a use takes is taken from the part, to which the return in front of it counts too.
  material_.add(record.layer, tool, fresh_mm > 0.0 ? Use::part : Use::none, move.e_mm);
  if (fresh_mm <= 0.0)
    return {};
  if (stationary)
    return feed_at_rest(record, fresh_mm, marked);
  if (marked) {
    note_marked_place(record, fresh_mm);
    return waste({Use::purge, Mark::comment, fresh_mm, 0.0}, record);
  }
  if (lies_in_waste(record))
    return waste({Use::purge, Mark::place, fresh_mm, 0.0}, record);
  const bool outside = lies_outside(record);
  if (outside && swaps_ == 0 && record.layer == 0)
    return waste({Use::start_up, Mark::place, fresh_mm, 0.0}, record);
  return {Use::part, Mark::none, fresh_mm, 0.0, outside && swaps_ > 0};
}

Feed PurgeBook::feed_at_rest(const Record& record, double fresh_mm, bool marked) {
  const auto tool = static_cast<std::size_t>(record.tool);
  // Between the layers of a plate that has not swapped yet there is nothing to purge: such feeding
  // makes up for ooze.
  if (!marked && swaps_ == 0 && record.layer > 0) {
    if (fresh_mm * filament_area_mm2_[tool] > kPrimeMm3)
      note_flush(record, fresh_mm);
    ram_.tool = record.tool;
    ram_.layer = record.layer;
    ram_.mm += fresh_mm;
    return {Use::part, Mark::none, fresh_mm, 0.0};
  }
  const double bound_mm = marked ? 0.0 : kPrimeMm3 / filament_area_mm2_[tool];
  const double before_mm = at_rest_mm_;
  at_rest_mm_ += fresh_mm;
  if (at_rest_mm_ <= bound_mm)
    return {Use::part, Mark::none, fresh_mm, 0.0};
  if (marked)
    note_marked_place(record, fresh_mm);
  // The run has just passed the bound: what came before it belongs to the purge too.
  const double earlier_mm = before_mm <= bound_mm ? before_mm : 0.0;
  if (!marked && swaps_ > 0)
    note_flush(record, 0.0);
  return waste({Use::purge, marked ? Mark::comment : Mark::at_rest, fresh_mm, earlier_mm}, record);
}

/// At rest: before the first swap something to be looked at again, later where swaps flush.
void PurgeBook::note_flush(const Record& record, double fresh_mm) {
  Box box;
  box.include(record.move.from_mm[0], record.move.from_mm[1]);
  const auto tool = static_cast<std::size_t>(record.tool);
  const auto known = std::ranges::find_if(first_flushes_, [&](const FirstFlush& flush) {
    return (swaps_ > 0 || flush.tool == tool) && box.lies_in(flush.box, kSamePlace_mm);
  });
  if (known != first_flushes_.end()) {
    known->fresh_mm += fresh_mm;
    known->swaps_flush_there = swaps_ > 0;
  } else if (swaps_ == 0 && first_flushes_.size() < kMostPlaces) {
    first_flushes_.push_back({box, tool, fresh_mm});
  }
}

Feed PurgeBook::waste(const Feed& feed, const Record& record) {
  const double waste_mm = feed.fresh_mm + feed.earlier_mm;
  const Use use = swaps_ == 0 ? Use::start_up : Use::purge;
  recount({.layer = record.layer,
           .tool = record.tool,
           .mm = waste_mm,
           .is = use,
           .mark = feed.mark,
           .from = last_swap_.from,
           .to = last_swap_.to});
  return {use, feed.mark, feed.fresh_mm, feed.earlier_mm};
}

/// Where marked purge lies: before the first swap to be looked at again, later to look in.
void PurgeBook::note_marked_place(const Record& record, double fresh_mm) {
  Box box;
  box.include(record.move.from_mm[0], record.move.from_mm[1]);
  box.include(record.move.to_mm[0], record.move.to_mm[1]);
  if (swaps_ == 0) {
    if (early_.size() < kMostEarly)
      early_.push_back({box,
                        {.layer = record.layer,
                         .tool = record.tool,
                         .mm = fresh_mm,
                         .was = Use::start_up,
                         .mark = Mark::comment}});
    return;
  }
  if (!early_.empty() && std::none_of(late_.begin(), late_.end(),
                                      [&](const Box& place) { return box.lies_in(place, 0.0F); })) {
    std::erase_if(late_, [&box](const Box& place) {
      if (!place.meets(box, kSamePlace_mm))
        return false;
      box.include(place);
      return true;
    });
    if (late_.size() < kMostPlaces)
      late_.push_back(box);
  }
}

std::vector<Recounted> PurgeBook::settle_early() {
  std::vector<Recounted> purge;
  if (swaps_ == 0)
    return purge;
  for (const MarkedEarly& early : early_)
    if (std::any_of(late_.begin(), late_.end(),
                    [&early](const Box& place) { return early.box.lies_in(place, kSamePlace_mm); }))
      purge.push_back(early.filament);
  if (ram_.mm * filament_area_mm2_[static_cast<std::size_t>(ram_.tool)] > kPrimeMm3) {
    ram_.mark = Mark::at_rest;
    purge.push_back(ram_);
  }
  for (const FirstFlush& flush : first_flushes_)
    if (flush.swaps_flush_there)
      doubt_mm_[flush.tool] += flush.fresh_mm;
  base::give_back(early_);
  for (Recounted& filament : purge) {
    filament.from = first_swap_.from;
    filament.to = first_swap_.to;
  }
  return purge;
}

void PurgeBook::recount(const Recounted& filament) {
  const auto tool = static_cast<std::size_t>(filament.tool);
  material_.move(filament.layer, tool, filament.was, filament.is, filament.mm);
  if (filament.is != Use::purge)
    return;
  purge_by_mark_mm_[tool][static_cast<std::size_t>(filament.mark)] += filament.mm;
  pair_of(filament.from, filament.to).purge_mm += filament.mm;
}

}  // namespace platetally::swaps
