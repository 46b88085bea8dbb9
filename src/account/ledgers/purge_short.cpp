// A need holds a margin m: need = m V, where V leaves just the colour difference that is accepted.
// A swap is short if it purges less than V, so that more than that is expected to be seen; between
// V and m V it is within the margin. What it is short of is the whole need.
//
// Where the need of a pair was measured, the model's washout is stretched so that it gives that
// need.
#include "account/ledgers/purge_short.hpp"

#include <algorithm>
#include <optional>

#include "account/ledgers/by_tool.hpp"
#include "base/units.hpp"
#include "material/swaps/left_over.hpp"
#include "material/swaps/pair_need.hpp"

namespace platetally::ledgers {

namespace {

class Shortage {
 public:
  Shortage(const std::vector<ledgers::Turn>& turns, const Machine& machine,
           const std::vector<Material>& materials, Account& account)
      : machine_(machine),
        materials_(materials),
        account_(account),
        tools_(machine.tools.size()),
        each_mm3_(tools_ * tools_) {
    gather(turns);
  }

  void write();

 private:
  std::size_t index(int from, int to) const {
    return static_cast<std::size_t>(from) * tools_ + static_cast<std::size_t>(to);
  }
  double g_per_mm3(int tool) const {
    return base::g_from_mm3(1.0, materials_[static_cast<std::size_t>(tool)].density_g_cm3);
  }
  void gather(const std::vector<ledgers::Turn>& turns);
  void write_pair(SwapPairAccount& pair, std::optional<double> need_mm3, double doubt_g) const;
  void write_colours(SwapPairAccount& pair, double need_mm3, double mean_mm3,
                     double least_mm3) const;

  const Machine& machine_;
  const std::vector<Material>& materials_;
  Account& account_;
  const std::size_t tools_;
  std::vector<std::vector<double>> each_mm3_;  ///< by pair, swap by swap
};

/// What each swap purges; what only keeps a tower standing is no swap's.
void Shortage::gather(const std::vector<ledgers::Turn>& turns) {
  double* swap_mm3 = nullptr;
  for (const ledgers::Turn& turn : turns) {
    if (turn.tool < 0)
      continue;
    if (turn.from >= 0) {
      std::vector<double>& swaps = each_mm3_[index(turn.from, turn.tool)];
      swaps.push_back(machine_.swap.hidden_purge_mm3);
      swap_mm3 = &swaps.back();
    }
    if (swap_mm3 != nullptr)
      *swap_mm3 += turn.purge_mm *
                   base::filament_area_mm2(
                       machine_.tools[static_cast<std::size_t>(turn.tool)].filament_diameter_mm);
  }
}

void Shortage::write_colours(SwapPairAccount& pair, double need_mm3, double mean_mm3,
                             double least_mm3) const {
  const auto colour = [&](int tool) {
    return swaps::parse_colour(account_.tools[static_cast<std::size_t>(tool)].colour);
  };
  const auto from = colour(pair.from);
  const auto to = colour(pair.to);
  if (!from || !to)
    return;
  const swaps::NeedModel model = swaps::need_model_of(machine_);
  const double by_colour_mm3 = swaps::need_mm3(*from, *to, model);
  const double stretch = need_mm3 > 0.0 && by_colour_mm3 > 0.0 ? by_colour_mm3 / need_mm3 : 1.0;
  pair.left_de00 = swaps::difference_left_de00(*from, *to, stretch * mean_mm3, model);
  pair.left_high_de00 = swaps::difference_left_de00(*from, *to, stretch * least_mm3, model);
}

void Shortage::write_pair(SwapPairAccount& pair, std::optional<double> need_mm3,
                          double doubt_g) const {
  pair.left_de00 = pair.left_high_de00 = std::nullopt;
  pair.needed_each_low_g = pair.needed_each_high_g = std::nullopt;
  pair.swaps_short = 0;
  pair.short_g = 0.0;
  const double g = g_per_mm3(pair.to);
  const double mean_mm3 = pair.purge_g / static_cast<double>(pair.count) / g;
  std::vector<double> each_mm3 = each_mm3_[index(pair.from, pair.to)];
  if (each_mm3.empty())
    each_mm3.assign(1, mean_mm3);
  const auto [least, most] = std::ranges::minmax(each_mm3);
  pair.purge_each_low_g = least * g;
  pair.purge_each_high_g = most * g;
  if (!need_mm3)
    return;
  const double low_mm3 = *need_mm3 / machine_.need.margin;
  pair.needed_each_low_g = low_mm3 * g;
  pair.needed_each_high_g = *need_mm3 * g;
  if (*need_mm3 <= 0.0)
    return;
  double sum_mm3 = 0.0;
  for (const double mm3 : each_mm3)
    sum_mm3 += mm3;
  write_colours(pair, *need_mm3, sum_mm3 / static_cast<double>(each_mm3.size()), least);
  const double doubt_mm3 = doubt_g / g;
  const double stands_for = static_cast<double>(pair.count) / static_cast<double>(each_mm3.size());
  double short_swaps = 0.0;
  for (const double mm3 : each_mm3)
    if (mm3 + doubt_mm3 < low_mm3) {
      short_swaps += stands_for;
      pair.short_g += stands_for * (*need_mm3 - mm3) * g;
    }
  pair.swaps_short = static_cast<std::uint64_t>(short_swaps + 0.5);
}

void Shortage::write() {
  const auto needs_mm3 =
      swaps::pair_needs_mm3(machine_, ledgers::colours_by_tool(account_, machine_));
  Totals& totals = account_.totals;
  const double doubt_g =
      totals.swaps > 0 ? (totals.purge_high_g - totals.purge_g) / static_cast<double>(totals.swaps)
                       : 0.0;
  totals.swaps_short = totals.purge_short_g = 0.0;
  bool known = true;
  for (SwapPairAccount& pair : account_.swap_pairs) {
    const std::optional<double>& need_mm3 = needs_mm3[index(pair.from, pair.to)];
    write_pair(pair, need_mm3, doubt_g);
    known = known && need_mm3.has_value();
    *totals.swaps_short += static_cast<double>(pair.swaps_short);
    *totals.purge_short_g += pair.short_g;
  }
  if (!known)
    totals.swaps_short = totals.purge_short_g = std::nullopt;
}

}  // namespace

void hold_against_need(const std::vector<ledgers::Turn>& turns, const Machine& machine,
                       const std::vector<Material>& materials, Account& account) {
  Shortage(turns, machine, materials, account).write();
}

}  // namespace platetally::ledgers
