// Accounts by chance: every list filled, every optional value now there and now absent, texts as
// hostile as files can make them. Sums do not add up: what is held is how values are written.
#pragma once

#include <fmt/format.h>
#include <algorithm>

#include <memory>

#include "platetally/account.hpp"
#include "platetally/explain.hpp"
#include "support/chance.hpp"

namespace platetally::test {

inline std::vector<std::string> codes_of_kind(CodeKind kind) {
  std::vector<std::string> codes;
  for (const CodePage& page : code_pages())
    if (page.kind == kind)
      codes.emplace_back(page.code);
  return codes;
}

inline const std::string& any_name(Random& random) {
  return random.of(hostile_names());
}

inline std::string any_hash(Random& random) {
  std::string hash;
  while (hash.size() < 32)
    hash += "0123456789abcdef"[random.below(16)];
  return hash;
}

inline std::optional<double> perhaps(Random& random) {
  return random.one_in(3) ? std::nullopt : std::optional(random.amount());
}

inline TimeBy any_time_by(Random& random) {
  return {random.amount(), random.amount(), random.amount(), random.amount(), random.amount()};
}

inline EnergyBy any_energy_by(Random& random) {
  return {random.amount(), random.amount(), random.amount(), random.amount(),
          random.amount(), random.amount(), random.amount()};
}

inline Range any_range(Random& random) {
  const double expected = random.amount();
  return {expected * random.share(), expected, expected * (1.0 + random.share())};
}

inline MadeFrom any_made_from(Random& random) {
  MadeFrom made;
  for (std::size_t i = random.below(3); i > 0; --i) {
    made.add(PlateUsed{any_name(random), random.one_in(3) ? "" : any_hash(random)});
    made.add(MachineUsed{any_name(random), any_hash(random)});
    made.set(fmt::format("option-{}", random.below(4)), any_name(random));
  }
  return made;
}

inline Totals any_totals(Random& random) {
  Totals totals;
  totals.time = any_range(random);
  totals.time_of_print = any_range(random);
  for (const char* cause : {"motion", "swap", "past-errors"})
    if (!random.one_in(3))
      totals.time_band.push_back({cause, random.amount(), random.amount()});
  totals.time_by = any_time_by(random);
  totals.pause_s = random.amount();
  totals.pauses = random.count();
  totals.manual_changes = random.count();
  totals.layers = random.count();
  totals.tool_selects = random.count();
  totals.swaps = random.count();
  for (double* figure :
       {&totals.part_g, &totals.purge_g, &totals.purge_low_g, &totals.purge_high_g,
        &totals.start_up_g, &totals.energy_wh, &totals.energy_low_wh, &totals.energy_high_wh,
        &totals.mean_power_w, &totals.peak_power_w, &totals.peak_quarter_hour_w,
        &totals.connected_load_w, &totals.energy_residual})
    *figure = random.amount();
  totals.purge_by = {random.amount(), random.amount(), random.amount(), random.amount(),
                     random.amount()};
  totals.swaps_short = perhaps(random);
  totals.purge_short_g = perhaps(random);
  totals.energy_by = any_energy_by(random);
  totals.bed_zones_used = random.below(20);
  return totals;
}

inline ToolAccount any_tool(Random& random, int number) {
  ToolAccount tool;
  tool.tool = number;
  tool.colour = random.one_in(2) ? "moss green" : any_name(random);
  tool.selects = random.count();
  tool.filament_mm = random.amount();
  tool.part_g = random.amount();
  tool.purge_g = random.amount();
  tool.start_up_g = random.amount();
  tool.to_have_g = perhaps(random);
  tool.spools = perhaps(random);
  tool.active_s = random.amount();
  tool.standby_s = random.amount();
  tool.energy_wh = random.amount();
  return tool;
}

inline SwapPairAccount any_pair(Random& random, int from, int to) {
  SwapPairAccount pair;
  pair.from = from;
  pair.to = to;
  pair.count = random.count();
  pair.purge_g = random.amount();
  pair.needed_g = perhaps(random);
  pair.purge_each_low_g = random.amount();
  pair.purge_each_high_g = random.amount();
  pair.needed_each_low_g = perhaps(random);
  pair.needed_each_high_g = perhaps(random);
  pair.left_de00 = perhaps(random);
  pair.left_high_de00 = perhaps(random);
  pair.swaps_short = random.count();
  pair.short_g = random.amount();
  return pair;
}

inline LayerAccount any_layer(Random& random, std::uint64_t index) {
  LayerAccount layer;
  layer.index = index;
  layer.z_mm = 0.2 * static_cast<double>(index);
  layer.start_s = random.amount();
  layer.time_by = any_time_by(random);
  layer.swaps = random.below(9);
  for (std::size_t i = random.below(4); i > 0; --i)
    layer.order.push_back(random.whole(0, 5));
  layer.part_g = random.amount();
  layer.purge_g = random.amount();
  layer.start_up_g = random.amount();
  layer.energy_by = any_energy_by(random);
  layer.bed_zones_active = random.below(16);
  layer.bed_zones_warm = random.below(16);
  layer.first_line = random.count();
  return layer;
}

inline ObjectAccount any_object(Random& random, std::uint64_t number) {
  ObjectAccount object;
  object.number = number;
  object.name = any_name(random);
  object.time_by = any_time_by(random);
  for (double* figure :
       {&object.swaps, &object.part_g, &object.purge_g, &object.start_up_g, &object.energy_wh})
    *figure = random.amount();
  object.cost = perhaps(random);
  object.x_min_mm = random.real(0.0, 100.0);
  object.x_max_mm = object.x_min_mm + random.real(1.0, 80.0);
  object.y_min_mm = random.real(0.0, 100.0);
  object.y_max_mm = object.y_min_mm + random.real(1.0, 80.0);
  object.height_mm = random.real(0.2, 90.0);
  object.layers = random.count();
  for (int tool = 0; tool < random.whole(0, 3); ++tool)
    object.tools.push_back(tool);
  return object;
}

inline Finding any_finding(Random& random, const std::string& code) {
  Finding finding;
  finding.code = code;
  finding.severity = static_cast<Severity>(random.below(3));
  finding.message = any_name(random);
  finding.advice = any_name(random);
  finding.assumes = any_name(random);
  finding.tried = random.one_in(2);
  finding.trial = any_name(random);
  finding.saves_time_s = random.real(-1e4, 1e4);
  finding.saves_purge_g = random.real(-50.0, 50.0);
  finding.saves_energy_wh = random.real(-50.0, 50.0);
  finding.saves_money = perhaps(random);
  for (std::size_t i = random.below(4); i > 0; --i)
    finding.layers.push_back(random.below(40));
  return finding;
}

inline Diagnostic any_diagnostic(Random& random, const std::string& code) {
  Diagnostic diagnostic;
  diagnostic.code = code;
  diagnostic.severity = static_cast<Severity>(random.below(3));
  diagnostic.line = random.count();
  diagnostic.column = random.below(30);
  diagnostic.message = any_name(random);
  diagnostic.help = any_name(random);
  diagnostic.count = 1 + random.count();
  diagnostic.excerpt = any_name(random);
  return diagnostic;
}

inline PlateCost any_cost(Random& random) {
  PlateCost cost;
  cost.currency = any_name(random);
  for (double* part : {&cost.part_filament, &cost.purge_filament, &cost.energy, &cost.machine,
                       &cost.labour, &cost.failures, &cost.drying, &cost.wear, &cost.per_good_part,
                       &cost.per_hour, &cost.per_purge_g, &cost.energy_per_kwh})
    *part = random.amount();
  cost.failure_probability = random.share();
  cost.carbon_g = perhaps(random);
  if (random.one_in(2))
    cost.not_counted = {"the machine's price", "energy"};
  return cost;
}

inline Stop any_stop(Random& random) {
  Stop stop;
  stop.what = random.one_in(2) ? "pause" : "manual-change";
  stop.layer = random.below(40);
  stop.line = random.count();
  stop.tool = random.whole(-1, 4);
  stop.after = any_range(random);
  stop.at = stop.at_early = stop.at_late = random.one_in(2) ? "2026-12-01 18:30" : "";
  if (random.one_in(2))
    stop.unattended = random.one_in(2);
  return stop;
}

/// A square of an area, counter-clockwise.
inline PictureArea square_area(AreaUse use, int tool, std::uint64_t object, double x_mm,
                               double y_mm, double side_mm) {
  return {use,
          tool,
          object,
          {{{x_mm, y_mm},
            {x_mm + side_mm, y_mm},
            {x_mm + side_mm, y_mm + side_mm},
            {x_mm, y_mm + side_mm}}}};
}

inline void add_bed(Account& account, Random& random) {
  BedPicture& bed = account.bed_picture;
  bed.x_min_mm = random.real(-20.0, 20.0);
  bed.y_min_mm = random.real(-20.0, 20.0);
  bed.bed_x_min_mm = random.real(-20.0, 20.0);
  bed.bed_y_min_mm = random.real(-20.0, 20.0);
  bed.bed_width_mm = random.real(90.0, 500.0);
  bed.bed_depth_mm = random.real(90.0, 500.0);
  bed.columns = 40 + random.below(100);
  bed.rows = 40 + random.below(100);
  bed.laid.assign(bed.columns * bed.rows, 0);
  for (int i = 0; i < 30; ++i)
    bed.laid[random.below(bed.laid.size())] = 1;
  const int rows = random.whole(1, 4);
  const int columns = random.whole(1, 4);
  for (int row = 0; row < rows; ++row)
    for (int column = 0; column < columns; ++column)
      account.bed_zones.push_back({row, column, random.amount(), random.amount(), random.amount(),
                                   random.real(20.0, 110.0)});
}

inline PlatePicture any_picture(const Account& account, Random& random) {
  const BedPicture& bed = account.bed_picture;
  const auto place = [&](AreaUse use, int tool, std::uint64_t object) {
    const double side_mm = random.real(2.0, 30.0);
    return square_area(
        use, tool, object,
        bed.x_min_mm + random.real(0.0, static_cast<double>(bed.columns) * bed.cell_mm - side_mm),
        bed.y_min_mm + random.real(0.0, static_cast<double>(bed.rows) * bed.cell_mm - side_mm),
        side_mm);
  };
  PlatePicture picture;
  for (const ObjectAccount& object : account.objects) {
    picture.areas.push_back(place(AreaUse::part, random.whole(0, 7), object.number));
    picture.outlines.push_back(picture.areas.back());
    picture.outlines.back().tool = -1;
  }
  if (random.one_in(2))
    picture.areas.push_back(place(AreaUse::purge, random.whole(0, 7), 0));
  if (random.one_in(2))
    picture.areas.push_back(place(AreaUse::start_up, random.whole(0, 7), 0));
  picture.is_whole = !random.one_in(3);
  return picture;
}

/// Figures that an account of a plate of `layers` layers has.
inline void add_rows(Account& account, Random& random, std::size_t layers) {
  const int tools = random.whole(1, 6);
  for (int tool = 0; tool < tools; ++tool)
    account.tools.push_back(any_tool(random, tool));
  for (int from = 0; from < tools; ++from)
    for (int to = 0; to < tools; ++to)
      if (from != to && random.one_in(2))
        account.swap_pairs.push_back(any_pair(random, from, to));
  for (std::size_t i = 0; i < layers; ++i)
    account.layers.push_back(any_layer(random, i));
  for (std::size_t i = random.below(6); i > 0; --i)
    account.objects.push_back(any_object(random, account.objects.size() + 1));
  double at_s = 0.0;
  for (std::size_t i = random.below(30); i > 0; --i) {
    account.power.push_back({at_s, 60.0, any_energy_by(random)});
    at_s += 60.0;
  }
}

/// What is said of it in words.
inline void add_remarks(Account& account, Random& random) {
  for (const std::string& code : finding_codes())
    if (random.one_in(3))
      account.findings.push_back(any_finding(random, code));
  for (const std::string& code : codes_of_kind(CodeKind::plate))
    if (random.one_in(8))
      account.diagnostics.push_back(any_diagnostic(random, code));
  for (const std::string& code : codes_of_kind(CodeKind::verdict))
    if (random.one_in(4))
      account.verdict.reasons.push_back(
          {code, static_cast<Grade>(random.below(3)), any_name(random)});
  account.verdict.grade = static_cast<Grade>(random.below(3));
  for (std::size_t i = 0; i < random.below(15); ++i)
    account.unaccounted.push_back({fmt::format("M74{}.{}", i, any_name(random)), random.count(),
                                   random.count(), any_name(random), any_name(random)});
  for (std::size_t i = 0; i < random.below(3); ++i)
    account.limits_read.push_back(
        {fmt::format("SET_{}{}", i, any_name(random)), random.count(), random.count()});
  for (int i = 0; i < random.whole(0, 2); ++i)
    account.missing_tools.push_back(
        {40 + i, random.count(), random.count(), random.count(), random.amount()});
  for (const char* what : {"filament_mm", "filament_g", "layers", "time_s"})
    if (random.one_in(2))
      account.stated.push_back({what, random.whole(-1, 3), random.amount(), random.amount(),
                                random.count(), random.one_in(2)});
}

inline Account random_account(unsigned seed) {
  Random random(seed);
  Account account;
  account.path = any_name(random);
  account.bytes = random.count();
  account.lines = random.count();
  account.machine = any_name(random);
  if (random.one_in(3))
    account.what_if = {"without its prime tower", "that no swap needs it"};
  account.totals = any_totals(random);
  account.tower = {random.of(std::vector<std::string>{"no-swaps", "none", "tower", "undecided"}),
                   any_name(random),
                   10.0,
                   40.0,
                   20.0,
                   55.0,
                   random.amount()};
  add_rows(account, random, random.below(60));
  add_bed(account, random);
  if (random.one_in(2))
    account.plate_picture = any_picture(account, random);
  if (random.one_in(2)) {
    account.layer_picture = any_picture(account, random);
    account.layer_picture->at_mm = random.real(0.2, 80.0);
  }
  add_remarks(account, random);
  if (random.one_in(2))
    account.cost = any_cost(random);
  if (random.one_in(2)) {
    account.clock.emplace();
    account.clock->start = "2026-12-01 18:30";
    account.clock->done = "2026-12-02 06:10";
    account.clock->unattended_s = perhaps(random);
    if (random.one_in(2))
      account.clock->stops_unattended = random.count();
  }
  for (std::size_t i = random.below(4); i > 0; --i)
    account.stops.push_back(any_stop(random));
  account.reading = {random.count(),
                     random.below(3),
                     random.count(),
                     random.below(3),
                     random.one_in(4) ? any_name(random) : "",
                     random.count(),
                     random.count()};
  account.made_from = any_made_from(random);
  return account;
}

}  // namespace platetally::test
