// The swap purge of a pair is what its swaps purge on average. What a tower gets beyond that keeps
// it standing: in a layer with n swaps of at most N it is taken as wall + f (N - n), where f is
// found from the plate by least squares; where every layer swaps as often, f is not told, and a
// quarter of a swap's purge is assumed (a sparse fill; common practice, no source).
#include "account/whatif/stints.hpp"

#include <algorithm>

#include "base/units.hpp"

namespace platetally::whatif {

namespace {

constexpr double kNoPart_mm = 1e-6;

using ledgers::Turn;

bool lays_part(const Turn& turn) {
  return turn.part_mm() > kNoPart_mm && turn.print_s > 0.0;
}

/// Cuts the turns behind the preamble into stints.
std::vector<Stint> stints_of(const std::vector<Turn>& turns, std::size_t preamble) {
  std::vector<Stint> stints;
  for (std::size_t i = preamble; i < turns.size(); ++i) {
    const Turn& turn = turns[i];
    // Parked, a tool is still the one that was in hand.
    const int tool = turn.tool >= 0 || stints.empty() ? turn.tool : stints.back().tool;
    const bool lays = lays_part(turn);
    const bool goes_on = !stints.empty() && stints.back().tool == tool && turn.from < 0 &&
                         !(lays && stints.back().lays_part && stints.back().layer != turn.layer);
    if (!goes_on)
      stints.push_back({i, i, tool, turn.layer, false});
    Stint& stint = stints.back();
    stint.last = i + 1;
    if (lays || !stint.lays_part)
      stint.layer = turn.layer;
    stint.lays_part = stint.lays_part || lays;
  }
  return stints;
}

struct LayerFill {
  double swaps = 0.0;
  double filler_mm3 = 0.0;
};

}  // namespace

Sequence sequence_of(const std::vector<Turn>& turns) {
  Sequence sequence;
  while (sequence.preamble < turns.size() && turns[sequence.preamble].layer == 0)
    ++sequence.preamble;
  for (std::size_t i = 0; i < sequence.preamble; ++i)
    if (turns[i].tool >= 0)
      sequence.first_tool = turns[i].tool;
  std::vector<Stint> leading;
  for (const Stint& stint : stints_of(turns, sequence.preamble)) {
    leading.push_back(stint);
    if (!stint.lays_part)
      continue;
    if (sequence.groups.empty() || sequence.groups.back().layer != stint.layer)
      sequence.groups.push_back({stint.layer, {}});
    std::vector<Stint>& stints = sequence.groups.back().stints;
    stints.insert(stints.end(), leading.begin(), leading.end());
    leading.clear();
  }
  if (!leading.empty() && !sequence.groups.empty()) {
    std::vector<Stint>& stints = sequence.groups.back().stints;
    stints.insert(stints.end(), leading.begin(), leading.end());
  }
  if (sequence.first_tool < 0 && !sequence.groups.empty())
    sequence.first_tool = sequence.groups.front().stints.front().tool;
  return sequence;
}

PurgeHabit::PurgeHabit(const std::vector<Turn>& turns, const Sequence& sequence,
                       const Machine& machine)
    : tools_(machine.tools.size()) {
  std::vector<PairHabit> pairs(tools_ * tools_);
  for (const Tool& tool : machine.tools)
    area_mm2_.push_back(base::filament_area_mm2(tool.filament_diameter_mm));
  double purge_s = 0.0, purge_mm3 = 0.0, filler_s = 0.0, filler_mm3 = 0.0;
  PairHabit* pair = nullptr;
  for (const Turn& turn : turns) {
    if (turn.from >= 0) {
      pair = &pairs[static_cast<std::size_t>(turn.from) * tools_ +
                    static_cast<std::size_t>(turn.tool)];
      pair->count += 1.0;
    }
    if (turn.tool < 0)
      continue;
    const double area_mm2 = area_mm2_[static_cast<std::size_t>(turn.tool)];
    if (pair != nullptr)
      pair->mm3 += turn.purge_mm * area_mm2;
    purge_s += turn.purge_s;
    purge_mm3 += turn.purge_mm * area_mm2;
    filler_s += turn.filler_s;
    filler_mm3 += turn.filler_mm * area_mm2;
    stands_ = stands_ || turn.purge_stands;
  }
  s_per_mm3_ = purge_mm3 > 0.0 ? purge_s / purge_mm3 : 0.0;
  filler_s_per_mm3_ = filler_mm3 > 0.0 ? filler_s / filler_mm3 : s_per_mm3_;
  find_each(pairs);
  if (stands_)
    find_filler(turns, sequence);
}

void PurgeHabit::find_filler(const std::vector<Turn>& turns, const Sequence& sequence) {
  std::vector<LayerFill> layers;
  double most = 0.0;
  std::size_t last_swap = 0;
  for (const LayerGroup& group : sequence.groups) {
    LayerFill fill;
    for (const Stint& stint : group.stints)
      for (std::size_t i = stint.first; i < stint.last; ++i) {
        fill.swaps += turns[i].from >= 0 ? 1.0 : 0.0;
        if (turns[i].tool >= 0)
          fill.filler_mm3 +=
              turns[i].filler_mm * area_mm2_[static_cast<std::size_t>(turns[i].tool)];
      }
    layers.push_back(fill);
    most = std::max(most, fill.swaps);
    if (fill.swaps > 0.0)
      last_swap = layers.size();
  }
  layers.resize(last_swap);
  double n = 0.0, x = 0.0, y = 0.0, xx = 0.0, xy = 0.0;
  for (const LayerFill& layer : layers) {
    const double lacks = most - layer.swaps;
    n += 1.0;
    x += lacks;
    y += layer.filler_mm3;
    xx += lacks * lacks;
    xy += lacks * layer.filler_mm3;
  }
  const double spread = n * xx - x * x;
  if (spread > 0.0)
    filler_mm3_ = std::max(0.0, (n * xy - x * y) / spread);
  else
    filler_mm3_ = kSparseShare * mean_mm3_;
}

/// By pair: as the plate purges for it, else for the tool that comes, else on average.
void PurgeHabit::find_each(const std::vector<PairHabit>& pairs) {
  const auto mean_of = [](const PairHabit& habit) { return habit.mm3 / habit.count; };
  PairHabit all;
  std::vector<PairHabit> by_tool(tools_);
  for (std::size_t i = 0; i < pairs.size(); ++i)
    for (PairHabit* sum : {&all, &by_tool[i % tools_]}) {
      sum->count += pairs[i].count;
      sum->mm3 += pairs[i].mm3;
    }
  mean_mm3_ = all.count > 0.0 ? mean_of(all) : 0.0;
  for (std::size_t i = 0; i < pairs.size(); ++i)
    each_mm3_.push_back(pairs[i].count > 0.0              ? mean_of(pairs[i])
                        : by_tool[i % tools_].count > 0.0 ? mean_of(by_tool[i % tools_])
                                                          : mean_mm3_);
}

}  // namespace platetally::whatif
