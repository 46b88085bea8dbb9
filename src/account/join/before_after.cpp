// Layers of two plates are seldom alike in number or thickness, so both are laid out over one row
// of slices by height: the slices are the layers of the plate that has fewer (what the other has
// above it comes behind), and each layer gives to the slices that it overlaps by its share of
// thickness.
#include "platetally/before_after.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace platetally {

namespace {

constexpr std::size_t kLargestListed = 20;
constexpr double kAboutAlike = 1.25;   // two layers' changes belong together
constexpr double kNothing = 1e-9;      // of the total: rounding
constexpr double kShownAlike = 0.005;  // of the larger: nothing to see in two or three digits

using Amounts = HeightSlice::Amounts;

struct Amount {
  const char* key;
  double Amounts::*of;
};
constexpr std::array kAmounts{
    Amount{"time_s", &Amounts::time_s}, Amount{"part_g", &Amounts::part_g},
    Amount{"purge_g", &Amounts::purge_g}, Amount{"energy_wh", &Amounts::energy_wh},
    Amount{"swaps", &Amounts::swaps}};

Amounts amounts_of(const LayerAccount& layer) {
  return {layer.time_by.sum_s(),
          layer.part_g,
          layer.purge_g + layer.start_up_g,
          layer.energy_by.sum_wh(),
          static_cast<double>(layer.swaps),
          layer.time_by};
}

void add(Amounts& to, const Amounts& amounts, double share) {
  for (const Amount& amount : kAmounts)
    to.*amount.of += share * amounts.*amount.of;
  for (const auto cause : {&TimeBy::print_s, &TimeBy::travel_s, &TimeBy::swap_s,
                           &TimeBy::heat_wait_s, &TimeBy::other_s})
    to.time_by.*cause += share * amounts.time_by.*cause;
}

/// Tops of the layers behind layer 0, rising; a layer at the height of the one before has none.
std::vector<double> tops_of(const Account& account) {
  std::vector<double> tops;
  for (const LayerAccount& layer : account.layers)
    if (layer.index > 0 && layer.z_mm > (tops.empty() ? 0.0 : tops.back()))
      tops.push_back(layer.z_mm);
  return tops;
}

std::vector<HeightSlice> slices_of(const Account& before, const Account& after) {
  std::vector<double> tops = tops_of(before);
  std::vector<double> others = tops_of(after);
  if (others.size() < tops.size())
    std::swap(tops, others);
  const double top_mm = tops.empty() ? 0.0 : tops.back();
  for (const double other : others)
    if (other > top_mm)
      tops.push_back(other);
  std::vector<HeightSlice> slices(1);
  for (const double top : tops) {
    HeightSlice slice;
    slice.from_mm = slices.back().to_mm;
    slice.to_mm = top;
    slices.push_back(slice);
  }
  return slices;
}

/// Spreads the layers of one account over the slices; `side` is before or after.
void lay_out(const Account& account, Amounts HeightSlice::*side, std::vector<HeightSlice>& slices) {
  double bottom_mm = 0.0;
  std::size_t slice = 1;
  for (const LayerAccount& layer : account.layers) {
    const Amounts amounts = amounts_of(layer);
    if (layer.index == 0 || slices.size() == 1) {
      add(slices.front().*side, amounts, 1.0);
      continue;
    }
    const double from_mm = std::min(bottom_mm, layer.z_mm);
    while (slice + 1 < slices.size() && slices[slice].to_mm <= from_mm)
      ++slice;
    const double thick_mm = layer.z_mm - from_mm;
    if (thick_mm <= 0.0) {
      add(slices[slice].*side, amounts, 1.0);
      continue;
    }
    for (std::size_t i = slice; i < slices.size() && slices[i].from_mm < layer.z_mm; ++i) {
      const double overlap_mm =
          std::min(layer.z_mm, slices[i].to_mm) - std::max(from_mm, slices[i].from_mm);
      add(slices[i].*side, amounts, std::max(0.0, overlap_mm) / thick_mm);
    }
    bottom_mm = layer.z_mm;
  }
}

/// Slices change alike: the same way, by about as much a layer. A span is held against the mean of
/// its slices, so that it ends where the change does, however slowly that goes.
bool goes_on(const LargeChange& span, std::size_t slices, double difference) {
  const double mean = (span.after - span.before) / static_cast<double>(slices);
  return mean * difference > 0.0 && std::abs(difference) <= kAboutAlike * std::abs(mean) &&
         std::abs(mean) <= kAboutAlike * std::abs(difference);
}

/// Of one quantity, the spans in which it changes; what comes before the first layer is its own.
void add_spans(const std::vector<HeightSlice>& slices, const Amount& amount, double whole,
               std::vector<LargeChange>& changes) {
  if (!(whole > 0.0))
    return;
  const std::size_t first = changes.size();
  std::size_t joined = 0;  // slices of the span at the end of `changes`
  for (std::size_t i = 0; i < slices.size(); ++i) {
    const HeightSlice& slice = slices[i];
    const double before = slice.before.*amount.of;
    const double after = slice.after.*amount.of;
    if (std::abs(after - before) <= kNothing * whole) {
      joined = 0;
      continue;
    }
    if (i < 2 || joined == 0 || !goes_on(changes.back(), joined, after - before)) {
      changes.push_back({i, amount.key, slice.from_mm, slice.to_mm, 0.0, 0.0, 0.0});
      joined = 0;
    }
    changes.back().to_mm = slice.to_mm;
    changes.back().before += before;
    changes.back().after += after;
    ++joined;
  }
  for (std::size_t i = first; i < changes.size(); ++i)
    changes[i].share = std::abs(changes[i].after - changes[i].before) / whole;
}

std::vector<LargeChange> largest_of(const std::vector<HeightSlice>& slices) {
  Amounts before, after;
  for (const HeightSlice& slice : slices) {
    add(before, slice.before, 1.0);
    add(after, slice.after, 1.0);
  }
  std::vector<LargeChange> changes;
  for (const Amount& amount : kAmounts)
    add_spans(slices, amount, std::max(before.*amount.of, after.*amount.of), changes);
  std::ranges::stable_sort(changes, std::ranges::greater{}, &LargeChange::share);
  if (changes.size() > kLargestListed)
    changes.resize(kLargestListed);
  return changes;
}

FigureChange change_of(const char* key, const char* title, const char* unit, const Range& before,
                       const Range& after) {
  FigureChange figure{key, title, unit, before, after, {}, false};
  const double low = after.low - before.low;
  const double high = after.high - before.high;
  const double expected = after.expected - before.expected;
  figure.change = {std::min({low, high, expected}), expected, std::max({low, high, expected})};
  const double larger = std::max(std::abs(before.expected), std::abs(after.expected));
  figure.alike = std::abs(expected) <= kShownAlike * larger ||
                 (figure.change.low < 0.0 && figure.change.high > 0.0);
  return figure;
}

FigureChange change_of(const char* key, const char* title, const char* unit, double before,
                       double after) {
  return change_of(key, title, unit, Range::exactly(before), Range::exactly(after));
}

std::vector<FigureChange> figures_of(const Account& before, const Account& after) {
  const Totals& a = before.totals;
  const Totals& b = after.totals;
  std::vector<FigureChange> out;
  out.push_back(change_of("time_s", "time", "s", a.time, b.time));
  const auto time = [&](const char* key, const char* title, double TimeBy::*of) {
    out.push_back(change_of(key, title, "s", a.time_by.*of, b.time_by.*of));
  };
  time("time_by.print", "  printing", &TimeBy::print_s);
  time("time_by.travel", "  travel", &TimeBy::travel_s);
  time("time_by.swap", "  changing, purging", &TimeBy::swap_s);
  time("time_by.heat_wait", "  waiting for heat", &TimeBy::heat_wait_s);
  time("time_by.other", "  other", &TimeBy::other_s);
  out.push_back(
      change_of("swaps", "swaps", "", static_cast<double>(a.swaps), static_cast<double>(b.swaps)));
  out.push_back(change_of("part_g", "part", "g", a.part_g, b.part_g));
  out.push_back(change_of("purge_g", "purge", "g", {a.purge_low_g, a.purge_g, a.purge_high_g},
                          {b.purge_low_g, b.purge_g, b.purge_high_g}));
  out.push_back(change_of("start_up_g", "start-up", "g", a.start_up_g, b.start_up_g));
  out.push_back(change_of("energy_wh", "energy", "Wh",
                          {a.energy_low_wh, a.energy_wh, a.energy_high_wh},
                          {b.energy_low_wh, b.energy_wh, b.energy_high_wh}));
  const auto energy = [&](const char* key, const char* title, double EnergyBy::*of) {
    out.push_back(change_of(key, title, "Wh", a.energy_by.*of, b.energy_by.*of));
  };
  energy("energy_by.bed", "  bed", &EnergyBy::bed_wh);
  energy("energy_by.hot_ends", "  hot ends", &EnergyBy::hot_ends_wh);
  energy("energy_by.enclosure", "  enclosure", &EnergyBy::enclosure_wh);
  energy("energy_by.motors", "  motors", &EnergyBy::motors_wh);
  energy("energy_by.fans", "  fans", &EnergyBy::fans_wh);
  energy("energy_by.electronics", "  electronics", &EnergyBy::electronics_wh);
  energy("energy_by.supply_loss", "  supply loss", &EnergyBy::supply_loss_wh);
  if (before.cost && after.cost)
    out.push_back(change_of("cost", "cost", before.cost->currency.c_str(), before.cost->total(),
                            after.cost->total()));
  return out;
}

}  // namespace

BeforeAfter before_and_after(const Account& before, const Account& after) {
  BeforeAfter change;
  change.figures = figures_of(before, after);
  change.slices = slices_of(before, after);
  lay_out(before, &HeightSlice::before, change.slices);
  lay_out(after, &HeightSlice::after, change.slices);
  change.largest = largest_of(change.slices);
  return change;
}

}  // namespace platetally
