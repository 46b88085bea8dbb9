#include "output/report/text_summary.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <string>
#include <vector>

#include "base/counted.hpp"
#include "output/report/fields.hpp"
#include "output/report/page_parts.hpp"
#include "output/report/strings.hpp"
#include "output/report/text_table.hpp"
#include "platetally/advice.hpp"

namespace platetally::report {

namespace {

constexpr std::size_t kReasonsShown = 2;
constexpr std::size_t kLeversShown = 3;
constexpr std::size_t kWordsShown = 3;
constexpr int kTitleColumns = 10;
constexpr int kFigureColumns = 12;

std::string grams(double value) {
  return significant(value) + " g";
}
std::string watt_hours(double value) {
  return significant(value) + " Wh";
}

/// One of the four figures: what it is, how much, between what, and on the next lines what it is
/// made of.
void write_figure(TextPage& page, std::string_view title, const std::string& figure,
                  const std::string& band, const std::string& made_of) {
  const int indent = 2 + kTitleColumns + kFigureColumns + 2;
  const std::string front =
      fmt::format("  {}{}  ", flush_left(title, kTitleColumns),
                  page.styled(flush_right(figure, kFigureColumns), Style::heading));
  page.hanging(front, band.empty() ? made_of : band, indent, band.empty() ? 2 : 1);
  if (!band.empty() && !made_of.empty())
    page.hanging(std::string(static_cast<std::size_t>(indent), ' '), made_of, indent, 2);
}

struct Part {
  std::string_view name;
  double amount = 0.0;
  std::string text;
};

/// "swaps 1 h 19 min (72 %), print 25 min 17 s (23 %), ...": the largest first.
std::string made_of(std::vector<Part> parts, double whole) {
  std::erase_if(parts, [](const Part& part) { return !(part.amount > 0.0); });
  std::ranges::stable_sort(parts, std::ranges::greater{}, &Part::amount);
  std::vector<std::string> texts;
  for (const Part& part : parts)
    texts.push_back(fmt::format("{} {} ({})", part.name, part.text, share(part.amount, whole)));
  return fmt::format("{}", fmt::join(texts, ", "));
}

std::string between(const std::string& low, const std::string& high) {
  return low == high ? "" : fmt::format("{} to {}", low, high);
}

std::string joined(const std::vector<std::string>& clauses) {
  std::vector<std::string> said;
  for (const std::string& clause : clauses)
    if (!clause.empty())
      said.push_back(clause);
  return fmt::format("{}", fmt::join(said, "; "));
}

/// What makes the time uncertain, in words.
std::string words_of_cause(const TimeBandCause& cause) {
  constexpr std::pair<std::string_view, std::string_view> kWords[] = {
      {"swap", "swaps"},
      {"long-swap", "swaps that stop"},
      {"pause", "pauses"},
      {"start-and-end", "start and end"},
      {"unknown-words", "unknown words"},
      {"past-errors", "past errors"}};
  for (const auto& [name, words] : kWords)
    if (cause.cause == name)
      return std::string(words);
  return printable(cause.cause);
}

/// "3 of 5 tools": those that feed anything, and those of the machine.
std::string tools_of(const Account& account) {
  const auto used = static_cast<std::size_t>(std::ranges::count_if(
      account.tools, [](const ToolAccount& tool) { return tool.filament_mm > 0.0; }));
  return used == account.tools.size()
             ? base::counted(used, "tool")
             : fmt::format("{} of {}", used, base::counted(account.tools.size(), "tool"));
}

void write_time(const Account& account, TextPage& page) {
  const Totals& totals = account.totals;
  const TimeBy& by = totals.time_by;
  const auto part = [](std::string_view name, double seconds) {
    return Part{name, seconds, duration(seconds)};
  };
  std::string why;
  if (!totals.time_band.empty())
    why = fmt::format(", uncertain because of {}", words_of_cause(totals.time_band.front()));
  const std::string band = between(duration(totals.time.low), duration(totals.time.high));
  write_figure(
      page, "time", duration(totals.time.expected),
      joined({band.empty() ? "" : band + why, base::counted(totals.swaps, "swap")}),
      made_of({part("print", by.print_s), part("travel", by.travel_s), part("swaps", by.swap_s),
               part("heat waits", by.heat_wait_s), part("other", by.other_s)},
              totals.time.expected));
}

void write_material(const Account& account, TextPage& page) {
  const Totals& totals = account.totals;
  const PurgeBy& by = totals.purge_by;
  const auto part = [](std::string_view name, double value) {
    return Part{name, value, grams(value)};
  };
  const double all_g = totals.part_g + totals.purge_g + totals.start_up_g;
  const std::string band = between(grams(totals.purge_low_g), grams(totals.purge_high_g));
  write_figure(
      page, "material", grams(all_g), band.empty() ? "" : "purge " + band,
      made_of({part("part", totals.part_g), part("purge on a prime tower", by.tower_g),
               part("purge fed at rest", by.at_rest_g), part("purge off the part", by.place_g),
               part("purge marked in the file", by.comment_g),
               part("purge by the machine", by.hidden_g), part("start-up", totals.start_up_g)},
              all_g));
}

std::string words_of_zones(const Account& account) {
  const std::uint64_t used = account.totals.bed_zones_used;
  return account.bed_zones.size() == 1
             ? (used == 1 ? "the whole bed is heated" : "the bed is not heated")
             : fmt::format("{} of {} bed zones", used, account.bed_zones.size());
}

void write_energy(const Account& account, TextPage& page) {
  const Totals& totals = account.totals;
  const EnergyBy& by = totals.energy_by;
  const auto part = [](std::string_view name, double wh) { return Part{name, wh, watt_hours(wh)}; };
  write_figure(page, "energy", watt_hours(totals.energy_wh),
               joined({between(watt_hours(totals.energy_low_wh), watt_hours(totals.energy_high_wh)),
                       fmt::format("mean {} W, peak {} W", significant(totals.mean_power_w),
                                   significant(totals.peak_power_w)),
                       words_of_zones(account)}),
               made_of({part("bed", by.bed_wh), part("hot ends", by.hot_ends_wh),
                        part("enclosure", by.enclosure_wh), part("motors", by.motors_wh),
                        part("fans", by.fans_wh), part("electronics", by.electronics_wh),
                        part("supply loss", by.supply_loss_wh)},
                       totals.energy_wh));
}

void write_cost(const Account& account, TextPage& page) {
  if (!account.cost)
    return;
  const PlateCost& cost = *account.cost;
  const auto part = [](std::string_view name, double value) {
    return Part{name, value, fmt::format("{:.2f}", value)};
  };
  write_figure(
      page, "cost", fmt::format("{:.2f} {}", cost.total(), printable(cost.currency)),
      joined({cost.per_good_part != cost.total()
                  ? fmt::format("{:.2f} a good part", cost.per_good_part)
                  : "",
              cost.not_counted.empty()
                  ? ""
                  : fmt::format("not counted: {}", fmt::join(cost.not_counted, ", "))}),
      made_of(
          {part("part filament", cost.part_filament), part("purge filament", cost.purge_filament),
           part("energy", cost.energy), part("machine", cost.machine), part("labour", cost.labour),
           part("failures", cost.failures), part("drying", cost.drying), part("wear", cost.wear)},
          cost.total()));
}

void write_clock(const Account& account, TextPage& page) {
  if (!account.clock)
    return;
  const Clock& clock = *account.clock;
  write_figure(page, "done", clock.done,
               joined({fmt::format("{} to {}", clock.done_early, clock.done_late),
                       clock.unattended_s ? fmt::format("{} of it with nobody there",
                                                        duration(*clock.unattended_s))
                                          : ""}),
               fmt::format("start {}, first layer {}", clock.start, clock.first_layer));
}

std::string counted_stops(const Account& account) {
  const Totals& totals = account.totals;
  return totals.manual_changes == 0 ? base::counted(totals.pauses, "pause")
         : totals.pauses == 0       ? base::counted(totals.manual_changes, "manual change")
                                    : base::counted(totals.pauses + totals.manual_changes, "stop");
}

/// "layer 6 at 2026-12-01 18:39 (18:38 to 18:40)"; without a start after so long.
std::string words_of(const Stop& stop) {
  if (stop.at.empty())
    return fmt::format("layer {} after {} ({} to {})", stop.layer, duration(stop.after.expected),
                       duration(stop.after.low), duration(stop.after.high));
  const std::size_t date = stop.at.find(' ') + 1;
  const auto of_day = [&](const std::string& at) {
    return at.compare(0, date, stop.at, 0, date) == 0 ? at.substr(date) : at;
  };
  return fmt::format("layer {} at {} ({} to {})", stop.layer, stop.at, of_day(stop.at_early),
                     of_day(stop.at_late));
}

/// When the print waits for a person.
void write_stops(const Account& account, TextPage& page) {
  constexpr std::size_t kStopsShown = 3;
  const std::uint64_t in_all = account.totals.pauses + account.totals.manual_changes;
  if (in_all == 0)
    return;
  std::vector<std::string> shown;
  for (std::size_t i = 0; i < std::min(kStopsShown, account.stops.size()); ++i)
    shown.push_back(words_of(account.stops[i]));
  if (in_all > shown.size() && !shown.empty())
    shown.emplace_back("...; --full lists them");
  std::string nobody;
  if (account.clock && account.clock->stops_unattended)
    nobody = *account.clock->stops_unattended == 0
                 ? "somebody is there at each"
                 : fmt::format("{} with nobody there", *account.clock->stops_unattended);
  std::string done;
  if (account.clock && !account.clock->done_attended.empty() &&
      account.clock->done_attended != account.clock->done)
    done = fmt::format("done {} if each waits for somebody", account.clock->done_attended);
  write_figure(page, "stops", counted_stops(account), joined({nobody, done}),
               account.stops.empty() ? "when they come is not known of a plate played otherwise"
                                     : fmt::format("{}", fmt::join(shown, ", ")));
}

/// "-39 min": what following the advice changes of one value; empty where it changes nothing.
std::string change_of(const Finding& finding, Aim aim, const Account& account) {
  const double change = -saved(finding, aim);
  std::string size;
  switch (aim) {
    case Aim::time:
      size = duration(std::abs(change));
      break;
    case Aim::money:
      size = fmt::format("{:.2f} {}", std::abs(change),
                         account.cost ? printable(account.cost->currency) : "");
      break;
    case Aim::grams:
      size = grams(std::abs(change));
      break;
    case Aim::energy:
      size = watt_hours(std::abs(change));
      break;
  }
  const bool is_nothing = size.find_first_of("123456789") == std::string::npos;
  return is_nothing ? "" : (change < 0.0 ? "-" : "+") + size;
}

void write_lever(const Finding& finding, const Account& account, Aim aim, TextPage& page) {
  const int indent = 2 + kTitleColumns + 2;
  std::vector<std::string> others;
  for (const Aim other : {Aim::money, Aim::time, Aim::grams, Aim::energy})
    if (other != aim)
      if (const std::string change = change_of(finding, other, account); !change.empty())
        others.push_back(change);
  const std::string change = change_of(finding, aim, account);
  page.hanging(
      fmt::format("  {}  ", page.styled(flush_right(change, kTitleColumns), Style::heading)),
      printable(finding.advice), indent, 2);
  const std::string also = others.empty() ? "" : fmt::format("{}: ", fmt::join(others, ", "));
  page.hanging(std::string(static_cast<std::size_t>(indent), ' '),
               (finding.tried ? also : "not tried, no figures: ") + printable(finding.message),
               indent, 1);
}

void write_levers(const Account& account, TextPage& page) {
  const Aim aim = page.options().aim.value_or(usual_aim(account));
  std::vector<const Finding*> shown;
  std::vector<std::string> minor;
  for (const Finding& finding : account.findings) {
    const bool is_minor = finding.severity == Severity::note && finding.tried &&
                          largest_share(finding, account) < kMinorShare;
    if (is_minor)
      minor.push_back(printable(finding.code));
    else
      shown.push_back(&finding);
  }
  if (account.findings.empty())
    return;
  page.heading(
      "What to change",
      fmt::format("ranked by {}; each tried alone in the model, against the plate as it is",
                  name_of(aim)));
  std::vector<std::string> more;
  for (std::size_t i = 0; i < shown.size(); ++i)
    if (i < kLeversShown)
      write_lever(*shown[i], account, aim, page);
    else
      more.push_back(printable(shown[i]->code));
  if (!more.empty())
    page.clipped(fmt::format("also: {} (--full says more)", fmt::join(more, ", ")), 2, 1);
  if (!minor.empty())
    page.clipped(
        fmt::format("worth less than 1 % of time, material or energy: {}", fmt::join(minor, ", ")),
        2, 1);
}

void write_left_out(const Account& account, TextPage& page) {
  std::uint64_t left_out = 0;
  std::uint64_t kinds = 0;
  const Diagnostic* first = nullptr;
  for (const Diagnostic& diagnostic : account.diagnostics) {
    kinds += diagnostic.severity == Severity::warning ? 1U : 0U;
    if (diagnostic.severity != Severity::error)
      continue;
    left_out += diagnostic.count;
    if (first == nullptr)
      first = &diagnostic;
  }
  if (left_out == 0 && account.unaccounted.empty() && kinds == 0)
    return;
  page.heading("Left out, and doubts", "--full lists them all");
  if (first != nullptr)
    page.clipped(
        fmt::format("{} could not be taken into the account; the first, line {}: {}",
                    base::counted(left_out, "line"), first->line, printable(first->message)),
        2, 1);
  if (!account.unaccounted.empty()) {
    std::vector<std::string> words;
    std::uint64_t times = 0;
    for (const UnaccountedWord& word : account.unaccounted) {
      times += word.count;
      if (words.size() < kWordsShown)
        words.push_back(printable(word.word));
    }
    const bool more = account.unaccounted.size() > kWordsShown;
    page.clipped(fmt::format("commands without a meaning, {} in all: {}{}", times,
                             fmt::join(words, ", "), more ? ", ..." : ""),
                 2, 1);
  }
  const auto warning =
      std::ranges::find(account.diagnostics, Severity::warning, &Diagnostic::severity);
  if (warning != account.diagnostics.end())
    page.clipped(
        fmt::format("{}: {}{}",
                    kinds == 1 ? "a warning" : fmt::format("{} warnings, the first", kinds),
                    warning->line > 0 ? fmt::format("line {}: ", warning->line) : "",
                    printable(warning->message)),
        2, 1);
}

}  // namespace

void write_verdict(const Account& account, TextPage& page) {
  const Verdict& verdict = account.verdict;
  const Style style = verdict.grade == Grade::ready  ? Style::heading
                      : verdict.grade == Grade::look ? Style::warning
                                                     : Style::error;
  std::vector<std::string> rest;
  std::string first;
  for (const VerdictReason& reason : verdict.reasons) {
    if (first.empty())
      first = printable(reason.text);
    else
      rest.push_back(printable(reason.text));
  }
  const std::string words = words_of(verdict.grade);
  page.hanging(page.styled(words, style) + (first.empty() ? "" : ": "), first, 2, 3,
               display_width(words) + 2);
  for (std::size_t i = 0; i < rest.size(); ++i) {
    if (i + 1 == kReasonsShown && rest.size() > kReasonsShown) {
      page.clipped(fmt::format("and {} more reasons", rest.size() - i), 2, 1);
      break;
    }
    page.clipped(rest[i], 2, 1);
  }
  page.clipped(
      fmt::format("{} on {}: {}, {}, {} in {} lines", printable(account.path),
                  printable(account.machine), base::counted(account.totals.layers, "layer"),
                  tools_of(account), data_size(account.bytes), account.lines),
      0, 1);
  if (!account.what_if.changes.empty())
    page.hanging("What if: ", account.what_if.changes, 2, 3);
}

void write_caution(TextPage& page) {
  page.heading("Note", "predicted from the machine's description, not measured");
  page.prose(
      "Never leave a hot machine alone. Power figures are hints: wiring follows the local "
      "electrical "
      "code and is a licensed electrician's work. Try every change on a small sample first.",
      2);
}

void write_summary(const Account& account, TextPage& page) {
  write_verdict(account, page);
  page.lines("\n");
  write_time(account, page);
  write_material(account, page);
  write_energy(account, page);
  write_cost(account, page);
  write_clock(account, page);
  write_stops(account, page);
  write_levers(account, page);
  write_left_out(account, page);
  write_caution(page);
}

}  // namespace platetally::report
