// Idea: a plate is a sequence of stints, layer after layer. A variant takes stints out, puts those
// of a layer in another order, prints them with another tool, or scales them; then the sequence is
// walked once, and wherever the tool in hand changes there is a swap. A swap that the plate has
// between the same two tools keeps its own purge; any other one purges as the plate does for that
// pair, that tool, or on average (PurgeHabit). On a tower, layers with fewer swaps than the most
// are filled up.
//
// What a stint becomes:
//   repeat N        print, travel, and strokes at rest N times, part N times; swap and purge once
//   layers_share s  of the layers above the first, one in 1/s stays (thin_out.cpp); they share the
//                   part of all, at the same speeds; what stays takes the orders of the first
//                   layers, so that an order that goes back and forth still does
// With a swap falls away the way to its purge: all that is travelled before the first stroke behind
// it where that is on a tower, half of it where it goes to a chute and back.
#include "account/whatif/rewrite.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "account/whatif/thin_out.hpp"
#include "base/units.hpp"

namespace platetally::whatif {

namespace {

using ledgers::Turn;

struct Piece {
  Stint stint;
  int tool = 0;
  double part = 1.0;    ///< grams of part
  double print = 1.0;   ///< seconds of printing it
  double travel = 1.0;  ///< of everything else that goes with the part
  double height = 1.0;  ///< of the layer
};

struct Group {
  std::uint32_t layer = 0;
  std::vector<Piece> pieces;
  double filler_mm3 = 0.0;  ///< as the plate has it
  double swaps = 0.0;       ///< as the plate has them
};

class Rewriter {
 public:
  Rewriter(const KeptPlate& plate, const Variant& variant, const PurgePolicy* policy)
      : plate_(plate),
        variant_(variant),
        policy_(policy),
        turns_(plate.turns),
        sequence_(sequence_of(plate.turns)),
        habit_(plate.turns, sequence_, plate.machine) {
    for (const Tool& tool : plate.machine.tools)
      area_mm2_.push_back(base::filament_area_mm2(tool.filament_diameter_mm));
    for (const SwapPairAccount& pair : plate.account.swap_pairs)
      if (pair.needed_g && *pair.needed_g > 0.0)
        need_mm3_[{pair.from, pair.to}] =
            *pair.needed_g / static_cast<double>(pair.count) / g_per_mm3(pair.to);
  }

  Rewritten rewrite();

 private:
  double g_per_mm3(int tool) const {
    return base::g_from_mm3(1.0, plate_.materials[static_cast<std::size_t>(tool)].density_g_cm3);
  }
  double area_mm2(int tool) const { return area_mm2_[static_cast<std::size_t>(tool)]; }

  double pace_of_part() const;
  void gather();
  void find_neighbours();
  void take_out();
  void thin_out();
  static void put_in_order_of(const Group& other, Group& group);
  void reorder();
  void repeat();
  void walk();
  struct SwapPurge {
    double mm3 = 0.0;
    bool stands = false;      ///< on a tower
    std::size_t carrier = 0;  ///< the turn where purge goes that the plate has none of
  };
  SwapPurge swap_purge_of(const Stint& stint) const;
  void change_purge(const Piece& piece, const SwapPurge& had, double mm3, std::size_t turn,
                    Turn& now) const;
  void purge_by_policy(const Piece& piece, const SwapPurge& had, double mm3, std::size_t turn,
                       Turn& now) const;
  void lay(const Piece& piece, int from, std::size_t group);
  double purge_of(const Piece& piece, int from, double had_mm3);
  void fill_tower();
  void fill_tower_by_policy();
  void set_filler(std::size_t group, double mm3);
  void note_visits();
  void drop(const Stint& stint);

  const KeptPlate& plate_;
  const Variant& variant_;
  const PurgePolicy* policy_;
  const std::vector<Turn>& turns_;
  Sequence sequence_;
  PurgeHabit habit_;
  std::vector<double> area_mm2_;
  double laid_mm3_s_ = 0.0;  ///< as the plate lays its part
  std::map<std::pair<int, int>, double> need_mm3_;
  std::vector<Group> groups_;
  std::map<std::size_t, std::pair<int, int>> neighbours_;  ///< by first turn of the stint
  std::vector<std::pair<std::size_t, std::size_t>> laid_;  ///< by group: its turns in result_
  std::vector<double> new_swaps_;                          ///< by group
  bool guesses_purge_ = false;
  Rewritten result_;
};

/// mm3/s at which the plate lays its part.
double Rewriter::pace_of_part() const {
  double mm3 = 0.0, print_s = 0.0;
  for (const Turn& turn : turns_)
    if (turn.tool >= 0) {
      mm3 += turn.part_mm() * area_mm2(turn.tool);
      print_s += turn.print_s;
    }
  return print_s > 0.0 && mm3 > 0.0 ? mm3 / print_s : plate_.machine.swap.purge_mm3_s;
}

void Rewriter::gather() {
  for (const LayerGroup& layer : sequence_.groups) {
    Group group;
    group.layer = layer.layer;
    for (const Stint& stint : layer.stints) {
      Piece piece;
      piece.stint = stint;
      piece.tool = stint.tool;
      group.pieces.push_back(piece);
      for (std::size_t i = stint.first; i < stint.last; ++i) {
        group.swaps += turns_[i].from >= 0 ? 1.0 : 0.0;
        if (turns_[i].tool >= 0)
          group.filler_mm3 += turns_[i].filler_mm * area_mm2(turns_[i].tool);
      }
    }
    groups_.push_back(std::move(group));
  }
}

/// Which tool the plate puts away and takes up around each stint.
void Rewriter::find_neighbours() {
  int before = sequence_.first_tool;
  const Stint* last = nullptr;
  for (const Group& group : groups_)
    for (const Piece& piece : group.pieces) {
      const Stint& stint = piece.stint;
      auto& [in_front, behind] = neighbours_[stint.first];
      in_front = before == stint.tool ? -1 : before;
      behind = -1;
      if (last != nullptr && last->tool != stint.tool)
        neighbours_[last->first].second = stint.tool;
      before = stint.tool;
      last = &stint;
    }
}

void Rewriter::drop(const Stint& stint) {
  for (std::size_t i = stint.first; i < stint.last; ++i)
    result_.dropped.push_back(i);
}

/// Tools that go: those without part with all that they do, merged ones to another tool.
void Rewriter::take_out() {
  for (const int tool : variant_.without)
    for (Group& group : groups_)
      std::erase_if(group.pieces, [&](const Piece& piece) {
        if (piece.tool != tool)
          return false;
        if (piece.stint.lays_part)
          result_.impossible = fmt::format("tool {} lays part of the plate", tool);
        drop(piece.stint);
        return true;
      });
  for (const auto& [tool, other] : variant_.merge)
    for (Group& group : groups_)
      for (Piece& piece : group.pieces)
        if (piece.tool == tool)
          piece.tool = other;
  // In each layer, what one tool lays is laid in one go.
  if (!variant_.merge.empty())
    for (Group& group : groups_) {
      std::vector<int> order;
      for (const Piece& piece : group.pieces)
        if (std::find(order.begin(), order.end(), piece.tool) == order.end())
          order.push_back(piece.tool);
      std::ranges::stable_sort(group.pieces, {}, [&](const Piece& piece) {
        return std::find(order.begin(), order.end(), piece.tool) - order.begin();
      });
    }
}

/// Leaves so many of the layers above the first, evenly spread, each as much thicker.
void Rewriter::thin_out() {
  const double share = variant_.layers_share;
  if (share >= 1.0)
    return;
  std::vector<double> layer_s(groups_.size(), 0.0), part_mm(groups_.size(), 0.0);
  for (std::size_t i = 0; i < groups_.size(); ++i)
    for (const Piece& piece : groups_[i].pieces)
      for (std::size_t turn = piece.stint.first; turn < piece.stint.last; ++turn) {
        layer_s[i] += turns_[turn].motion_s();
        part_mm[i] += turns_[turn].part_mm();
      }
  const std::vector<bool> stays = layers_that_stay(layer_s, share);
  double all_mm = 0.0, kept_mm = 0.0;
  for (std::size_t i = 1; i < groups_.size(); ++i) {
    all_mm += part_mm[i];
    kept_mm += stays[i] ? part_mm[i] : 0.0;
  }
  const double part = kept_mm > 0.0 ? all_mm / kept_mm : 1.0 / share;
  std::vector<Group> kept;
  for (std::size_t i = 0; i < groups_.size(); ++i) {
    if (!stays[i]) {
      for (const Piece& piece : groups_[i].pieces)
        drop(piece.stint);
      continue;
    }
    if (i > 0)
      for (Piece& piece : groups_[i].pieces) {
        piece.part = part;
        piece.height = 1.0 / share;
      }
    kept.push_back(groups_[i]);
    put_in_order_of(groups_[kept.size() - 1], kept.back());
  }
  groups_ = std::move(kept);
}

/// Puts the pieces of a layer in the order of another one that is laid by the same tools.
void Rewriter::put_in_order_of(const Group& other, Group& group) {
  const auto place_of = [&](int tool) {
    return std::ranges::find(other.pieces, tool, &Piece::tool) - other.pieces.begin();
  };
  const auto end = static_cast<std::ptrdiff_t>(other.pieces.size());
  if (std::ranges::all_of(group.pieces,
                          [&](const Piece& piece) { return place_of(piece.tool) < end; }))
    std::ranges::stable_sort(group.pieces, {},
                             [&](const Piece& piece) { return place_of(piece.tool); });
}

void Rewriter::reorder() {
  if (variant_.orders.empty())
    return;
  const std::vector<LayerVisit>& visits = plate_.account.visits;
  if (visits.size() != variant_.orders.size()) {
    result_.impossible = "its layers are not printed one after the other";
    return;
  }
  std::size_t visit = 0;
  for (Group& group : groups_) {
    // Visits in which only a tower is laid have no group.
    while (visit < visits.size() && plate_.ordinals[visits[visit].layer] != group.layer)
      ++visit;
    if (visit == visits.size()) {
      result_.impossible = "the order in which it prints its layers was not understood";
      return;
    }
    const std::vector<int>& order = variant_.orders[visit++];
    std::ranges::stable_sort(group.pieces, {}, [&](const Piece& piece) {
      return std::find(order.begin(), order.end(), piece.tool) - order.begin();
    });
  }
}

void Rewriter::repeat() {
  if (variant_.repeat <= 1)
    return;
  std::set<std::uint32_t> layers;
  for (const Group& group : groups_)
    layers.insert(group.layer);
  if (groups_.size() > layers.size() + layers.size() / 2) {
    result_.impossible = "its objects are printed one after the other, so copies share no swaps";
    return;
  }
  const double times = variant_.repeat;
  for (Group& group : groups_)
    for (Piece& piece : group.pieces) {
      piece.part *= times;
      piece.print *= times;
      piece.travel *= times;
    }
}

/// mm3 that the swap in front of a piece purges.
double Rewriter::purge_of(const Piece& piece, int from, double had_mm3) {
  if (from < 0)
    return 0.0;
  if (policy_ != nullptr)
    return policy_->each_mm3[static_cast<std::size_t>(from) * plate_.machine.tools.size() +
                             static_cast<std::size_t>(piece.tool)];
  const Turn& first = turns_[piece.stint.first];
  double mm3 = had_mm3;
  if (first.from != from || piece.tool != piece.stint.tool) {
    mm3 = habit_.mm3(from, piece.tool);
    guesses_purge_ = true;
  }
  const auto need = need_mm3_.find({from, piece.tool});
  if (need == need_mm3_.end())
    return mm3;
  if (variant_.purge_as_needed)
    mm3 = std::min(mm3, need->second);
  if (variant_.purge_enough)
    mm3 = std::max(mm3, need->second);
  return mm3;
}

/// Of a piece's turns as the plate has them: what its swap purges, and where.
Rewriter::SwapPurge Rewriter::swap_purge_of(const Stint& stint) const {
  SwapPurge purge;
  purge.carrier = stint.first;
  for (std::size_t i = stint.first; i < stint.last; ++i)
    if (turns_[i].tool >= 0) {
      purge.mm3 += turns_[i].purge_mm * area_mm2(turns_[i].tool);
      purge.stands = purge.stands || turns_[i].purge_stands;
      purge.carrier = i;
    }
  return purge;
}

/// The purge of a turn by another machine's policy: where the plate has some, in its shares.
void Rewriter::purge_by_policy(const Piece& piece, const SwapPurge& had, double mm3,
                               std::size_t turn, Turn& now) const {
  const double share = had.mm3 > 0.0 ? turns_[turn].purge_mm * area_mm2(piece.stint.tool) / had.mm3
                                     : (turn == had.carrier ? 1.0 : 0.0);
  now.purge_mm = share * mm3 / area_mm2(piece.tool);
  now.purge_s = share * mm3 / (policy_->on_tower ? laid_mm3_s_ : policy_->mm3_s);
  now.filler_mm = now.filler_s = 0.0;
  now.purge_stands = policy_->on_tower && now.purge_mm > 0.0;
}

/// The purge of a turn: `mm3` of the whole stint instead of what it had.
void Rewriter::change_purge(const Piece& piece, const SwapPurge& had, double mm3, std::size_t turn,
                            Turn& now) const {
  if (policy_ != nullptr)
    return purge_by_policy(piece, had, mm3, turn, now);
  const Turn& old = turns_[turn];
  if (variant_.drop_tower && old.purge_stands) {
    now.purge_s = now.filler_s = now.purge_mm = now.filler_mm = 0.0;
  } else if (had.mm3 > 0.0) {
    now.purge_mm *= mm3 / had.mm3 * area_mm2(piece.stint.tool) / area_mm2(piece.tool);
    now.purge_s *= mm3 / had.mm3;
  } else if (turn == had.carrier && !(variant_.drop_tower && habit_.stands())) {
    now.purge_mm = mm3 / area_mm2(piece.tool);
    now.purge_s = habit_.seconds(mm3);
    now.purge_stands = now.purge_stands || (habit_.stands() && mm3 > 0.0);
  }
  // On a tower, thicker lines are shorter, and the sparse ones that fill it thicker.
  if (now.purge_stands)
    now.purge_s /= piece.height;
  now.filler_mm *= piece.height;
}

/// Seconds of going to the part straight from where was laid last, by the pace of the way from the
/// tower: t = L / v + v / a where the speed v that is asked for is reached, else 2 sqrt(L / a),
/// from rest to rest; a is what that way shows.
double direct_s(const Turn& turn, double way_back_s) {
  const double length_mm = turn.way_mm;
  const double v_mm_s = turn.way_feed_mm_s;
  const double direct_mm = turn.direct_mm;
  if (way_back_s <= 0.0 || length_mm <= 0.0 || direct_mm >= length_mm)
    return way_back_s;
  const double ramp_s = v_mm_s > 0.0 ? way_back_s - length_mm / v_mm_s : 0.0;
  const bool reaches_v = ramp_s > 0.0 && v_mm_s * ramp_s <= length_mm;
  if (!reaches_v)
    return way_back_s * std::sqrt(direct_mm / length_mm);
  return direct_mm >= v_mm_s * ramp_s ? direct_mm / v_mm_s + ramp_s
                                      : 2.0 * std::sqrt(direct_mm * ramp_s / v_mm_s);
}

/// Appends the turns of a piece, with a swap in front of it from `from` (-1: none).
void Rewriter::lay(const Piece& piece, int from, std::size_t group) {
  const Stint& stint = piece.stint;
  const SwapPurge had = swap_purge_of(stint);
  const double purge_mm3 = purge_of(piece, from, had.mm3);
  const bool swapped = turns_[stint.first].from >= 0;
  // On its way to a chute of the machine's own, whose seconds are the swap's.
  const bool leaves_tower =
      had.stands && (variant_.drop_tower || (policy_ != nullptr && !policy_->on_tower));
  const bool keeps_purge = !swapped || (from >= 0 && !leaves_tower);
  // Without its purge, a tool goes straight to its part, as it does where nothing is purged.
  const double lands = had.mm3 <= 0.0 ? piece.travel : keeps_purge ? 1.0 : had.stands ? 0.0 : 0.5;
  const auto& [before, behind] = neighbours_.at(stint.first);
  for (std::size_t i = stint.first; i < stint.last; ++i) {
    const Turn& old = turns_[i];
    NewTurn turn{old, i, before, behind, from, -1};
    Turn& now = turn.now;
    now.tool = static_cast<std::int16_t>(old.tool < 0 ? old.tool : piece.tool);
    now.from = static_cast<std::int16_t>(i == stint.first ? from : -1);
    now.print_s *= piece.print;
    // From a tower it is as far back to the part as it was there, however many parts there are.
    const double way_back_s =
        had.stands ? std::min(double{old.way_s}, old.travel_s - old.landing_travel_s) : 0.0;
    const double way_s = leaves_tower ? direct_s(old, way_back_s) : way_back_s;
    now.travel_s = lands * old.landing_travel_s + std::min(piece.travel, 1.0) * way_s +
                   piece.travel * (old.travel_s - old.landing_travel_s - way_back_s);
    // Where another machine changes, drawing out and ramming are of its own seconds of a change.
    now.rest_s = (policy_ != nullptr && swapped ? 0.0 : lands) * old.landing_rest_s +
                 piece.travel * (old.rest_s - old.landing_rest_s);
    if (old.tool >= 0) {
      change_purge(piece, had, purge_mm3, i, now);
      const double thinner = area_mm2(stint.tool) / area_mm2(piece.tool);
      now.fed_mm =
          old.part_mm() * piece.part * thinner + now.purge_mm + now.filler_mm + now.start_up_mm;
      now.melted_mm = std::max(0.0, old.melted_mm + now.fed_mm - old.fed_mm);
    }
    result_.turns.push_back(turn);
  }
  new_swaps_[group] += from >= 0 ? 1.0 : 0.0;
}

void Rewriter::walk() {
  new_swaps_.assign(groups_.size(), 0.0);
  int in_hand = sequence_.first_tool;
  bool first = true;
  std::size_t before = 0;  // where the turns of the piece before begin
  for (std::size_t g = 0; g < groups_.size(); ++g) {
    const std::size_t begin = result_.turns.size();
    for (const Piece& piece : groups_[g].pieces) {
      // The plate begins with whichever tool comes first, unless it swaps for its own first.
      if (first && turns_[sequence_.groups.front().stints.front().first].from < 0)
        in_hand = piece.tool;
      first = false;
      const int from = in_hand == piece.tool ? -1 : in_hand;
      // The turns of the piece before end with a change to this one.
      if (from >= 0)
        for (std::size_t i = before; i < result_.turns.size(); ++i)
          result_.turns[i].now_behind = piece.tool;
      before = result_.turns.size();
      lay(piece, from, g);
      in_hand = piece.tool;
    }
    laid_.emplace_back(begin, result_.turns.size());
  }
}

/// A tower that the plate does not have yet stands up to the last swap.
void Rewriter::fill_tower_by_policy() {
  const double most = *std::ranges::max_element(new_swaps_);
  if (!policy_->on_tower || most <= 0.0)
    return;
  const auto last =
      static_cast<std::size_t>(std::ranges::find_if(new_swaps_.rbegin(), new_swaps_.rend(),
                                                    [](double swaps) { return swaps > 0.0; })
                                   .base() -
                               new_swaps_.begin());
  // Of the changes that there are: the machine may have others that purge more.
  double each_mm3 = 0.0;
  for (const NewTurn& turn : result_.turns)
    if (turn.now.from >= 0)
      each_mm3 = std::max(
          each_mm3,
          policy_->each_mm3[static_cast<std::size_t>(turn.now.from) * plate_.machine.tools.size() +
                            static_cast<std::size_t>(turn.now.tool)]);
  for (std::size_t g = 0; g < last; ++g)
    set_filler(g, kSparseShare * each_mm3 * (most - new_swaps_[g]));
}

/// Makes what keeps a tower standing what the new number of swaps asks for.
void Rewriter::fill_tower() {
  if (policy_ != nullptr)
    return fill_tower_by_policy();
  if (!habit_.stands() || variant_.drop_tower)
    return;
  double most = 0.0, new_most = 0.0;
  std::size_t last = 0, new_last = 0;
  bool same = true;
  for (std::size_t g = 0; g < groups_.size(); ++g) {
    most = std::max(most, groups_[g].swaps);
    new_most = std::max(new_most, new_swaps_[g]);
    last = groups_[g].swaps > 0.0 ? g + 1 : last;
    new_last = new_swaps_[g] > 0.0 ? g + 1 : new_last;
    same = same && new_swaps_[g] == groups_[g].swaps;
  }
  if (same)
    return;
  for (std::size_t g = 0; g < groups_.size(); ++g) {
    const double lacked = g < last ? most - groups_[g].swaps : 0.0;
    const double wall_mm3 = std::max(0.0, groups_[g].filler_mm3 - habit_.filler_mm3() * lacked);
    set_filler(g, g < new_last ? wall_mm3 + habit_.filler_mm3() * (new_most - new_swaps_[g]) : 0.0);
  }
  result_.assumed.emplace_back(
      "a tower's layers with fewer swaps than its fullest are filled as this plate fills them, or "
      "by a quarter where it never does");
}

void Rewriter::set_filler(std::size_t group, double mm3) {
  const auto [begin, end] = laid_[group];
  double had_mm3 = 0.0;
  std::size_t last = end;
  for (std::size_t i = begin; i < end; ++i)
    if (const Turn& turn = result_.turns[i].now; turn.tool >= 0) {
      had_mm3 += turn.filler_mm * area_mm2(turn.tool);
      last = i;
    }
  if (last == end || had_mm3 == mm3)
    return;
  for (std::size_t i = begin; i < end; ++i) {
    Turn& turn = result_.turns[i].now;
    if (turn.tool < 0)
      continue;
    const double old_mm = turn.filler_mm;
    if (had_mm3 > 0.0) {
      turn.filler_mm *= mm3 / had_mm3;
      turn.filler_s *= mm3 / had_mm3;
    } else if (i == last) {
      turn.filler_mm = mm3 / area_mm2(turn.tool);
      turn.filler_s =
          policy_ == nullptr ? habit_.filler_seconds(mm3) : std::max(0.0, mm3) / laid_mm3_s_;
    }
    turn.fed_mm += turn.filler_mm - old_mm;
    turn.melted_mm = std::max(0.0, turn.melted_mm + turn.filler_mm - old_mm);
  }
}

void Rewriter::note_visits() {
  for (std::size_t g = 0; g < groups_.size(); ++g) {
    LayerVisit visit{groups_[g].layer, {}};
    for (const Piece& piece : groups_[g].pieces)
      if (piece.stint.lays_part && std::ranges::find(visit.order, piece.tool) == visit.order.end())
        visit.order.push_back(piece.tool);
    result_.visits.push_back(std::move(visit));
  }
}

Rewritten Rewriter::rewrite() {
  if (sequence_.groups.empty()) {
    result_.impossible = "no layer of it lays part";
    return std::move(result_);
  }
  gather();
  if (policy_ != nullptr)
    laid_mm3_s_ = pace_of_part();
  find_neighbours();
  take_out();
  thin_out();
  reorder();
  repeat();
  if (!result_.impossible.empty())
    return std::move(result_);
  walk();
  fill_tower();
  note_visits();
  result_.policy = policy_;
  if (guesses_purge_)
    result_.assumed.emplace_back(
        "a swap that the plate does not have purges what the plate purges for that pair, for that "
        "tool, or on average");
  return std::move(result_);
}

}  // namespace

bool changes_turns(const Variant& variant) {
  return variant.repeat > 1 || !variant.orders.empty() || !variant.merge.empty() ||
         !variant.without.empty() || variant.drop_tower || variant.purge_as_needed ||
         variant.purge_enough || variant.layers_share < 1.0;
}

Rewritten rewrite(const KeptPlate& plate, const Variant& variant, const PurgePolicy* policy) {
  return Rewriter(plate, variant, policy).rewrite();
}

}  // namespace platetally::whatif
