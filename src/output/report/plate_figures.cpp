#include "output/report/plate_figures.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "base/counted.hpp"
#include "output/report/labels.hpp"
#include "output/report/strings.hpp"

namespace platetally::report {

namespace {

std::string between(const std::string& low, const std::string& high) {
  return low == high ? "" : fmt::format("{} to {}", low, high);
}

std::optional<FigureBand> band_of(double low, double expected, double high, std::string_view unit) {
  const std::string text = between(with_unit(low, unit), with_unit(high, unit));
  return text.empty() ? std::nullopt : std::optional(FigureBand{low, expected, high, text});
}

/// The largest first; what is nothing is left out, and so is what rounds to nothing.
std::vector<FigurePart> by_size(std::vector<FigurePart> parts) {
  std::erase_if(parts, [](const FigurePart& part) { return !(part.amount > 0.0); });
  std::ranges::stable_sort(parts, std::ranges::greater{}, &FigurePart::amount);
  return parts;
}

FigurePart part(std::string name, double amount, std::string_view unit, Hue hue) {
  return {std::move(name), amount, with_unit(amount, unit), hue};
}

Figure time_figure(const Account& account) {
  const Totals& totals = account.totals;
  Figure figure{"Time", duration(totals.time.expected), "", {}, {}, {}, ""};
  figure.band = band_of(totals.time.low, totals.time.expected, totals.time.high, "s");
  figure.aside = totals.swaps > 0 ? base::counted(totals.swaps, "swap") : "";
  figure.parts = parts_of_time(totals.time_by);
  if (account.clock)
    figure.remark = fmt::format("done {}, {} to {}", account.clock->done, account.clock->done_early,
                                account.clock->done_late);
  return figure;
}

Figure material_figure(const Account& account) {
  const Totals& totals = account.totals;
  const double all_g = totals.part_g + totals.purge_g + totals.start_up_g;
  Figure figure{"Material", with_unit(all_g, "g"), "", {}, {}, {}, ""};
  if (totals.purge_g > 0.0)
    figure.aside = fmt::format("{} of it purge", share(totals.purge_g, all_g));
  const double other_g = all_g - totals.purge_g;
  figure.band = band_of(other_g + totals.purge_low_g, all_g, other_g + totals.purge_high_g, "g");
  figure.parts = by_size({part("part", totals.part_g, "g", Hue::part),
                          part("purge", totals.purge_g, "g", Hue::purge),
                          part("start-up", totals.start_up_g, "g", Hue::start_up)});
  double needed_g = 0.0;
  bool is_known = !account.swap_pairs.empty();
  for (const SwapPairAccount& pair : account.swap_pairs) {
    is_known = is_known && pair.needed_g.has_value();
    needed_g += pair.needed_g.value_or(0.0);
  }
  if (totals.purge_g > 0.0)
    figure.remark = is_known && needed_g <= 0.0 ? "separate heads: no colour to flush"
                    : is_known
                        ? fmt::format("the colours need {} of purge", with_unit(needed_g, "g"))
                        : "what the colours need is not known: name them";
  return figure;
}

Figure energy_figure(const Account& account) {
  const Totals& totals = account.totals;
  Figure figure{"Energy at the wall", with_unit(totals.energy_wh, "Wh"), "", {}, {}, {}, ""};
  figure.aside = fmt::format("mean {}", with_unit(totals.mean_power_w, "W"));
  figure.band = band_of(totals.energy_low_wh, totals.energy_wh, totals.energy_high_wh, "Wh");
  figure.parts = parts_of_energy(totals.energy_by);
  return figure;
}

Figure cost_figure(const PlateCost& cost) {
  const double total = cost.total();
  Figure figure{"Cost", fmt::format("{:.2f} {}", total, cost.currency), "", {}, {}, {}, ""};
  figure.aside = fmt::format("{:.2f} wasted", cost.purge_filament + cost.failures);
  figure.parts = parts_of_cost(cost);
  if (cost.per_good_part != total)
    figure.remark = fmt::format("{:.2f} {} a good part", cost.per_good_part, cost.currency);
  if (!cost.not_counted.empty())
    figure.remark += fmt::format("{}not counted: {}", figure.remark.empty() ? "" : "; ",
                                 fmt::join(cost.not_counted, ", "));
  return figure;
}

Figure swap_figure(const Account& account) {
  const Totals& totals = account.totals;
  Figure figure{"Swaps", fmt::format("{}", totals.swaps), "", {}, {}, {}, ""};
  if (totals.swaps == 0) {
    figure.remark = "one tool from the first layer to the last";
    return figure;
  }
  const auto count = static_cast<double>(totals.swaps);
  figure.aside = fmt::format("{} each", duration(totals.time_by.swap_s / count));
  std::vector<const SwapPairAccount*> pairs;
  for (const SwapPairAccount& pair : account.swap_pairs)
    pairs.push_back(&pair);
  std::ranges::stable_sort(pairs, std::ranges::greater{}, &SwapPairAccount::count);
  constexpr std::size_t kMostPairs = 3;
  for (std::size_t i = 0; i < std::min(kMostPairs, pairs.size()); ++i)
    figure.beside.push_back({fmt::format("{} to {}", pairs[i]->from, pairs[i]->to),
                             static_cast<double>(pairs[i]->count),
                             fmt::format("{}", pairs[i]->count), Hue::swap});
  return figure;
}

}  // namespace

std::vector<FigurePart> parts_of_time(const TimeBy& by) {
  return by_size({part("swaps", by.swap_s, "s", Hue::swap),
                  part("print", by.print_s, "s", Hue::print),
                  part("travel", by.travel_s, "s", Hue::travel),
                  part("heat waits", by.heat_wait_s, "s", Hue::wait),
                  part("other", by.other_s, "s", Hue::other)});
}

std::vector<FigurePart> parts_of_energy(const EnergyBy& by) {
  return by_size({part("bed", by.bed_wh, "Wh", Hue::bed),
                  part("hot ends", by.hot_ends_wh, "Wh", Hue::hot_ends),
                  part("enclosure", by.enclosure_wh, "Wh", Hue::enclosure),
                  part("motors", by.motors_wh, "Wh", Hue::motors),
                  part("fans", by.fans_wh, "Wh", Hue::fans),
                  part("electronics", by.electronics_wh, "Wh", Hue::electronics),
                  part("supply loss", by.supply_loss_wh, "Wh", Hue::supply_loss)});
}

std::vector<FigurePart> parts_of_cost(const PlateCost& cost) {
  const auto money = [](std::string name, double amount, Hue hue) {
    return FigurePart{std::move(name), amount, fmt::format("{:.2f}", amount), hue};
  };
  return by_size(
      {money("part filament", cost.part_filament, Hue::part),
       money("purge filament", cost.purge_filament, Hue::purge),
       money("energy", cost.energy, Hue::power), money("machine", cost.machine, Hue::machine),
       money("labour", cost.labour, Hue::labour), money("failures", cost.failures, Hue::failures),
       money("drying", cost.drying, Hue::wait), money("wear", cost.wear, Hue::other)});
}

std::vector<Figure> plate_figures(const Account& account) {
  std::vector<Figure> figures{time_figure(account), material_figure(account),
                              energy_figure(account)};
  figures.push_back(account.cost ? cost_figure(*account.cost) : swap_figure(account));
  return figures;
}

}  // namespace platetally::report
