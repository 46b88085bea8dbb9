// Machines side by side as a page: which one, and by how much.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <functional>

#include "output/report/compare_rows.hpp"
#include "output/report/labels.hpp"
#include "output/report/page.hpp"
#include "output/report/page_parts.hpp"
#include "output/report/page_table.hpp"
#include "output/report/plate_figures.hpp"
#include "output/report/plate_picture.hpp"
#include "output/report/strings.hpp"
#include "platetally/compare.hpp"

namespace platetally {

namespace {

using report::duration;
using report::Figure;
using report::FigurePart;
using report::PageTable;
using report::Row;
using report::significant;
using report::TableRow;
using report::with_unit;
using report::words_column;

using Amount = std::function<double(const Account&)>;

std::vector<const ComparedMachine*> able(const Comparison& comparison) {
  std::vector<const ComparedMachine*> machines;
  for (const ComparedMachine& machine : comparison.machines)
    if (!machine.cannot())
      machines.push_back(&machine);
  return machines;
}

bool has_cost(const Comparison& comparison) {
  return std::ranges::all_of(
      comparison.machines, [](const ComparedMachine& one) { return one.account.cost.has_value(); });
}

std::string money(double amount, const Account& account) {
  return fmt::format("{:.2f} {}", amount, account.cost ? account.cost->currency : "");
}

/// The least of the machines that can print the plate, and what the next one takes more.
struct Best {
  const ComparedMachine* machine = nullptr;
  const ComparedMachine* next = nullptr;
  double by = 0.0;
};
Best best_of(const Comparison& comparison, const Amount& amount) {
  std::vector<const ComparedMachine*> machines = able(comparison);
  std::ranges::stable_sort(machines, std::ranges::less{},
                           [&](const ComparedMachine* one) { return amount(one->account); });
  Best best;
  if (machines.empty())
    return best;
  best.machine = machines[0];
  if (machines.size() > 1) {
    best.next = machines[1];
    best.by = amount(machines[1]->account) - amount(machines[0]->account);
  }
  return best;
}

double seconds(const Account& account) {
  return account.totals.time.expected;
}
double cost(const Account& account) {
  return account.cost ? account.cost->total() : 0.0;
}

std::string words_of_best(const Comparison& comparison) {
  const Best quick = best_of(comparison, seconds);
  if (quick.machine == nullptr)
    return "None of the machines can print it as it is";
  if (quick.next == nullptr)
    return fmt::format("Only {} can print it as it is", quick.machine->name);
  const std::string quicker = fmt::format("{} quicker", duration(quick.by));
  if (!has_cost(comparison))
    return fmt::format("{}: {} than {}", quick.machine->name, quicker, quick.next->name);
  const Best cheap = best_of(comparison, cost);
  const std::string cheaper = fmt::format("{} cheaper", money(cheap.by, cheap.machine->account));
  if (cheap.machine == quick.machine)
    return fmt::format("{}: {} and {} than {}", quick.machine->name, quicker, cheaper,
                       quick.next->name);
  return fmt::format("{} is {}, {} is {}", quick.machine->name, quicker, cheap.machine->name,
                     cheaper);
}

report::PageVerdict verdict_of_machines(const Comparison& comparison) {
  report::PageVerdict verdict;
  verdict.words = words_of_best(comparison);
  verdict.grade = able(comparison).empty() ? Grade::cannot : Grade::ready;
  for (const ComparedMachine& machine : comparison.machines) {
    const Verdict& own = machine.account.verdict;
    if (own.grade == Grade::ready)
      continue;
    if (verdict.grade == Grade::ready)
      verdict.grade = Grade::look;
    const std::string why = own.reasons.empty() ? "" : own.reasons.front().text;
    verdict.reasons.push_back(fmt::format(
        "{} {}{}{}", machine.name, own.grade == Grade::cannot ? "cannot print it" : "needs a look",
        why.empty() ? "" : ": ", why));
  }
  if (verdict.reasons.empty())
    verdict.reasons.emplace_back("each of them can print the plate as it is");
  return verdict;
}

/// One quantity on every machine; those that cannot print it last and said so.
Figure side_by_side(const Comparison& comparison, std::string name, const Amount& amount,
                    const std::function<std::string(const Account&)>& text) {
  const Best best = best_of(comparison, amount);
  Figure figure{std::move(name), "\xE2\x80\x93", "", {}, {}, {}, ""};
  if (best.machine != nullptr) {
    figure.value = text(best.machine->account);
    figure.aside = fmt::format("on {}", best.machine->name);
  }
  for (std::size_t i = 0; i < comparison.machines.size(); ++i) {
    const ComparedMachine& machine = comparison.machines[i];
    figure.beside.push_back(
        {machine.cannot() ? fmt::format("{} (cannot print it)", machine.name) : machine.name,
         amount(machine.account), text(machine.account), report::hue_of_index(i)});
  }
  return figure;
}

std::vector<Figure> figures_of(const Comparison& comparison) {
  std::vector<Figure> figures{
      side_by_side(comparison, "Time", seconds,
                   [](const Account& one) { return duration(seconds(one)); }),
      side_by_side(
          comparison, "Purge", [](const Account& one) { return one.totals.purge_g; },
          [](const Account& one) { return with_unit(one.totals.purge_g, "g"); }),
      side_by_side(
          comparison, "Energy at the wall", [](const Account& one) { return one.totals.energy_wh; },
          [](const Account& one) { return with_unit(one.totals.energy_wh, "Wh"); })};
  if (has_cost(comparison))
    figures.push_back(side_by_side(comparison, "Cost", cost,
                                   [](const Account& one) { return money(cost(one), one); }));
  else
    figures.push_back(side_by_side(
        comparison, "Swaps",
        [](const Account& one) { return static_cast<double>(one.totals.swaps); },
        [](const Account& one) { return fmt::format("{}", one.totals.swaps); }));
  return figures;
}

std::vector<report::Lever> turning_points(const Comparison& comparison) {
  std::vector<report::Lever> levers;
  const auto add = [&](const BreakEven& even, const std::optional<double>& value,
                       std::string advice, std::string chip) {
    if (!value)
      return;
    report::Lever lever;
    lever.advice = std::move(advice);
    lever.why =
        fmt::format("then {} and {} are even", comparison.machines.front().name, even.machine);
    lever.facts.push_back(std::move(chip));
    levers.push_back(std::move(lever));
  };
  for (const BreakEven& even : comparison.break_even) {
    add(even, even.swap_s, fmt::format("a swap on {} that takes another time", even.machine),
        even.swap_s ? fmt::format("{} a swap: equal time", duration(*even.swap_s)) : "");
    add(even, even.energy_per_kwh, "another price of energy",
        even.energy_per_kwh ? fmt::format("{:.2f} a kWh: equal cost", *even.energy_per_kwh) : "");
    add(even, even.copies, "more copies on the plate",
        even.copies ? fmt::format("{} copies: equal cost", significant(*even.copies)) : "");
  }
  return levers;
}

std::vector<Figure> make_up(const Comparison& comparison) {
  std::vector<Figure> figures;
  for (const ComparedMachine& machine : comparison.machines) {
    const Totals& totals = machine.account.totals;
    Figure figure{machine.name, duration(totals.time.expected), "", {}, {}, {}, ""};
    figure.band = report::FigureBand{
        totals.time.low, totals.time.expected, totals.time.high,
        fmt::format("{} to {}", duration(totals.time.low), duration(totals.time.high))};
    figure.parts = report::parts_of_time(totals.time_by);
    figures.push_back(std::move(figure));
  }
  return figures;
}

}  // namespace

void report::add_comparison_table(report::Page& page, const Comparison& comparison) {
  PageTable table;
  table.caption = "machines side by side";
  table.columns = {words_column("machine"),
                   words_column("verdict"),
                   {"time", "", false, true},
                   {"of it swaps"},
                   {"swaps"},
                   {"part", "g"},
                   {"purge", "g", false, true},
                   {"energy", "Wh", false, true},
                   {"mean power", "W"},
                   {"bed zones"}};
  const bool costs = has_cost(comparison);
  if (costs)
    table.columns.push_back(
        {"cost", comparison.machines.front().account.cost->currency, false, true});
  for (const ComparedMachine& machine : comparison.machines) {
    const Account& account = machine.account;
    const Totals& totals = account.totals;
    TableRow row;
    row.cells = {{machine.name},
                 {report::words_of(account.verdict.grade)},
                 {duration(totals.time.expected),
                  totals.time.expected,
                  {},
                  fmt::format("{} to {}", duration(totals.time.low), duration(totals.time.high))},
                 {duration(totals.time_by.swap_s)},
                 {fmt::format("{}", totals.swaps)},
                 {significant(totals.part_g)},
                 {significant(totals.purge_g), totals.purge_g},
                 {significant(totals.energy_wh), totals.energy_wh},
                 {significant(totals.mean_power_w)},
                 {fmt::format("{} of {}", totals.bed_zones_used, account.bed_zones.size())}};
    if (costs)
      row.cells.push_back({fmt::format("{:.2f}", cost(account)), cost(account)});
    if (machine.cannot())
      row.mark = "cannot print it: its figures are no offer";
    table.rows.push_back(std::move(row));
  }
  page.table(table);
  page.begin_fold("what is measured from the file, and what is assumed");
  for (const ComparedMachine& machine : comparison.machines) {
    page.subheading(machine.name);
    std::vector<std::string> lines;
    for (const VerdictReason& reason : machine.account.verdict.reasons)
      lines.push_back(reason.text);
    for (const std::string& misfit : machine.misfits)
      lines.push_back("does not fit: " + misfit);
    for (const std::string& line : machine.measured)
      lines.push_back("measured: " + line);
    for (const std::string& line : machine.assumed)
      lines.push_back("assumed: " + line);
    page.list(lines);
  }
  page.end_fold();
}

std::string to_html(const Comparison& comparison, const PageStamp& stamp) {
  std::vector<std::string> facts;
  for (const ComparedMachine& machine : comparison.machines)
    facts.push_back(machine.name);
  report::Page page({report::short_name(comparison.path), "One plate, several machines",
                     std::move(facts), stamp});
  page.verdict(verdict_of_machines(comparison));
  page.figures(figures_of(comparison));
  page.begin_row(Row::wide_slim);
  page.begin_card("What the time goes into");
  page.figures(make_up(comparison));
  page.end_card();
  page.begin_card("What would turn it", "", "levers");
  page.levers(turning_points(comparison), "Nothing within the figures given.");
  page.end_card();
  page.end_row();
  page.begin_row(Row::one);
  page.begin_card("Machines side by side", "the first is the one that the plate was sliced for");
  report::add_comparison_table(page, comparison);
  page.end_card();
  page.end_row();
  std::vector<report::PagePlate> plates;
  for (const ComparedMachine& machine : comparison.machines)
    if (!report::drawn_plate(machine.account).empty())
      plates.push_back({machine.name, &machine.account, report::words_of_plate(machine.account)});
  if (!plates.empty()) {
    page.begin_row(Row::one);
    page.begin_card("On the beds", "one scale for all");
    page.plates(plates);
    page.end_card();
    page.end_row();
  }
  return page.take();
}

}  // namespace platetally
