#include "account/objects/object_shares.hpp"

#include <algorithm>
#include <cmath>
#include <span>

namespace platetally::objects {

namespace {

using Entries = std::span<const Entry>;

/// Gives each entry's object its share of an amount, by a weight; false: none weighs anything.
template <typename Weight, typename Give>
bool share(Entries among, double amount, const Weight& weight, const Give& give) {
  double sum = 0.0;
  for (const Entry& entry : among)
    sum += weight(entry);
  if (!(sum > 0.0))
    return false;
  for (const Entry& entry : among)
    if (const double own = weight(entry); own > 0.0)
      give(entry.label, amount * (own / sum));
  return true;
}

/// To a micrometre: places are kept as floats.
double rounded_mm(double mm) {
  constexpr double kPerMm = 1000.0;
  return std::round(mm * kPerMm) / kPerMm;
}

double mm_of(const Entry& entry) {
  return entry.mm;
}
double print_of(const Entry& entry) {
  return entry.print_s;
}
double travel_of(const Entry& entry) {
  return entry.travel_s;
}
double own_of(const Entry& entry) {
  return entry.own_s();
}

class Sharing {
 public:
  Sharing(const ObjectLedger& ledger, const PlateSums& plate)
      : ledger_(ledger),
        plate_(plate),
        found_(ledger.found()),
        tools_(plate.g_per_mm.size()),
        rows_(found_.objects.size()),
        left_part_g_(tools_, 0.0),
        left_purge_g_(tools_, 0.0),
        left_start_up_g_(tools_, 0.0),
        seconds_in_layer_(rows_.size(), 0.0) {}

  std::vector<ObjectAccount> run() {
    begin_rows();
    for (std::size_t layer = 0; layer < plate_.layers; ++layer)
      share_layer(static_cast<std::uint32_t>(layer));
    share_what_is_left();
    for (ObjectAccount& row : rows_)
      row.part_g = sum_of(row.part_by_tool_g);
    return std::move(rows_);
  }

 private:
  static double sum_of(const std::vector<double>& values) {
    double sum = 0.0;
    for (const double value : values)
      sum += value;
    return sum;
  }

  void begin_rows();
  Entries of_layer(std::uint32_t layer) const;
  void share_layer(std::uint32_t layer);
  void share_material(std::uint32_t layer, Entries in_layer);
  void share_swaps(std::uint32_t layer, Entries in_layer);
  template <typename Give>
  bool share_turn(Entries in_layer, std::size_t tool, double amount, const Give& give) const;
  double share_travel_of_swaps(std::uint32_t layer, Entries in_layer, double travel_s);
  void share_time(std::uint32_t layer, Entries in_layer);
  void share_energy(std::uint32_t layer);
  void share_what_is_left();

  /// The first of several weights that any object has decides; else all alike.
  template <typename Give, typename... Weight>
  void share_plate_wide(double amount, const Give& give, const Weight&... weights) const {
    if (amount == 0.0)
      return;
    const auto by = [&](const auto& weight) {
      double sum = 0.0;
      for (std::size_t i = 0; i < rows_.size(); ++i)
        sum += weight(i);
      if (!(sum > 0.0))
        return false;
      for (std::size_t i = 0; i < rows_.size(); ++i)
        give(i, amount * (weight(i) / sum));
      return true;
    };
    if (!(by(weights) || ...))
      by([](std::size_t) { return 1.0; });
  }

  const ObjectLedger& ledger_;
  const PlateSums& plate_;
  const Found& found_;
  std::size_t tools_;
  std::vector<ObjectAccount> rows_;
  // What a layer cannot share, for the whole plate to share.
  std::vector<double> left_part_g_, left_purge_g_, left_start_up_g_;  ///< by tool
  TimeBy left_time_;
  double left_swaps_ = 0.0;
  double left_wh_ = 0.0;
  std::vector<double> seconds_in_layer_;
  double left_seconds_in_layer_ = 0.0;
};

void Sharing::begin_rows() {
  for (std::size_t i = 0; i < rows_.size(); ++i) {
    const FoundObject& object = found_.objects[i];
    ObjectAccount& row = rows_[i];
    row.number = object.is_rest ? 0 : i + 1;
    row.name = object.name;
    row.part_by_tool_g.assign(tools_, 0.0);
    row.waste_by_tool_g.assign(tools_, 0.0);
    row.height_mm = rounded_mm(object.height_mm);
    if (object.box.empty())
      continue;
    row.x_min_mm = rounded_mm(static_cast<double>(object.box.x_min_mm));
    row.x_max_mm = rounded_mm(static_cast<double>(object.box.x_max_mm));
    row.y_min_mm = rounded_mm(static_cast<double>(object.box.y_min_mm));
    row.y_max_mm = rounded_mm(static_cast<double>(object.box.y_max_mm));
  }
  std::vector<std::uint32_t> last_band(rows_.size(), UINT32_MAX);
  for (const Entry& entry : found_.entries) {
    ObjectAccount& row = rows_[entry.label];
    if (!(entry.mm > 0.0 || entry.print_s > 0.0))
      continue;
    if (last_band[entry.label] != entry.band)
      ++row.layers;
    last_band[entry.label] = entry.band;
    if (std::ranges::find(row.tools, entry.tool) == row.tools.end())
      row.tools.push_back(entry.tool);
  }
  for (ObjectAccount& row : rows_) {
    row.layers = std::min<std::uint64_t>(row.layers << found_.shift, plate_.layers);
    std::ranges::sort(row.tools);
  }
}

Entries Sharing::of_layer(std::uint32_t layer) const {
  const auto found =
      std::ranges::equal_range(found_.entries, layer >> found_.shift, {}, &Entry::band);
  return {found.begin(), found.end()};
}

void Sharing::share_layer(std::uint32_t layer) {
  const Entries in_layer = of_layer(layer);
  std::ranges::fill(seconds_in_layer_, 0.0);
  left_seconds_in_layer_ = 0.0;
  share_material(layer, in_layer);
  share_swaps(layer, in_layer);
  share_time(layer, in_layer);
  share_energy(layer);
}

/// By what the tool lays in the layer, else by what all lay there.
template <typename Give>
bool Sharing::share_turn(Entries in_layer, std::size_t tool, double amount,
                         const Give& give) const {
  if (amount == 0.0)
    return true;
  const auto of_tool =
      std::ranges::equal_range(in_layer, static_cast<std::uint16_t>(tool), {}, &Entry::tool);
  const auto by_grams = [this](const Entry& entry) {
    return entry.mm * plate_.g_per_mm[entry.tool];
  };
  return share({of_tool.begin(), of_tool.end()}, amount, mm_of, give) ||
         share(in_layer, amount, by_grams, give) || share(in_layer, amount, print_of, give);
}

void Sharing::share_material(std::uint32_t layer, Entries in_layer) {
  for (std::size_t tool = 0; tool < tools_; ++tool) {
    const swaps::MaterialBook::Cell cell = plate_.material.at(layer, tool);
    const double g_per_mm = plate_.g_per_mm[tool];
    const double part_g = cell.part_mm() * g_per_mm;
    if (!share_turn(in_layer, tool, part_g,
                    [&](Label row, double g) { rows_[row].part_by_tool_g[tool] += g; }))
      left_part_g_[tool] += part_g;
    const double purge_g = (cell.of(swaps::Use::purge) + cell.hidden_mm) * g_per_mm;
    if (!share_turn(in_layer, tool, purge_g, [&](Label row, double g) {
          rows_[row].purge_g += g;
          rows_[row].waste_by_tool_g[tool] += g;
        }))
      left_purge_g_[tool] += purge_g;
    left_start_up_g_[tool] += cell.of(swaps::Use::start_up) * g_per_mm;
  }
}

/// Their number and their seconds. A layer's seconds of swaps are its tools' by what was booked for
/// each.
void Sharing::share_swaps(std::uint32_t layer, Entries in_layer) {
  double booked_s = 0.0;
  for (std::size_t tool = 0; tool < tools_; ++tool) {
    const SwapsOfTurn turn = ledger_.swaps_of(layer, tool);
    booked_s += std::max(0.0, turn.seconds);
    if (!share_turn(in_layer, tool, turn.count,
                    [&](Label row, double swaps) { rows_[row].swaps += swaps; }))
      left_swaps_ += turn.count;
  }
  const double swap_s = layer < plate_.time.size() ? plate_.time[layer].swap_s : 0.0;
  const auto give = [&](Label row, double seconds) {
    rows_[row].time_by.swap_s += seconds;
    seconds_in_layer_[row] += seconds;
  };
  const auto leave = [&](double seconds) {
    left_time_.swap_s += seconds;
    left_seconds_in_layer_ += seconds;
  };
  if (!(booked_s > 0.0)) {
    if (!share_turn(in_layer, tools_, swap_s, give))
      leave(swap_s);
    return;
  }
  for (std::size_t tool = 0; tool < tools_; ++tool) {
    const double own_s = std::max(0.0, ledger_.swaps_of(layer, tool).seconds) / booked_s * swap_s;
    if (!share_turn(in_layer, tool, own_s, give))
      leave(own_s);
  }
}

/// As the swaps are shared. A layer's travel is split by what was booked for objects and for swaps;
/// returns what of it is the swaps'.
double Sharing::share_travel_of_swaps(std::uint32_t layer, Entries in_layer, double travel_s) {
  double booked_s = 0.0, of_swaps_s = 0.0, shared_s = 0.0;
  for (const Entry& entry : in_layer)
    booked_s += entry.travel_s;
  // Layers that are booked together have their objects' travel together: a layer's part of it is
  // taken to be as large as its part of the layers.
  booked_s /= static_cast<double>(std::uint64_t{1} << found_.shift);
  for (std::size_t tool = 0; tool < tools_; ++tool)
    of_swaps_s += ledger_.swaps_of(layer, tool).travel_s;
  if (!(of_swaps_s > 0.0))
    return 0.0;
  for (std::size_t tool = 0; tool < tools_; ++tool) {
    const double own_s =
        ledger_.swaps_of(layer, tool).travel_s / (booked_s + of_swaps_s) * travel_s;
    const auto give = [&](Label row, double seconds) {
      rows_[row].time_by.travel_s += seconds;
      seconds_in_layer_[row] += seconds;
    };
    if (share_turn(in_layer, tool, own_s, give))
      shared_s += own_s;
  }
  return shared_s;
}

void Sharing::share_time(std::uint32_t layer, Entries in_layer) {
  TimeBy time = layer < plate_.time.size() ? plate_.time[layer] : TimeBy{};
  time.heat_wait_s = layer < plate_.heat.layers.size() ? plate_.heat.layers[layer].wait_s : 0.0;
  const auto spread = [&](double TimeBy::*part, const auto& weight) {
    const double seconds = time.*part;
    if (seconds == 0.0)
      return;
    const auto give = [&](Label row, double own_s) {
      rows_[row].time_by.*part += own_s;
      seconds_in_layer_[row] += own_s;
    };
    if (share(in_layer, seconds, weight, give) || share(in_layer, seconds, own_of, give))
      return;
    left_time_.*part += seconds;
    left_seconds_in_layer_ += seconds;
  };
  spread(&TimeBy::print_s, print_of);
  time.travel_s -= share_travel_of_swaps(layer, in_layer, time.travel_s);
  spread(&TimeBy::travel_s, travel_of);
  spread(&TimeBy::heat_wait_s, own_of);
  spread(&TimeBy::other_s, own_of);
}

void Sharing::share_energy(std::uint32_t layer) {
  if (layer >= plate_.heat.layers.size())
    return;
  const double wh = plate_.heat.layers[layer].energy.sum_wh();
  double seconds = left_seconds_in_layer_;
  for (const double own_s : seconds_in_layer_)
    seconds += own_s;
  if (!(seconds > 0.0)) {
    left_wh_ += wh;
    return;
  }
  left_wh_ += wh * (left_seconds_in_layer_ / seconds);
  for (std::size_t i = 0; i < rows_.size(); ++i)
    rows_[i].energy_wh += wh * (seconds_in_layer_[i] / seconds);
}

void Sharing::share_what_is_left() {
  // Weights first: they must not grow with what is shared by them.
  std::vector<double> grams(rows_.size()), own_s(rows_.size());
  std::vector<std::vector<double>> by_tool_g(tools_, std::vector<double>(rows_.size()));
  for (std::size_t i = 0; i < rows_.size(); ++i) {
    for (std::size_t tool = 0; tool < tools_; ++tool)
      by_tool_g[tool][i] = std::max(0.0, rows_[i].part_by_tool_g[tool]);
    grams[i] = std::max(0.0, sum_of(rows_[i].part_by_tool_g));
    own_s[i] = std::max(0.0, rows_[i].time_by.print_s + rows_[i].time_by.travel_s);
  }
  const auto by_grams = [&](std::size_t i) { return grams[i]; };
  const auto by_time = [&](std::size_t i) { return own_s[i]; };
  for (std::size_t tool = 0; tool < tools_; ++tool) {
    const auto by_tool = [&](std::size_t i) { return by_tool_g[tool][i]; };
    share_plate_wide(
        left_part_g_[tool], [&](std::size_t i, double g) { rows_[i].part_by_tool_g[tool] += g; },
        by_tool, by_grams, by_time);
    share_plate_wide(
        left_purge_g_[tool],
        [&](std::size_t i, double g) {
          rows_[i].purge_g += g;
          rows_[i].waste_by_tool_g[tool] += g;
        },
        by_tool, by_grams, by_time);
    share_plate_wide(
        left_start_up_g_[tool],
        [&](std::size_t i, double g) {
          rows_[i].start_up_g += g;
          rows_[i].waste_by_tool_g[tool] += g;
        },
        by_grams, by_time);
  }
  share_plate_wide(
      left_swaps_, [&](std::size_t i, double swaps) { rows_[i].swaps += swaps; }, by_grams,
      by_time);
  for (double TimeBy::*const part : {&TimeBy::print_s, &TimeBy::travel_s, &TimeBy::swap_s,
                                     &TimeBy::heat_wait_s, &TimeBy::other_s})
    share_plate_wide(
        left_time_.*part, [&](std::size_t i, double s) { rows_[i].time_by.*part += s; }, by_time,
        by_grams);
  share_plate_wide(
      left_wh_, [&](std::size_t i, double wh) { rows_[i].energy_wh += wh; }, by_time, by_grams);
}

}  // namespace

std::vector<ObjectAccount> share_plate(const ObjectLedger& ledger, const PlateSums& plate) {
  return Sharing(ledger, plate).run();
}

}  // namespace platetally::objects
