// The order of a plate's tools: costs of every change, orders side by side, the best one proven.
//
// What a change costs in grams: its need (measured, or by the colours) where that is known of every
// pair of tools in use and the machine purges at all; else what the plate itself purges for a
// change to that tool. In seconds: the machine's own change, and purging at the pace of the plate.
#include "platetally/order.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <numeric>
#include <set>
#include <stdexcept>

#include "account/findings/order_layers.hpp"
#include "account/ledgers/by_tool.hpp"
#include "base/counted.hpp"
#include "base/units.hpp"
#include "material/ordering/assignment.hpp"
#include "material/ordering/exact_order.hpp"
#include "material/ordering/plan.hpp"
#include "material/ordering/strategies.hpp"
#include "material/swaps/pair_need.hpp"
#include "motion/timeline/durations.hpp"
#include "platetally/account.hpp"

namespace platetally {

namespace {

constexpr double kRounding = 1e-9;

class Planner {
 public:
  Planner(const Account& account, const Machine& machine, const OrderOptions& options)
      : account_(account), machine_(machine), options_(options), tools_(machine.tools.size()) {
    require_tools();
    find_layers();
    find_pairs();
  }

  OrderReport plan();

 private:
  void require_tools() const;
  void find_layers();
  void find_pairs();
  void price_pairs();
  double g_per_mm3(std::size_t tool) const;
  OrderPair& pair(int from, int to) { return pairs_[index(from, to)]; }
  std::size_t index(int from, int to) const {
    return static_cast<std::size_t>(from) * tools_ + static_cast<std::size_t>(to);
  }
  double cost_of(const OrderPair& pair) const;
  ordering::Problem problem() const;
  OrderOutcome outcome(const char* name, const ordering::Orders& orders) const;
  OrderOutcome actual() const;
  void add_money(OrderOutcome& outcome) const;
  std::string unit() const;
  std::optional<HeadAssignment> assign_heads(const ordering::Problem& problem) const;
  std::string proof_of(const ordering::Solution& best, const OrderReport& report) const;
  bool actual_is_allowed() const;
  void keep_actual_if_cheaper(OrderReport& report, const ordering::Problem& asked) const;
  ordering::Limits limits() const { return {.exact_tools = 16, .work = options_.work}; }
  std::string understood() const;

  const Account& account_;
  const Machine& machine_;
  const OrderOptions& options_;
  const std::size_t tools_;
  OrderLayers layers_;
  std::vector<int> used_;
  std::vector<OrderPair> pairs_;
  std::vector<std::string> assumptions_;
  bool by_need_ = false;
};

void Planner::require_tools() const {
  const auto require = [this](int tool, const char* what) {
    if (tool < 0 || static_cast<std::size_t>(tool) >= tools_)
      throw std::invalid_argument(fmt::format("{}: machine '{}' has no tool {}; its last is {}",
                                              what, machine_.name, tool, tools_ - 1));
  };
  if (options_.first)
    require(*options_.first, "the first tool");
  if (options_.kept)
    require(*options_.kept, "the tool to keep");
  for (const auto& [before, after] : options_.precedence) {
    require(before, "precedence");
    require(after, "precedence");
  }
}

void Planner::find_layers() {
  layers_ = order_layers(account_, tools_);
  if (layers_.by_height && !layers_.layers.empty())
    assumptions_.push_back(
        "layers are taken by height, because the order in which they are printed is not known");
  else if (layers_.left_out > 0)
    assumptions_.push_back(fmt::format(
        "{} that the plate comes back to, or in which a tool lays several times, {} as {} now",
        base::counted(layers_.left_out, "layer"),
        layers_.left_out == 1 ? "keeps its order" : "keep their orders",
        layers_.left_out == 1 ? "it has it" : "they have them"));
  std::set<int> used;
  for (const ordering::Tools& tools : layers_.layers)
    used.insert(tools.begin(), tools.end());
  for (const SwapPairAccount& swap : account_.swap_pairs)
    for (const int tool : {swap.from, swap.to})
      used.insert(tool);
  for (const std::optional<int>& tool : {options_.first, options_.kept})
    if (tool)
      used.insert(*tool);
  used_.assign(used.begin(), used.end());
}

double Planner::g_per_mm3(std::size_t tool) const {
  const std::string& name = machine_.tools[tool].material;
  const Material* material = ledgers::find_material(name, options_.materials);
  if (material == nullptr)
    throw std::invalid_argument(
        fmt::format("tool {} is fed '{}', which is no known material", tool, name));
  return base::g_from_mm3(1.0, material->density_g_cm3);
}

void Planner::find_pairs() {
  const auto needs_mm3 =
      swaps::pair_needs_mm3(machine_, ledgers::colours_by_tool(account_, machine_));
  pairs_.resize(tools_ * tools_);
  for (const int from : used_)
    for (const int to : used_) {
      if (from == to)
        continue;
      OrderPair& row = pair(from, to);
      row.from = from;
      row.to = to;
      row.kind = timeline::Durations::swap_kind(machine_, from, to);
      row.swap_s = timeline::Durations::swap_s(machine_, from, to);
      row.swap_s += timeline::Durations::long_swap_s(machine_);
      row.needed_mm3 = needs_mm3[index(from, to)];
      if (row.needed_mm3)
        row.needed_g = *row.needed_mm3 * g_per_mm3(static_cast<std::size_t>(to));
    }
  for (const SwapPairAccount& swap : account_.swap_pairs) {
    OrderPair& row = pair(swap.from, swap.to);
    row.count = swap.count;
    row.purged_g = swap.purge_g;
    if (row.needed_g)
      row.over_purge_g = row.purged_g - static_cast<double>(row.count) * *row.needed_g;
  }
  price_pairs();
}

void Planner::price_pairs() {
  double swaps_s = 0.0;
  double purged_g = 0.0;
  double needed_g = 0.0;
  double count = 0.0;
  bool known = true;
  for (const OrderPair& row : pairs_) {
    if (row.from == row.to)
      continue;
    swaps_s += static_cast<double>(row.count) * row.swap_s.expected;
    purged_g += row.purged_g;
    count += static_cast<double>(row.count);
    known = known && row.needed_g.has_value();
    needed_g += row.needed_g.value_or(0.0);
  }
  const bool by_need = by_need_ = known && needed_g > 0.0;
  const double mean_g = count > 0.0 ? purged_g / count : 0.0;
  const double purge_s = std::max(0.0, account_.totals.time_by.swap_s - swaps_s);
  const double s_per_g = purged_g > 0.0 ? purge_s / purged_g : 0.0;
  for (OrderPair& row : pairs_) {
    if (row.from == row.to)
      continue;
    const double as_purged_g =
        row.count > 0 ? row.purged_g / static_cast<double>(row.count) : mean_g;
    row.plan_g = by_need ? *row.needed_g : as_purged_g;
    row.plan_s = row.swap_s.expected + s_per_g * row.plan_g;
  }
  assumptions_.push_back(
      by_need
          ? "every change purges what its pair needs; the actual order too is counted that way"
          : "every change purges what the plate purges for that pair, or its mean where the "
            "pair does not occur; what the pairs need is not known (--colours, or swap_pairs in "
            "the machine file)");
  if (s_per_g > 0.0)
    assumptions_.push_back(fmt::format("purging takes {:.1f} s a gram, as on this plate", s_per_g));
}

double Planner::cost_of(const OrderPair& pair) const {
  switch (options_.objective) {
    case OrderObjective::grams:
      return pair.plan_g;
    case OrderObjective::seconds:
      return pair.plan_s;
    case OrderObjective::money:
      return pair.plan_g * options_.money_per_g + pair.plan_s * options_.money_per_s;
    case OrderObjective::swaps:
      break;
  }
  return 1.0;
}

ordering::Problem Planner::problem() const {
  ordering::Problem problem;
  problem.tools = tools_;
  problem.layers = layers_.layers;
  problem.first = options_.first;
  problem.kept = options_.kept;
  for (const auto& [before, after] : options_.precedence)
    problem.precedence.push_back({before, after});
  for (const OrderPair& pair : pairs_)
    problem.cost.push_back(pair.from == pair.to ? 0.0 : cost_of(pair));
  return problem;
}

void Planner::add_money(OrderOutcome& outcome) const {
  outcome.money = outcome.purge_g * options_.money_per_g + outcome.time_s * options_.money_per_s;
}

OrderOutcome Planner::outcome(const char* name, const ordering::Orders& orders) const {
  OrderOutcome out;
  out.name = name;
  std::optional<int> in_hand = options_.first;
  const auto change_to = [&](int tool) {
    if (in_hand && *in_hand != tool) {
      const OrderPair& change = pairs_[index(*in_hand, tool)];
      ++out.swaps;
      out.purge_g += change.plan_g;
      out.time_s += change.plan_s;
      out.cost += cost_of(change);
    }
    in_hand = tool;
  };
  for (const ordering::Tools& order : orders)
    for (const int tool : order)
      change_to(tool);
  if (options_.kept)
    change_to(*options_.kept);
  add_money(out);
  return out;
}

/// As the file swaps, whatever the layers, and the changes that the first and the kept tool ask
/// for.
OrderOutcome Planner::actual() const {
  OrderOutcome out;
  out.name = "actual";
  const auto change = [&](const OrderPair& row, std::uint64_t times) {
    const auto count = static_cast<double>(times);
    out.swaps += times;
    out.purge_g += count * row.plan_g;
    out.time_s += count * row.plan_s;
    out.cost += times > 0 ? count * cost_of(row) : 0.0;
  };
  for (const OrderPair& row : pairs_)
    change(row, row.count);
  const auto laid = [](const ordering::Tools& layer) { return !layer.empty(); };
  const ordering::Orders& layers = layers_.layers;
  const auto first = std::ranges::find_if(layers, laid);
  if (first != layers.end()) {
    const auto last = std::find_if(layers.rbegin(), layers.rend(), laid);
    if (options_.first && *options_.first != first->front())
      change(pairs_[index(*options_.first, first->front())], 1);
    if (options_.kept && *options_.kept != last->back())
      change(pairs_[index(last->back(), *options_.kept)], 1);
  }
  add_money(out);
  return out;
}

std::string Planner::unit() const {
  switch (options_.objective) {
    case OrderObjective::grams:
      return "g";
    case OrderObjective::seconds:
      return "s";
    case OrderObjective::money:
      return "money";
    case OrderObjective::swaps:
      break;
  }
  return "swaps";
}

std::optional<HeadAssignment> Planner::assign_heads(const ordering::Problem& problem) const {
  if (options_.head_order == HeadOrder::free)
    return std::nullopt;
  const auto order = options_.head_order == HeadOrder::ascending ? ordering::FixedOrder::ascending
                     : options_.head_order == HeadOrder::alternating
                         ? ordering::FixedOrder::alternating
                         : ordering::FixedOrder::cyclic;
  const auto heads = ordering::best_heads(problem, order);
  if (!heads)
    return std::nullopt;
  HeadAssignment assignment;
  assignment.tool_to_head = heads->head_of;
  assignment.cost = heads->cost;
  assignment.proven = heads->proven;
  std::vector<int> as_is(problem.tools);
  std::iota(as_is.begin(), as_is.end(), 0);
  assignment.cost_as_is =
      ordering::order_cost(problem, ordering::fixed_orders(problem, order, as_is));
  return assignment;
}

/// Where layers keep their order because more is not understood, nothing is optimal.
std::string Planner::understood() const {
  return fmt::format("best of what was understood, {} left out",
                     base::counted(layers_.left_out, "layer"));
}

std::string Planner::proof_of(const ordering::Solution& best, const OrderReport& report) const {
  const std::string unit = report.unit.empty() ? "" : " " + report.unit;
  return layers_.left_out == 0 ? ordering::text_of(best, unit)
                               : fmt::format("{}: {:.6g}{}", understood(), best.cost, unit);
}

/// Whether the orders as they are keep to what was asked for.
bool Planner::actual_is_allowed() const {
  const auto keeps = [this](const ordering::Tools& order) {
    return std::ranges::all_of(options_.precedence, [&](const std::pair<int, int>& pair) {
      const auto before = std::ranges::find(order, pair.first);
      const auto after = std::ranges::find(order, pair.second);
      return before == order.end() || after == order.end() || before < after;
    });
  };
  return std::ranges::all_of(layers_.layers, keeps);
}

/// The plan never costs more than what is there. A plate may go through a tool that makes a detour
/// cheaper than the direct change, or swap without laying anything; then no plan of direct changes
/// bounds what it costs, and the bound is that of plans with detours.
void Planner::keep_actual_if_cheaper(OrderReport& report, const ordering::Problem& asked) const {
  const OrderOutcome& actual = report.outcomes.front();
  OrderOutcome& best = report.outcomes.back();
  if (!actual_is_allowed() || best.cost <= actual.cost)
    return;
  const double planned = best.cost;
  best = actual;
  best.name = "best";
  report.orders = by_visit(layers_, layers_.layers);
  if (best.cost >= planned * (1.0 - kRounding)) {  // the same, added up in another order
    report.bound = std::min(report.bound, best.cost);
    return;
  }
  const bool detours = best.cost < report.bound * (1.0 - kRounding);
  if (detours)
    report.bound = ordering::best_order(ordering::with_detours(asked, used_), limits()).proof.bound;
  report.bound = std::min(report.bound, best.cost);
  report.gap = best.cost > 0.0 ? 1.0 - report.bound / best.cost : 0.0;
  report.optimal = report.gap <= kRounding && layers_.left_out == 0;
  const std::string unit = report.unit.empty() ? "" : " " + report.unit;
  report.proof =
      fmt::format("the order as it is{}: {:.6g}{}; no order costs less than {:.6g}{}",
                  detours ? ", through other tools where that costs less than a direct change" : "",
                  best.cost, unit, report.bound, unit);
  if (layers_.left_out > 0)
    report.proof = fmt::format("{}, {}", understood(), report.proof);
}

OrderReport Planner::plan() {
  const ordering::Problem asked = problem();
  if (const std::string fault = ordering::fault_of(asked); !fault.empty())
    throw std::invalid_argument(fault);
  OrderReport report;
  report.path = account_.path;
  report.machine = account_.machine;
  report.objective = options_.objective;
  report.unit = unit();
  for (const ToolAccount& tool : account_.tools)
    report.colours.push_back(tool.colour);
  for (const OrderPair& row : pairs_)
    if (row.from != row.to)
      report.pairs.push_back(row);
  const ordering::Solution best = ordering::best_order(asked, limits());
  report.outcomes = {actual(), outcome("ascending", ordering::ascending_order(asked)),
                     outcome("carry-over", ordering::carry_over_order(asked)),
                     outcome("best", best.orders)};
  report.orders = by_visit(layers_, best.orders);
  report.bound = best.proof.bound;
  report.gap = best.proof.gap;
  report.left_out = layers_.left_out;
  report.optimal = best.proof.optimal && layers_.left_out == 0;
  report.proof = proof_of(best, report);
  keep_actual_if_cheaper(report, asked);
  for (const ordering::LayerRun& run : ordering::compact_plan(report.orders))
    report.plan.push_back(ordering::text_of(run));
  report.heads = assign_heads(asked);
  report.assumptions = assumptions_;
  report.by_need = by_need_;
  return report;
}

void note_options(const OrderOptions& options, MadeFrom& made) {
  constexpr const char* kObjectives[] = {"grams", "seconds", "money", "swaps"};
  constexpr const char* kHeadOrders[] = {"free", "ascending", "alternating", "cyclic"};
  const OrderOptions usual;
  made.set("objective", kObjectives[static_cast<std::size_t>(options.objective)]);
  if (options.first)
    made.set("first", fmt::format("{}", *options.first));
  if (options.kept)
    made.set("kept", fmt::format("{}", *options.kept));
  std::vector<std::string> precedence;
  for (const auto& [before, after] : options.precedence)
    precedence.push_back(fmt::format("{}<{}", before, after));
  if (!precedence.empty())
    made.set("precedence", fmt::format("{}", fmt::join(precedence, ",")));
  if (options.head_order != usual.head_order)
    made.set("head_order", kHeadOrders[static_cast<std::size_t>(options.head_order)]);
  if (options.work != usual.work)
    made.set("work", fmt::format("{}", options.work));
  if (options.money_per_g != 0.0)
    made.set("money_per_g", fmt::format("{}", options.money_per_g));
  if (options.money_per_s != 0.0)
    made.set("money_per_s", fmt::format("{}", options.money_per_s));
  if (!options.materials.empty())
    made.set("materials", materials_hash(options.materials));
}

}  // namespace

OrderReport plan_order(const Account& account, const Machine& machine,
                       const OrderOptions& options) {
  const Machine fed = filaments_by_hand(machine);
  for (const ToolAccount& tool : account.tools)
    if (static_cast<std::size_t>(tool.tool) >= fed.tools.size())
      throw std::invalid_argument(
          fmt::format("the account is not of '{}': it has tool {}, the machine has {}",
                      machine.name, tool.tool, fed.tools.size()));
  OrderReport report = Planner(account, fed, options).plan();
  report.made_from = account.made_from;
  note_options(options, report.made_from);
  return report;
}

OrderReport plan_usual_order(const Account& account, const Machine& machine, OrderOptions options) {
  options.objective = OrderObjective::grams;
  OrderReport report = plan_order(account, machine, options);
  if (report.by_need)
    return report;
  options.objective = OrderObjective::swaps;
  return plan_order(account, machine, options);
}

}  // namespace platetally
