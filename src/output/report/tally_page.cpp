// The page of a tally.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "base/units.hpp"
#include "output/report/bed_map.hpp"
#include "output/report/chart.hpp"
#include "output/report/compare_rows.hpp"
#include "output/report/doubts.hpp"
#include "output/report/page.hpp"
#include "output/report/strings.hpp"
#include "platetally/account.hpp"
#include "platetally/page.hpp"

namespace platetally {

namespace {

using report::html_text;
using report::rounded;
using report::Value;

constexpr std::size_t kMostUnknown = 10;
constexpr std::size_t kMostLayersInTable = 120;
constexpr std::size_t kMostOrders = 12;
constexpr double kWorthIt = 0.005;  // of the cost: below that an order is as good as the best

std::string with_unit(double value, std::string_view unit) {
  return unit == "s" ? report::duration(value)
                     : fmt::format("{} {}", rounded(Value(value), unit), unit);
}

class TallyPage {
 public:
  TallyPage(const Account& account, const PageExtras& extras)
      : account_(account),
        extras_(extras),
        page_(fmt::format("What the plate costs: {}", account.path),
              fmt::format("On {}, before anything is printed.", account.machine)) {}

  std::string write() {
    verdicts();
    findings();
    layers();
    power();
    bed();
    swaps();
    order();
    machines();
    method();
    return page_.take();
  }

 private:
  void verdicts();
  void findings();
  void layers();
  void power();
  void bed();
  void swaps();
  void order();
  void machines();
  void method();
  std::string tool_name(int tool) const;
  std::optional<double> needed_g() const;

  const Account& account_;
  const PageExtras& extras_;
  report::Page page_;
  std::string data_;
};

std::string TallyPage::tool_name(int tool) const {
  for (const ToolAccount& one : account_.tools)
    if (one.tool == tool && !one.colour.empty())
      return fmt::format("{} {}", tool, one.colour);
  return fmt::format("{}", tool);
}

std::optional<double> TallyPage::needed_g() const {
  double sum = 0.0;
  for (const SwapPairAccount& pair : account_.swap_pairs) {
    if (!pair.needed_g)
      return std::nullopt;
    sum += *pair.needed_g;
  }
  return account_.swap_pairs.empty() ? std::nullopt : std::optional(sum);
}

void TallyPage::verdicts() {
  const Totals& totals = account_.totals;
  std::vector<report::Verdict> all;
  const std::string widest =
      totals.time_band.empty()
          ? "nothing widens the band"
          : fmt::format("most of the band comes from {}", totals.time_band.front().cause);
  all.push_back({report::duration(totals.time.expected),
                 fmt::format("between {} and {}", report::duration(totals.time.low),
                             report::duration(totals.time.high)),
                 fmt::format("the machine's limits and its controller as the machine file states "
                             "them; {}",
                             widest)});
  all.push_back({fmt::format("{} swaps", totals.swaps),
                 fmt::format("take {}, {} of the time", report::duration(totals.time_by.swap_s),
                             report::share(totals.time_by.swap_s, totals.time.expected)),
                 "changing and purging; seconds of a change from the machine file"});
  const std::optional<double> needed = needed_g();
  const std::string low = with_unit(totals.purge_low_g, "g");
  const std::string high = with_unit(totals.purge_high_g, "g");
  all.push_back({with_unit(totals.purge_g, "g") + " purged",
                 needed ? fmt::format("the colours need {}", with_unit(*needed, "g"))
                        : "what the colours need is not known: give --colours",
                 fmt::format("{}recognised from the motion, {} of all material",
                             low == high ? "" : fmt::format("between {} and {}; ", low, high),
                             report::share(totals.purge_g,
                                           totals.purge_g + totals.part_g + totals.start_up_g))});
  all.push_back(
      {with_unit(totals.part_g, "g") + " of part",
       fmt::format("and {} wasted before the first swap", with_unit(totals.start_up_g, "g")),
       "net filament times the density of its material"});
  all.push_back(
      {with_unit(totals.energy_wh, "Wh"),
       fmt::format("between {} and {}; mean {}, peak {}", with_unit(totals.energy_low_wh, "Wh"),
                   with_unit(totals.energy_high_wh, "Wh"), with_unit(totals.mean_power_w, "W"),
                   with_unit(totals.peak_power_w, "W")),
       "from the wall; a thermal network with the machine file's figures, room and door "
       "as stated there"});
  if (account_.cost) {
    const PlateCost& cost = *account_.cost;
    all.push_back({fmt::format("{:.2f} {}", cost.total(), cost.currency),
                   fmt::format("{:.2f} a good part", cost.per_good_part),
                   cost.not_counted.empty() ? "at the prices given"
                                            : fmt::format("at the prices given; not counted: {}",
                                                          fmt::join(cost.not_counted, ", "))});
  }
  page_.verdicts(all);
}

void TallyPage::findings() {
  page_.heading("What could be saved", "largest first");
  if (account_.findings.empty()) {
    page_.paragraph("Nothing was found that costs more than it has to.");
    return;
  }
  std::string out = "<ol class=\"findings\">\n";
  for (const Finding& finding : account_.findings) {
    std::vector<std::string> saves;
    const auto add = [&](double value, std::string_view unit) {
      if (value > 0.0)
        saves.push_back(with_unit(value, unit));
    };
    add(finding.saves_purge_g, "g");
    add(finding.saves_time_s, "s");
    add(finding.saves_energy_wh, "Wh");
    if (finding.saves_money && account_.cost)
      saves.push_back(fmt::format("{:.2f} {}", *finding.saves_money, account_.cost->currency));
    out += fmt::format("<li><b>{}</b>{}<br>saves {}<span class=\"soft\"><br>{}{}</span></li>\n",
                       html_text(finding.advice), html_text(finding.message),
                       saves.empty() ? "what cannot be put in figures"
                                     : html_text(fmt::format("{}", fmt::join(saves, ", "))),
                       finding.assumes.empty() ? "" : "if: ", html_text(finding.assumes));
  }
  page_.raw(out + "</ol>\n");
}

void TallyPage::layers() {
  const report::ChartColumns columns = report::layer_columns(account_);
  if (columns.series.empty())
    return;
  page_.heading("Layer by layer");
  page_.figure(
      "layers", report::drawn_panels(columns, "layer", 1.0),
      "Swaps, purge and energy by layer, means over two pixels where there are more layers "
      "than that; layer 0 is all that comes before the first.");
  std::vector<double> heights;
  std::vector<double> indices;
  for (const LayerAccount& layer : account_.layers) {
    heights.push_back(layer.z_mm);
    indices.push_back(static_cast<double>(layer.index));
  }
  std::string json = report::to_json(columns);
  json.pop_back();
  data_ = fmt::format("\"layers\":{},\"z_mm\":{},\"index\":{}}}", json, report::json_of(heights),
                      report::json_of(indices));
  // The same as a table, for those who cannot see it; long plates by groups of layers.
  const std::size_t step = (account_.layers.size() + kMostLayersInTable - 1) / kMostLayersInTable;
  std::vector<std::vector<std::string>> rows;
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
    const std::uint64_t first = account_.layers[at].index;
    const std::uint64_t last = account_.layers[end - 1].index;
    rows.push_back({first == last ? fmt::format("{}", first) : fmt::format("{} to {}", first, last),
                    report::duration(time_s), fmt::format("{}", swaps), rounded(Value(part_g), "g"),
                    rounded(Value(purge_g), "g"), rounded(Value(energy_wh), "Wh")});
  }
  page_.raw("<details><summary>The layers as a table</summary>\n");
  page_.table({step > 1 ? "layers" : "layer", "time", "swaps", "part g", "purge g", "energy Wh"},
              rows, 1);
  page_.raw("</details>\n");
}

void TallyPage::power() {
  const report::ChartColumns columns = report::power_columns(account_);
  if (columns.series.empty())
    return;
  page_.heading("Power over time");
  std::string keys = "<ul class=\"keys for-paper\">\n";
  for (std::size_t i = 0; i < columns.series.size(); ++i)
    keys += fmt::format(
        "<li><svg viewBox=\"0 0 10 10\" aria-hidden=\"true\"><rect class=\"s{}\" width=\"10\" "
        "height=\"10\"/></svg> {}{}</li>\n",
        i % 7 + 1, html_text(columns.series[i].name),
        i == 0                           ? " (at the bottom)"
        : i + 1 == columns.series.size() ? " (on top)"
                                         : "");
  page_.raw(keys + "</ul>\n");
  page_.figure("power", report::drawn_stack(columns, "hours", base::kSecondsPerHour),
               fmt::format("Watts from the wall by component, means over two pixels. Highest draw "
                           "{}, highest mean over 15 minutes {}.",
                           with_unit(account_.totals.peak_power_w, "W"),
                           with_unit(account_.totals.peak_quarter_hour_w, "W")));
  data_ += fmt::format("{}\"power\":{}", data_.empty() ? "" : ",", report::to_json(columns));
  const EnergyBy& by = account_.totals.energy_by;
  page_.bars({{"bed", by.bed_wh},
              {"hot ends", by.hot_ends_wh},
              {"enclosure", by.enclosure_wh},
              {"motors", by.motors_wh},
              {"fans", by.fans_wh},
              {"electronics", by.electronics_wh},
              {"supply loss", by.supply_loss_wh}},
             "Wh");
}

void TallyPage::bed() {
  const std::string drawing = report::drawn_bed(account_);
  if (drawing.empty())
    return;
  const BedPicture& bed = account_.bed_picture;
  std::string caption =
      "The bed from above, its front at the bottom: hours and watt-hours of each zone before the "
      "supply's loss, darker for more; shaded, where material lies. ";
  if (bed.shift_x_mm != 0.0 || bed.shift_y_mm != 0.0)
    caption += fmt::format(
        "Moved by x {:+.1f}, y {:+.1f} mm (dashed) it would heat {:.1f} zones instead of {:.1f}.",
        bed.shift_x_mm, bed.shift_y_mm, bed.zones_then, bed.zones_now);
  else if (account_.bed_zones.size() > 1)
    caption += "No other place heats fewer zones.";
  page_.heading("Where the bed is heated");
  page_.figure("", drawing, caption);
  if (account_.bed_zones.size() < 2)
    return;
  std::vector<std::vector<std::string>> rows;
  for (const BedZoneAccount& zone : account_.bed_zones)
    if (zone.energy_wh > 0.0)
      rows.push_back({fmt::format("row {}, column {}", zone.row, zone.column),
                      report::duration(zone.active_s), report::duration(zone.neighbour_s),
                      rounded(Value(zone.energy_wh), "Wh"), rounded(Value(zone.peak_c), "C")});
  page_.raw("<details><summary>The zones as a table</summary>\n");
  page_.table({"zone, from the left front", "active", "kept warm", "energy Wh", "hottest degC"},
              rows, 1);
  page_.raw("</details>\n");
}

void TallyPage::swaps() {
  if (account_.swap_pairs.empty())
    return;
  page_.heading("From which tool to which");
  std::vector<int> tools;
  double most_g = 0.0;
  for (const SwapPairAccount& pair : account_.swap_pairs) {
    tools.push_back(pair.from);
    tools.push_back(pair.to);
    most_g = std::max(most_g, pair.purge_g);
  }
  std::sort(tools.begin(), tools.end());
  tools.erase(std::unique(tools.begin(), tools.end()), tools.end());
  std::string out =
      "<div class=\"wide\"><table class=\"map\">\n<caption>Swaps from the tool at the left to the "
      "one at the top: how many, grams purged, grams needed</caption>\n<thead><tr><th "
      "scope=\"col\">from</th>";
  for (const int to : tools)
    out += fmt::format("<th scope=\"col\">to {}</th>", html_text(tool_name(to)));
  out += "</tr></thead>\n<tbody>\n";
  for (const int from : tools) {
    out += fmt::format("<tr><th scope=\"row\">{}</th>", html_text(tool_name(from)));
    for (const int to : tools) {
      const auto pair = std::find_if(
          account_.swap_pairs.begin(), account_.swap_pairs.end(),
          [&](const SwapPairAccount& one) { return one.from == from && one.to == to; });
      if (pair == account_.swap_pairs.end())
        out += "<td class=\"none\">none</td>";
      else
        out += fmt::format("<td class=\"m{}\">{}<small>{} g</small><small>need {}</small></td>",
                           report::map_step(pair->purge_g, most_g), pair->count,
                           rounded(Value(pair->purge_g), "g"),
                           pair->needed_g ? with_unit(*pair->needed_g, "g") : "not known");
    }
    out += "</tr>\n";
  }
  page_.raw(out + "</tbody></table></div>\n");
}

void TallyPage::order() {
  if (extras_.order == nullptr || extras_.order->outcomes.empty() || extras_.order->pairs.empty())
    return;
  const OrderReport& order = *extras_.order;
  page_.heading("The order of the colours, as it is and as it could be", order.proof);
  std::vector<std::vector<std::string>> rows;
  for (const OrderOutcome& one : order.outcomes)
    rows.push_back({one.name, fmt::format("{}", one.swaps), rounded(Value(one.purge_g), "g"),
                    report::duration(one.time_s)});
  page_.table({"order", "swaps", "purge g", "changing"}, rows, 1,
              static_cast<std::ptrdiff_t>(rows.size()) - 1);
  page_.list(order.assumptions);
  const double actual = order.outcomes.front().cost;
  if (actual - order.outcomes.back().cost <= kWorthIt * actual) {
    page_.paragraph("The order as it is, is as good as the best one.");
    return;
  }
  rows.clear();
  std::size_t differ = 0;
  for (std::size_t i = 0; i < std::min(order.orders.size(), account_.visits.size()); ++i) {
    if (account_.visits[i].order == order.orders[i])
      continue;
    if (++differ <= kMostOrders)
      rows.push_back({fmt::format("{}", account_.visits[i].layer),
                      fmt::format("{}", fmt::join(account_.visits[i].order, " ")),
                      fmt::format("{}", fmt::join(order.orders[i], " "))});
  }
  if (!rows.empty()) {
    page_.paragraph(fmt::format("{} layers would be printed in another order{}:", differ,
                                differ > rows.size() ? "; the first of them" : ""));
    page_.table({"layer", "tools as they are", "tools at their best"}, rows, 3);
  }
}

void TallyPage::machines() {
  if (extras_.comparison == nullptr || extras_.comparison->machines.size() < 2)
    return;
  page_.heading("On other machines",
                "the same plate planned again; the first machine is the one it was sliced for");
  report::add_comparison(page_, *extras_.comparison, false);
}

void TallyPage::method() {
  page_.heading("How the figures come about");
  std::vector<std::string> lines{
      "Time: every move planned with the machine's limits, corners and look-ahead; swaps, waits, "
      "homing and dwell by the machine file.",
      "Purge: from the motion alone (fed at rest, off the bed, on a tower) or from marks that the "
      "machine file declares.",
      "Energy: bed, hot ends, enclosure, motors, fans, electronics and the supply's loss in a "
      "thermal network that is stepped through the print.",
      fmt::format("Input: {} lines, {}; machine '{}'{}.", account_.lines,
                  report::data_size(account_.bytes), account_.machine,
                  extras_.machine != nullptr
                      ? fmt::format(", room at {:g} degC", extras_.machine->room_c)
                      : "")};
  for (const TimeBandCause& cause : account_.totals.time_band)
    lines.push_back(fmt::format("Band of the time, {}: {} less, {} more.", cause.cause,
                                report::duration(cause.below_s), report::duration(cause.above_s)));
  for (std::size_t i = 0; i < std::min(kMostUnknown, account_.limits_read.size()); ++i) {
    const LimitWord& word = account_.limits_read[i];
    lines.push_back(fmt::format(
        "{}: {} times, first in line {}; limits of the motion, read by the English in its keys.",
        word.word, word.count, word.first_line));
  }
  if (std::string stated = report::stated_line(account_); !stated.empty())
    lines.push_back(std::move(stated));
  page_.list(lines);
  page_.heading("What is not accounted for");
  lines.clear();
  if (std::string part = report::partial_line(account_); !part.empty())
    lines.push_back(std::move(part));
  for (std::size_t i = 0; i < std::min(kMostUnknown, account_.unaccounted.size()); ++i) {
    const UnaccountedWord& word = account_.unaccounted[i];
    lines.push_back(fmt::format("{}: {} times, first in line {}{}{}", word.word, word.count,
                                word.first_line, word.why.empty() ? "" : ": ", word.why));
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
  if (!data_.empty())
    page_.data(fmt::format("{{{}}}", data_));
}

}  // namespace

std::string to_html(const Account& account, const PageExtras& extras) {
  return TallyPage(account, extras).write();
}

}  // namespace platetally
