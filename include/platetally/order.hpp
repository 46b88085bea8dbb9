// The order of the tools in every layer: what it costs as it is, and the cheapest one.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "platetally/account.hpp"
#include "platetally/machine.hpp"
#include "platetally/material.hpp"
#include "platetally/range.hpp"

namespace platetally {

enum class OrderObjective : std::uint8_t { grams, seconds, money, swaps };

/// The order in which the machine or the plate goes through its heads, whatever is in them.
enum class HeadOrder : std::uint8_t { free, ascending, alternating, cyclic };

struct OrderOptions {
  OrderObjective objective = OrderObjective::grams;
  std::optional<int> first;                     ///< in hand before the plate
  std::optional<int> kept;                      ///< wanted in hand behind it
  std::vector<std::pair<int, int>> precedence;  ///< .first before .second in every layer with both
  HeadOrder head_order = HeadOrder::free;       ///< not free: which colour belongs in which head
  double work = 2e9;                            ///< steps that the exact search may take
  double money_per_g = 0.0;                     ///< for OrderObjective::money
  double money_per_s = 0.0;
  std::vector<Material> materials;  ///< as in AnalyzeOptions
};

/// One change from a tool to another, on this plate and machine.
struct OrderPair {
  int from = 0;
  int to = 0;
  SwapKind kind = SwapKind::head_change;
  std::uint64_t count = 0;           ///< in the file
  Range swap_s;                      ///< the machine's own seconds, each
  double purged_g = 0.0;             ///< in the file, all of them
  std::optional<double> needed_mm3;  ///< each; absent while it is not known
  std::optional<double> needed_g;    ///< each
  double over_purge_g = 0.0;         ///< purged less needed, all of them; 0 where need is not known
  double plan_g = 0.0;               ///< what the plans below count, each
  double plan_s = 0.0;               ///< the same, purging included
};

/// What one order costs.
struct OrderOutcome {
  std::string name;  ///< "actual", "ascending", "carry-over", "best"
  std::uint64_t swaps = 0;
  double purge_g = 0.0;
  double time_s = 0.0;
  double money = 0.0;
  double cost = 0.0;  ///< of the objective
};

struct HeadAssignment {
  std::vector<int> tool_to_head;  ///< by tool number in the file: the head number it belongs in
  double cost = 0.0;
  double cost_as_is = 0.0;
  bool proven = false;
};

struct OrderReport {
  std::string path;
  std::string machine;
  OrderObjective objective = OrderObjective::grams;
  std::string unit;                  ///< of the objective: "g", "s", "", or empty for swaps
  std::vector<std::string> colours;  ///< by tool
  std::vector<OrderPair> pairs;      ///< of the tools in use
  std::vector<OrderOutcome> outcomes;
  bool optimal = false;
  double bound = 0.0;                    ///< no order costs less
  double gap = 0.0;                      ///< of the best one
  std::string proof;                     ///< a plain line
  std::vector<std::string> plan;         ///< "layers 1-40: 0 2 1 | 1 2 0"
  std::vector<std::vector<int>> orders;  ///< the best one, layer by layer as they are printed
  std::optional<HeadAssignment> heads;
  bool by_need = false;  ///< changes are counted by what they need, not by what the plate purges
  std::vector<std::string> assumptions;
};

/// Plans the order of the tools of a plate that was tallied on that machine. Throws
/// std::invalid_argument, with one line, where an option names a tool that the machine lacks.
OrderReport plan_order(const Account& account, const Machine& machine,
                       const OrderOptions& options = {});

/// For people, and as JSON (schema "platetally.order/1").
std::string to_text(const OrderReport& report);
std::string to_json(const OrderReport& report);
/// One self-contained page: nothing fetched, no script; names are escaped.
std::string to_html(const OrderReport& report);

}  // namespace platetally
