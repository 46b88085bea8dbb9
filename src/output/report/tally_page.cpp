// The page of a tally: can I print it, what does it cost, where does it go, what should I change.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "account/advice/shift.hpp"
#include "base/counted.hpp"
#include "base/units.hpp"
#include "output/report/compare_rows.hpp"
#include "output/report/doubts.hpp"
#include "output/report/labels.hpp"
#include "output/report/page.hpp"
#include "output/report/page_parts.hpp"
#include "output/report/page_table.hpp"
#include "output/report/plate_figures.hpp"
#include "output/report/plate_picture.hpp"
#include "output/report/strings.hpp"
#include "output/report/tally_charts.hpp"
#include "platetally/account.hpp"
#include "platetally/page.hpp"

namespace platetally {

namespace {

using report::duration;
using report::PageTable;
using report::Row;
using report::TableCell;
using report::TableRow;
using report::with_unit;
using report::words_column;

constexpr std::size_t kMostUnknown = 10;
constexpr std::size_t kMostLayersInTable = 120;
constexpr std::size_t kMostOrders = 12;
constexpr double kWorthIt = 0.005;  // of the cost: below that an order is as good as the best

report::PageHead head_of(const Account& account, const PageExtras& extras) {
  const auto used = static_cast<std::uint64_t>(std::ranges::count_if(
      account.tools, [](const ToolAccount& tool) { return tool.filament_mm > 0.0; }));
  std::vector<std::string> facts{account.machine, base::counted(account.totals.layers, "layer"),
                                 base::counted(used, "tool")};
  if (account.totals.swaps > 0)
    facts.push_back(base::counted(account.totals.swaps, "swap"));
  return {report::short_name(account.path), "What the plate costs", std::move(facts), extras.stamp};
}

class TallyPage {
 public:
  TallyPage(const Account& account, const PageExtras& extras)
      : account_(account), extras_(extras), page_(head_of(account, extras)) {}

  std::string write() {
    page_.verdict(verdict());
    page_.figures(report::plate_figures(account_));
    const bool has_layers = report::layer_chart(account_).has_something();
    page_.begin_row(has_layers ? Row::wide_slim : Row::one);
    if (has_layers)
      layers();
    levers();
    page_.end_row();
    stops();
    power_and_bed();
    objects();
    swaps_and_order();
    machines();
    page_.begin_row(Row::wide_slim);
    method();
    doubts();
    page_.end_row();
    return page_.take();
  }

 private:
  report::PageVerdict verdict() const;
  void levers();
  void layers();
  void layer_table();
  void stops();
  void power_and_bed();
  void bed();
  TableRow sum_of_objects() const;
  void objects();
  void swaps_and_order();
  void pairs();
  void order();
  void other_orders(const OrderReport& order);
  void machines();
  void method();
  void doubts();

  const Account& account_;
  const PageExtras& extras_;
  report::Page page_;
};

/// The usual one, and where most of the time goes.
report::PageVerdict TallyPage::verdict() const {
  report::PageVerdict verdict = report::verdict_of(account_);
  const Totals& totals = account_.totals;
  if (totals.swaps > 0 && verdict.reasons.size() < 2)
    verdict.reasons.push_back(
        fmt::format("{} of the time goes into swaps",
                    report::share(totals.time_by.swap_s, totals.time.expected)));
  return verdict;
}

void TallyPage::levers() {
  page_.begin_card("What to change", report::remark_on_levers(account_), "levers");
  page_.levers(report::levers_of(account_), "Nothing was found that costs more than it has to.");
  page_.end_card();
}

void TallyPage::layers() {
  report::Chart chart = report::layer_chart(account_);
  chart.caption = "What comes before the first layer stands left of layer 1.";
  page_.begin_card("Layer by layer");
  page_.chart(chart);
  layer_table();
  page_.end_card();
}

/// The same as the chart for those who cannot see it; long plates by groups of layers.
void TallyPage::layer_table() {
  const std::size_t step = (account_.layers.size() + kMostLayersInTable - 1) / kMostLayersInTable;
  PageTable table;
  table.caption = "layers";
  table.is_sortable = true;
  table.columns = {words_column(step > 1 ? "layers" : "layer"),
                   {"height", "mm"},
                   {"from line"},
                   {"time"},
                   {"swaps"},
                   {"part", "g"},
                   {"purge", "g"},
                   {"energy", "Wh"}};
  for (std::size_t at = 0; at < account_.layers.size(); at += step) {
    const std::size_t end = std::min(at + step, account_.layers.size());
    double time_s = 0.0, purge_g = 0.0, part_g = 0.0, energy_wh = 0.0;
    std::uint64_t swaps = 0;
    for (std::size_t i = at; i < end; ++i) {
      const LayerAccount& layer = account_.layers[i];
      time_s += layer.time_by.sum_s();
      swaps += layer.swaps;
      part_g += layer.part_g;
      purge_g += layer.purge_g;
      energy_wh += layer.energy_by.sum_wh();
    }
    const LayerAccount& first = account_.layers[at];
    const std::uint64_t last = account_.layers[end - 1].index;
    table.rows.push_back({{{first.index == last && first.index == 0 ? "before the first"
                            : first.index == last                   ? fmt::format("{}", first.index)
                                                  : fmt::format("{} to {}", first.index, last),
                            static_cast<double>(first.index)},
                           {report::significant(first.z_mm), first.z_mm},
                           {first.first_line > 0 ? fmt::format("{}", first.first_line) : "",
                            static_cast<double>(first.first_line)},
                           {duration(time_s), time_s},
                           {fmt::format("{}", swaps), static_cast<double>(swaps)},
                           {report::significant(part_g), part_g},
                           {report::significant(purge_g), purge_g},
                           {report::significant(energy_wh), energy_wh}}});
  }
  page_.begin_fold("the layers as a table");
  page_.table(table);
  page_.end_fold();
}

/// When somebody has to be there.
void TallyPage::stops() {
  if (account_.stops.empty())
    return;
  constexpr std::size_t kMostInTable = 50;
  const std::uint64_t in_all = account_.totals.pauses + account_.totals.manual_changes;
  PageTable table;
  table.caption = "stops that wait for a person";
  table.columns = {words_column("what"), {"layer"}, {"line"}, {"after"}, {"between"}};
  if (account_.clock)
    table.columns = {
        words_column("what"), {"layer"}, {"line"}, words_column("at"), words_column("between")};
  for (std::size_t i = 0; i < std::min(kMostInTable, account_.stops.size()); ++i) {
    const Stop& stop = account_.stops[i];
    const Range& after = stop.after;
    TableRow row;
    row.cells = {
        {stop.tool < 0 ? "pause"
                       : fmt::format("change to {}", report::tool_name(account_, stop.tool))},
        {fmt::format("{}", stop.layer)},
        {fmt::format("{}", stop.line)},
        {stop.at.empty() ? duration(after.expected) : stop.at},
        {stop.at.empty() ? fmt::format("{} to {}", duration(after.low), duration(after.high))
                         : fmt::format("{} to {}", stop.at_early, stop.at_late)}};
    if (stop.unattended.value_or(false))
      row.mark = "nobody is there";
    table.rows.push_back(std::move(row));
  }
  page_.begin_row(Row::one);
  page_.begin_card("When somebody has to be there",
                   in_all > table.rows.size()
                       ? fmt::format("the first {} of {} stops", table.rows.size(), in_all)
                       : base::counted(in_all, "stop"),
                   "stops");
  if (account_.clock && !account_.clock->done_attended.empty())
    page_.paragraph(
        fmt::format("Each as if somebody had come at once to those before. If each "
                    "waits until somebody is there, the plate is done {}.",
                    account_.clock->done_attended));
  page_.table(table);
  page_.end_card();
  page_.end_row();
}

void TallyPage::power_and_bed() {
  report::Chart chart = report::power_chart(account_);
  const bool has_bed = !report::drawn_plate(account_).empty();
  if (!chart.has_something() && !has_bed)
    return;
  page_.begin_row(chart.has_something() && has_bed ? Row::wide_slim : Row::one);
  if (chart.has_something()) {
    const Totals& totals = account_.totals;
    chart.caption = fmt::format(
        "Highest draw {}, highest mean over 15 min {}; everything on at once would draw {}.",
        with_unit(totals.peak_power_w, "W"), with_unit(totals.peak_quarter_hour_w, "W"),
        with_unit(totals.connected_load_w, "W"));
    page_.begin_card("Power over time", "watts from the wall", "power-card");
    page_.chart(chart);
    page_.end_card();
  }
  if (has_bed)
    bed();
  page_.end_row();
}

void TallyPage::bed() {
  const BedPicture& bed = account_.bed_picture;
  std::string caption = report::words_of_plate(account_);
  if (account_.bed_zones.size() > 1)
    caption +=
        bed.shift_x_mm != 0.0 || bed.shift_y_mm != 0.0
            ? fmt::format(" Moved by {} (dashed) it would heat {:.1f} zones instead of {:.1f}.",
                          advice::shift_words(bed.shift_x_mm, bed.shift_y_mm), bed.zones_then,
                          bed.zones_now)
            : fmt::format(" Of all places in steps of {:g} mm, none takes less energy.",
                          bed.cell_mm);
  page_.begin_card("The bed", "", "bed");
  const std::vector<report::PagePlate> plates{{"", &account_, caption}};
  page_.plates(plates);
  if (account_.bed_zones.size() > 1) {
    PageTable table;
    table.caption = "heated zones";
    table.columns = {words_column("zone from left front"),
                     {"active"},
                     {"kept warm"},
                     {"energy", "Wh"},
                     {"hottest", "degC"}};
    for (const BedZoneAccount& zone : account_.bed_zones)
      if (zone.energy_wh > 0.0)
        table.rows.push_back({{{fmt::format("row {}, column {}", zone.row, zone.column)},
                               {duration(zone.active_s)},
                               {duration(zone.neighbour_s)},
                               {report::significant(zone.energy_wh)},
                               {report::significant(zone.peak_c)}}});
    page_.begin_fold("the zones as a table");
    page_.table(table);
    page_.end_fold();
  }
  page_.end_card();
}

TableRow TallyPage::sum_of_objects() const {
  double time_s = 0.0, part_g = 0.0, purge_g = 0.0, start_up_g = 0.0, swaps = 0.0, energy_wh = 0.0,
         cost = 0.0;
  for (const ObjectAccount& object : account_.objects) {
    time_s += object.time_by.sum_s();
    part_g += object.part_g;
    purge_g += object.purge_g;
    start_up_g += object.start_up_g;
    swaps += object.swaps;
    energy_wh += object.energy_wh;
    cost += object.cost.value_or(0.0);
  }
  TableRow row;
  row.is_sum = true;
  row.cells = {{"plate"},
               {duration(time_s)},
               {report::significant(part_g)},
               {report::significant(purge_g)},
               {report::significant(start_up_g)},
               {report::significant(swaps)},
               {report::significant(energy_wh)}};
  if (account_.cost)
    row.cells.push_back({report::money(cost)});
  row.cells.push_back({""});
  return row;
}

/// What one of them takes; of a single one the figures above say it.
void TallyPage::objects() {
  if (account_.objects.size() < 2)
    return;
  PageTable table;
  table.caption = "objects on the plate";
  table.is_sortable = true;
  table.columns = {words_column("object"), {"time", "", false, true}, {"part", "g", false, true},
                   {"purge", "g"},         {"start-up", "g"},         {"swaps"},
                   {"energy", "Wh"}};
  if (account_.cost)
    table.columns.push_back({"cost", account_.cost->currency});
  table.columns.push_back({"height", "mm"});
  for (const ObjectAccount& object : account_.objects) {
    const std::string number = fmt::format("object {}", object.number);
    const double time_s = object.time_by.sum_s();
    TableRow row;
    row.cells = {{object.number == 0 || object.name == number
                      ? object.name
                      : fmt::format("{} {}", object.number, object.name),
                  static_cast<double>(object.number)},
                 {duration(time_s), time_s},
                 {report::significant(object.part_g), object.part_g},
                 {report::significant(object.purge_g), object.purge_g},
                 {report::significant(object.start_up_g), object.start_up_g},
                 {report::significant(object.swaps), object.swaps},
                 {report::significant(object.energy_wh), object.energy_wh}};
    if (account_.cost)
      row.cells.push_back({report::money(object.cost.value_or(0.0)), object.cost});
    row.cells.push_back({report::significant(object.height_mm), object.height_mm});
    table.rows.push_back(std::move(row));
  }
  table.rows.push_back(sum_of_objects());
  page_.begin_row(Row::one);
  page_.begin_card("Object by object",
                   "swaps, purge, waits and energy are shared; the sums are the plate's",
                   "objects");
  page_.table(table);
  if (const std::string words = report::words_of_shared_labour(account_); !words.empty())
    page_.paragraph(report::capital(words) + ".");
  page_.end_card();
  page_.end_row();
}

void TallyPage::swaps_and_order() {
  if (account_.swap_pairs.empty())
    return;
  const bool has_order =
      extras_.order != nullptr && !extras_.order->outcomes.empty() && !extras_.order->pairs.empty();
  page_.begin_row(has_order ? Row::wide_slim : Row::one);
  pairs();
  if (has_order)
    order();
  page_.end_row();
}

void TallyPage::pairs() {
  PageTable table;
  table.caption = "swaps from tool to tool";
  table.is_sortable = true;
  table.columns = {words_column("from, to"),    {"swaps", "", false, true},
                   {"purge", "g", false, true}, {"needed", "g"},
                   {"purge each", "g"},         {"colour left", "dE00"}};
  for (const SwapPairAccount& pair : account_.swap_pairs) {
    const double count = std::max(1.0, static_cast<double>(pair.count));
    TableRow row;
    row.cells = {
        {fmt::format("{} to {}", report::tool_name(account_, pair.from),
                     report::tool_name(account_, pair.to))},
        {fmt::format("{}", pair.count), static_cast<double>(pair.count)},
        {report::significant(pair.purge_g), pair.purge_g},
        {pair.needed_g ? report::significant(*pair.needed_g) : "not known", pair.needed_g},
        {report::significant(pair.purge_g / count), pair.purge_g / count},
        {pair.left_de00 ? report::significant(*pair.left_de00) : "\xE2\x80\x93", pair.left_de00}};
    if (pair.swaps_short > 0)
      row.mark =
          fmt::format("{} of {} purge less than the colours need", pair.swaps_short, pair.count);
    table.rows.push_back(std::move(row));
  }
  page_.begin_card("From tool to tool", "all swaps of a pair together", "pairs");
  page_.table(table);
  if (!account_.tower.why.empty()) {
    page_.begin_fold("what the motion says about a prime tower");
    page_.paragraph(account_.tower.why);
    page_.end_fold();
  }
  page_.end_card();
}

void TallyPage::order() {
  const OrderReport& order = *extras_.order;
  page_.begin_card("The order of the colours", "", "order");
  page_.paragraph(order.proof);
  PageTable table;
  table.caption = "orders of the colours";
  table.columns = {words_column("order"), {"swaps"}, {"purge", "g"}, {"changing"}};
  for (const OrderOutcome& one : order.outcomes)
    table.rows.push_back({{{one.name == "actual" ? "as it is" : one.name},
                           {fmt::format("{}", one.swaps)},
                           {report::significant(one.purge_g)},
                           {duration(one.time_s)}}});
  table.rows.back().is_chosen = true;
  page_.table(table);
  other_orders(order);
  page_.begin_fold("what the orders stand on");
  page_.list(order.assumptions);
  page_.end_fold();
  page_.end_card();
}

void TallyPage::other_orders(const OrderReport& order) {
  const double actual = order.outcomes.front().cost;
  if (actual - order.outcomes.back().cost <= kWorthIt * actual) {
    page_.paragraph("The order as it is, is as good as the best one.");
    return;
  }
  std::vector<std::vector<std::string>> rows;
  std::size_t differ = 0;
  for (std::size_t i = 0; i < std::min(order.orders.size(), account_.visits.size()); ++i) {
    if (account_.visits[i].order == order.orders[i])
      continue;
    if (++differ <= kMostOrders)
      rows.push_back({fmt::format("{}", account_.visits[i].layer),
                      fmt::format("{}", fmt::join(account_.visits[i].order, " ")),
                      fmt::format("{}", fmt::join(order.orders[i], " "))});
  }
  if (rows.empty())
    return;
  page_.begin_fold(fmt::format("{} layers would be printed in another order{}", differ,
                               differ > rows.size() ? "; the first of them" : ""));
  PageTable table = report::plain_table(
      {words_column("layer"), words_column("as it is"), words_column("at its best")}, rows);
  table.caption = "layers in another order";
  page_.table(table);
  page_.end_fold();
}

void TallyPage::machines() {
  if (extras_.comparison == nullptr || extras_.comparison->machines.size() < 2)
    return;
  page_.begin_row(Row::one);
  page_.begin_card("On other machines",
                   "the same plate planned again; the first machine is the one it was sliced for",
                   "machines");
  report::add_comparison_table(page_, *extras_.comparison);
  page_.end_card();
  page_.end_row();
}

void TallyPage::method() {
  page_.begin_card("How the figures come about");
  std::vector<std::string> lines{
      "Time: every move planned with the machine's limits, corners and look-ahead; swaps, waits, "
      "homing and dwell by the machine file.",
      "Purge: from the motion alone (fed at rest, off the bed, on a tower) or from marks that the "
      "machine file declares.",
      "Energy: bed, hot ends, enclosure, motors, fans, electronics and the supply's loss in a "
      "thermal network that is stepped through the print.",
      fmt::format("Input: {}, {} lines, {}; machine {}{}.", account_.path, account_.lines,
                  report::data_size(account_.bytes), account_.machine,
                  extras_.machine != nullptr
                      ? fmt::format(", room at {:g} degC", extras_.machine->room_c)
                      : "")};
  for (const TimeBandCause& cause : account_.totals.time_band)
    lines.push_back(fmt::format("The time may be {} less or {} more because of {}.",
                                duration(cause.below_s), duration(cause.above_s),
                                report::label_of_cause(cause.cause)));
  for (std::size_t i = 0; i < std::min(kMostUnknown, account_.limits_read.size()); ++i) {
    const LimitWord& word = account_.limits_read[i];
    lines.push_back(fmt::format(
        "{}: {}, first in line {}; limits of the motion, read by the English in its keys.",
        word.word, base::counted(word.count, "time"), word.first_line));
  }
  if (std::string stated = report::stated_line(account_); !stated.empty())
    lines.push_back(std::move(stated));
  page_.list(lines);
  page_.end_card();
}

void TallyPage::doubts() {
  page_.begin_card("What is not accounted for", "", "doubts");
  std::vector<std::string> lines;
  if (std::string part = report::partial_line(account_); !part.empty())
    lines.push_back(std::move(part));
  for (std::size_t i = 0; i < std::min(kMostUnknown, account_.unaccounted.size()); ++i) {
    const UnaccountedWord& word = account_.unaccounted[i];
    lines.push_back(fmt::format("{}: {}, first in line {}{}{}", word.word,
                                base::counted(word.count, "time"), word.first_line,
                                word.why.empty() ? "" : ": ", word.why));
  }
  if (account_.unaccounted.size() > kMostUnknown)
    lines.push_back(fmt::format("and {} more words", account_.unaccounted.size() - kMostUnknown));
  for (const Diagnostic& diagnostic : account_.diagnostics)
    if (diagnostic.severity != Severity::note)
      lines.push_back(
          fmt::format("{}{}", diagnostic.message,
                      diagnostic.count > 1 ? fmt::format(" ({} times)", diagnostic.count) : ""));
  if (lines.empty())
    page_.paragraph("Every command word was understood, and nothing was left out.");
  else
    page_.list(lines);
  page_.end_card();
}

}  // namespace

std::string to_html(const Account& account, const PageExtras& extras) {
  return TallyPage(account, extras).write();
}

}  // namespace platetally
