// The full report for people. It reads from the bill (what the plate takes, and what that is made
// of) to the details (zones, tools, swaps, layers) to the doubts (what was not accounted for). The
// one of a single screen: text_summary.cpp.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <span>

#include "output/report/doubts.hpp"
#include "output/report/fields.hpp"
#include "output/report/labels.hpp"
#include "output/report/strings.hpp"
#include "output/report/text_page.hpp"
#include "output/report/text_summary.hpp"
#include "output/report/text_table.hpp"
#include "platetally/account.hpp"
#include "platetally/report.hpp"

namespace platetally {

namespace {

using report::Field;
using report::Section;
using report::TextPage;

constexpr std::size_t kRowsShown = 10;
constexpr std::size_t kLayersShown = 5;

/// "1 h 20 min + ..." from the nested fields under `owner`; what is zero is left out.
std::string sum_of(const Account& account, std::string_view owner) {
  std::vector<std::string> terms;
  for (const Field& field : report::section("totals").fields)
    if (field.key.starts_with(owner) && field.key.substr(owner.size()).starts_with('.'))
      if (const report::Value value = field.get(account, 0); report::number_of(value) != 0.0)
        terms.push_back(fmt::format("{} {}{}", field.title, report::rounded(value, field.unit),
                                    field.unit == "s" ? "" : fmt::format(" {}", field.unit)));
  return fmt::format("{}", fmt::join(terms, " + "));
}

std::string grams(double value) {
  return report::rounded(value, "g");
}

void write_time(const Account& account, TextPage& page) {
  const Totals& totals = account.totals;
  page.amount(
      report::duration(totals.time.expected),
      fmt::format("of machine time, between {} and {}: {}", report::duration(totals.time.low),
                  report::duration(totals.time.high), sum_of(account, "time_by")));
  std::vector<std::string> causes;
  for (const TimeBandCause& cause : totals.time_band)
    causes.push_back(fmt::format("{} -{} +{}", report::printable(cause.cause),
                                 report::duration(cause.below_s), report::duration(cause.above_s)));
  if (!causes.empty())
    page.amount("", fmt::format("what widens the band: {}", fmt::join(causes, ", ")));
  if (totals.pause_s > 0.0)
    page.amount(report::duration(totals.pause_s),
                "of it (under other) waiting for a person at pauses in the file");
}

void write_material(const Account& account, TextPage& page) {
  const Totals& totals = account.totals;
  page.amount(fmt::format("{}", totals.swaps),
              fmt::format("swaps, from {} selections; changing and purging take {}, {} of the time",
                          totals.tool_selects, report::duration(totals.time_by.swap_s),
                          report::share(totals.time_by.swap_s, totals.time.expected)));
  page.amount(grams(totals.part_g) + " g", "of part");
  const double all_g = totals.part_g + totals.purge_g + totals.start_up_g;
  const std::string low = grams(totals.purge_low_g), high = grams(totals.purge_high_g);
  const std::string band =
      low == high ? "" : fmt::format("between {} and {} g; ", low, high);  // motion decided it all
  std::string purge =
      fmt::format("of purge, {}{} of all material", band, report::share(totals.purge_g, all_g));
  if (const std::string terms = sum_of(account, "purge_by"); !terms.empty())
    purge += ": " + terms;
  page.amount(grams(totals.purge_g) + " g", purge);
  if (!account.tower.why.empty() && totals.swaps > 0)
    page.amount("", "prime tower: " + report::printable(account.tower.why));
  if (totals.start_up_g > 0.0)
    page.amount(grams(totals.start_up_g) + " g",
                "of start-up: purge lines and priming before the first swap");
}

void write_power(const Account& account, TextPage& page) {
  const Totals& totals = account.totals;
  const auto watts = [](double value) { return report::rounded(value, "W"); };
  page.amount(
      report::rounded(totals.energy_wh, "Wh") + " Wh",
      fmt::format("from the wall, between {} and {} Wh: mean {} W, peak {} W, highest quarter hour "
                  "{} W; all heaters, motors and fans on at once would draw {} W",
                  report::rounded(totals.energy_low_wh, "Wh"),
                  report::rounded(totals.energy_high_wh, "Wh"), watts(totals.mean_power_w),
                  watts(totals.peak_power_w), watts(totals.peak_quarter_hour_w),
                  watts(totals.connected_load_w)));
  if (account.bed_zones.size() == 1 && totals.bed_zones_used == 1)
    page.amount("", "the whole bed is heated");
  else
    page.amount(
        fmt::format("{}", totals.bed_zones_used),
        fmt::format("of {} bed zones heated for what lies above them", account.bed_zones.size()));
}

void write_energy(const Account& account, TextPage& page) {
  constexpr int kBarColumns = 40;
  const Totals& totals = account.totals;
  page.heading("Energy", "Wh at the wall, and the share of each consumer");
  for (const Field& field : report::section("totals").fields) {
    if (!field.key.starts_with("energy_by."))
      continue;
    const report::Value value = field.get(account, 0);
    const double wh = report::number_of(value);
    if (wh == 0.0)
      continue;
    const double part = totals.energy_wh > 0.0 ? wh / totals.energy_wh : 0.0;
    const auto bar =
        std::isfinite(part)
            ? static_cast<std::size_t>(std::lround(std::clamp(part, 0.0, 1.0) * kBarColumns))
            : 0;
    page.lines(fmt::format("  {} {} {}{}\n", report::flush_left(field.title, 12),
                           report::flush_right(report::rounded(value, field.unit), 9),
                           report::flush_right(report::share(wh, totals.energy_wh), 6),
                           bar > 0 ? "  " + std::string(bar, '=') : ""));
  }
}

void write_money(const Account& account, TextPage& page) {
  if (!account.cost)
    return;
  const PlateCost& cost = *account.cost;
  page.heading("Money",
               fmt::format("in {}, by the prices given", report::printable(cost.currency)));
  const auto line = [&page, &cost](const char* title, double amount) {
    if (amount != 0.0)
      page.lines(fmt::format("  {} {} {}\n", report::flush_left(title, 16),
                             report::flush_right(fmt::format("{:.2f}", amount), 9),
                             report::flush_right(report::share(amount, cost.total()), 6)));
  };
  line("part filament", cost.part_filament);
  line("purge filament", cost.purge_filament);
  line("energy", cost.energy);
  line("machine", cost.machine);
  line("labour", cost.labour);
  line("failures", cost.failures);
  line("drying", cost.drying);
  line("wear", cost.wear);
  page.lines(fmt::format("  {} {}\n", report::flush_left("plate", 16),
                         report::flush_right(fmt::format("{:.2f}", cost.total()), 9)));
  if (cost.per_good_part != cost.total())
    page.lines(fmt::format("  {} {}\n", report::flush_left("a good part", 16),
                           report::flush_right(fmt::format("{:.2f}", cost.per_good_part), 9)));
  if (cost.failure_probability > 0.0)
    page.prose(fmt::format("{:.1f} % of attempts fail; each failure is taken to come halfway",
                           100.0 * cost.failure_probability),
               2);
  if (cost.carbon_g)
    page.prose(fmt::format("{:.0f} g of CO2 equivalent, by the intensity given", *cost.carbon_g),
               2);
  if (!cost.not_counted.empty())
    page.prose(fmt::format("not counted, because no price was given: {}",
                           fmt::join(cost.not_counted, ", ")),
               2);
}

/// "12.3" where the zone is heated for what is above, "(4.5)" where it is only kept warm, "-" off.
std::string zone_cell(const BedZoneAccount* zone) {
  if (zone == nullptr || (zone->active_s <= 0.0 && zone->neighbour_s <= 0.0))
    return "-";
  const std::string wh = report::rounded(zone->energy_wh, "Wh");
  return zone->active_s > 0.0 ? wh + " " : fmt::format("({})", wh);
}

void write_zones(const Account& account, TextPage& page) {
  if (account.bed_zones.size() < 2)
    return;
  int rows = 0, columns = 0;
  for (const BedZoneAccount& zone : account.bed_zones) {
    rows = std::max(rows, zone.row + 1);
    columns = std::max(columns, zone.column + 1);
  }
  page.heading("Bed zones", "Wh of each, from above, front at the bottom; (kept warm only), - off");
  for (int row = rows - 1; row >= 0; --row) {
    std::string line;
    for (int column = 0; column < columns; ++column) {
      const auto zone = std::find_if(
          account.bed_zones.begin(), account.bed_zones.end(),
          [&](const BedZoneAccount& each) { return each.row == row && each.column == column; });
      line += report::flush_right(zone_cell(zone == account.bed_zones.end() ? nullptr : &*zone), 9);
    }
    line.erase(line.find_last_not_of(' ') + 1);
    page.lines(line + '\n');
  }
}

void write_tools(const Account& account, TextPage& page) {
  static constexpr std::array<std::string_view, 9> kColumns{"tool",     "selects",   "filament_mm",
                                                            "part_g",   "purge_g",   "start_up_g",
                                                            "active_s", "standby_s", "energy_wh"};
  if (account.tools.empty())
    return;
  const Section& tools = report::section("tools");
  page.heading("Tools", "filament is net feed; energy is the head's, before supply loss");
  page.lines(report::table(account, tools, kColumns, report::all_rows(account, tools)));
}

void write_stops(const Account& account, TextPage& page) {
  static constexpr std::array<std::string_view, 5> kColumns{"what", "layer", "line", "tool",
                                                            "after_s"};
  static constexpr std::array<std::string_view, 7> kWithClock{"what", "layer",    "line",   "tool",
                                                              "at",   "at_early", "at_late"};
  if (account.stops.empty())
    return;
  const Section& stops = report::section("stops");
  const std::vector<std::size_t> rows = report::all_rows(account, stops);
  page.heading("Stops",
               "that wait for a person; each as if somebody had come at once to those before");
  page.lines(account.clock ? report::table(account, stops, kWithClock, rows)
                           : report::table(account, stops, kColumns, rows));
}

void write_pairs(const Account& account, TextPage& page) {
  static constexpr std::array<std::string_view, 5> kColumns{"from", "to", "count", "purge_g",
                                                            "needed_g"};
  if (account.swap_pairs.empty())
    return;
  const Section& pairs = report::section("swap_pairs");
  const std::vector<std::size_t> rows = report::largest_rows(account, pairs, "count", kRowsShown);
  page.heading("Swaps by pair", rows.size() < account.swap_pairs.size()
                                    ? fmt::format("the {} most frequent of {}", rows.size(),
                                                  account.swap_pairs.size())
                                    : "most frequent first; ? where the colours are not known");
  page.lines(report::table(account, pairs, kColumns, rows));
}

/// Where they were asked for.
void write_objects(const Account& account, TextPage& page) {
  static constexpr std::array<std::string_view, 9> kColumns{
      "number", "name", "time_s", "part_g", "purge_g", "start_up_g", "swaps", "energy_wh", "cost"};
  if (account.objects.empty())
    return;
  constexpr std::size_t kObjectsShown = 60;
  const Section& objects = report::section("objects");
  std::vector<std::size_t> rows = report::all_rows(account, objects);
  const std::size_t left_out = rows.size() - std::min(rows.size(), kObjectsShown);
  rows.resize(rows.size() - left_out);
  page.heading("Objects",
               "each with its share of swaps, purge, waits and energy (docs/objects.md)");
  page.lines(report::table_with_sums(
      account, objects,
      std::span(kColumns).first(account.cost ? kColumns.size() : kColumns.size() - 1), rows,
      "plate"));
  if (left_out > 0)
    page.prose(fmt::format("and {} more; --json has all", left_out), 2);
  if (const std::string words = report::words_of_shared_labour(account); !words.empty())
    page.prose(words, 2);
}

void write_layers(const Account& account, TextPage& page) {
  static constexpr std::array<std::string_view, 8> kColumns{
      "index", "z_mm", "start_s", "time_s", "swaps", "order", "purge_g", "energy_wh"};
  std::vector<double> times_s;
  for (const LayerAccount& layer : account.layers)
    if (layer.index > 0)
      times_s.push_back(layer.time_by.sum_s());
  if (times_s.empty())
    return;
  std::sort(times_s.begin(), times_s.end());
  page.heading(
      "Layers",
      fmt::format("shortest {}, median {}, longest {}", report::duration(times_s.front()),
                  report::duration(times_s[times_s.size() / 2]), report::duration(times_s.back())));
  const Section& layers = report::section("layers");
  const auto show = [&](std::string_view key, std::string_view what) {
    const std::vector<std::size_t> rows = report::largest_rows(account, layers, key, kLayersShown);
    if (rows.empty())
      return;
    page.lines(fmt::format("  {}\n", what));
    page.lines(report::table(account, layers, kColumns, rows));
  };
  show("time_s", "that take longest (layer 0 is everything before the first layer)");
  show("purge_g", "that purge most");
}

/// "saves 42 min 11 s, 19.0 g; costs 23.4 Wh".
std::string effect_of(const Finding& finding, const Account& account) {
  std::vector<std::string> saves, costs;
  const auto add = [&](double saved, const std::string& size) {
    if (size.find_first_of("123456789") != std::string::npos)
      (saved > 0.0 ? saves : costs).push_back(size);
  };
  add(finding.saves_time_s, report::duration(std::abs(finding.saves_time_s)));
  add(finding.saves_purge_g, grams(std::abs(finding.saves_purge_g)) + " g");
  add(finding.saves_energy_wh, report::significant(std::abs(finding.saves_energy_wh)) + " Wh");
  if (finding.saves_money)
    add(*finding.saves_money,
        fmt::format("{:.2f} {}", std::abs(*finding.saves_money),
                    account.cost ? report::printable(account.cost->currency) : ""));
  std::vector<std::string> both;
  if (!saves.empty())
    both.push_back(fmt::format("saves {}", fmt::join(saves, ", ")));
  if (!costs.empty())
    both.push_back(fmt::format("costs {}", fmt::join(costs, ", ")));
  return both.empty() ? "" : fmt::format("{}", fmt::join(both, "; "));
}

void write_findings(const Account& account, TextPage& page) {
  if (account.findings.empty())
    return;
  page.heading(
      "What to change",
      fmt::format("ranked by {}; each tried alone in the model, against the plate as it is",
                  name_of(page.options().aim.value_or(usual_aim(account)))));
  for (const Finding& finding : account.findings) {
    page.prose(
        fmt::format("{}: {}", report::printable(finding.code), report::printable(finding.message)),
        2);
    const std::string effect = effect_of(finding, account);
    page.prose(fmt::format("{}{}{}", report::printable(finding.advice), effect.empty() ? "" : ": ",
                           effect),
               4);
    page.prose(report::printable(finding.trial), 4);
    page.prose("provided that " + report::printable(finding.assumes), 4);
  }
  page.prose("'platetally explain CODE' says more of each.", 2);
}

void write_unaccounted(const Account& account, TextPage& page) {
  if (account.unaccounted.empty())
    return;
  page.heading("Not accounted for",
               "commands without a known meaning; a machine file can give them one");
  const std::size_t most = page.options().all_diagnostics ? account.unaccounted.size() : kRowsShown;
  const std::vector<std::string> matter = report::words_that_may_matter(account);
  for (std::size_t i = 0; i < std::min(most, matter.size()); ++i)
    page.prose(matter[i], 2);
  if (!matter.empty())
    page.prose("'platetally machines MINE --learn PLATE' prints rows for the machine file", 2);
  std::vector<std::string> words;
  for (const UnaccountedWord& word : account.unaccounted)
    if (word.why.empty() && words.size() < most)
      words.push_back(fmt::format("{} {}x (from line {})", report::printable(word.word), word.count,
                                  word.first_line));
  if (!words.empty())
    page.prose(fmt::format("{}", fmt::join(words, ", ")), 2);
  const std::size_t shown = words.size() + std::min(most, matter.size());
  if (shown < account.unaccounted.size())
    page.prose(fmt::format("and {} more; --all shows them", account.unaccounted.size() - shown), 2);
}

void write_limits_read(const Account& account, TextPage& page) {
  if (account.limits_read.empty())
    return;
  const std::size_t shown = page.options().all_diagnostics
                                ? account.limits_read.size()
                                : std::min(account.limits_read.size(), kRowsShown);
  std::vector<std::string> words;
  for (std::size_t i = 0; i < shown; ++i) {
    const LimitWord& word = account.limits_read[i];
    words.push_back(fmt::format("{} {}x (from line {})", report::printable(word.word), word.count,
                                word.first_line));
  }
  page.heading("Limits of the plate",
               "commands without a row in the machine file, understood by the names of their keys");
  page.prose(fmt::format("{}", fmt::join(words, ", ")), 2);
  if (shown < account.limits_read.size())
    page.prose(fmt::format("and {} more; --all shows them", account.limits_read.size() - shown), 2);
}

void write_diagnostics(const Account& account, TextPage& page) {
  if (account.diagnostics.empty())
    return;
  std::vector<const Diagnostic*> order;
  for (const Diagnostic& diagnostic : account.diagnostics)
    order.push_back(&diagnostic);
  std::stable_sort(order.begin(), order.end(), [](const Diagnostic* a, const Diagnostic* b) {
    return a->severity > b->severity;
  });
  page.heading("Remarks", "errors first; what an error names is left out of the account");
  const std::size_t shown =
      page.options().all_diagnostics ? order.size() : std::min(order.size(), kRowsShown);
  for (std::size_t i = 0; i < shown; ++i)
    page.lines(to_text(*order[i], account.path, page.options()));
  if (shown < order.size())
    page.prose(fmt::format("and {} more kinds; --all shows them", order.size() - shown), 0);
}

void write_doubts(const Account& account, TextPage& page) {
  for (const std::string& line : {report::partial_line(account), report::stated_line(account)}) {
    if (line.empty())
      continue;
    page.lines("\n");
    page.prose(line, 0);
  }
}

}  // namespace

std::string to_text(const Account& account, const TextOptions& options) {
  TextPage page(options);
  if (!options.full && !options.all_diagnostics && !options.verbose) {
    report::write_summary(account, page);
    write_objects(account, page);
    return page.take();
  }
  report::write_verdict(account, page);
  page.lines("\n");
  write_time(account, page);
  write_material(account, page);
  write_power(account, page);
  write_energy(account, page);
  write_money(account, page);
  write_zones(account, page);
  write_stops(account, page);
  write_tools(account, page);
  write_pairs(account, page);
  write_objects(account, page);
  write_layers(account, page);
  write_findings(account, page);
  write_limits_read(account, page);
  write_doubts(account, page);
  write_unaccounted(account, page);
  write_diagnostics(account, page);
  if (options.verbose)
    page.amount(fmt::format("{:.1e}", account.totals.energy_residual),
                "residual of the energy book: in - out - stored, as a share of in");
  report::write_caution(page);
  return page.take();
}

}  // namespace platetally
