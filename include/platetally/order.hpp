/// @file
/// The order of the tools in every layer: what it costs as it is, and the cheapest one.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "platetally/machine.hpp"
#include "platetally/made_from.hpp"
#include "platetally/material.hpp"
#include "platetally/page_stamp.hpp"
#include "platetally/range.hpp"

namespace platetally {

struct Account;

/// What an order is to be least in.
enum class OrderObjective : std::uint8_t { grams, seconds, money, swaps };

/// The order in which the machine or the plate goes through its heads, whatever is in them.
enum class HeadOrder : std::uint8_t { free, ascending, alternating, cyclic };

/// What the best order is to be best in, and what it must keep to.
struct OrderOptions {
  OrderObjective objective = OrderObjective::grams;  ///< what is to be least
  std::optional<int> first;                          ///< in hand before the plate
  std::optional<int> kept;                           ///< wanted in hand behind it
  std::vector<std::pair<int, int>> precedence;  ///< .first before .second in every layer with both
  HeadOrder head_order = HeadOrder::free;       ///< not free: which colour belongs in which head
  double work = 2e9;                            ///< steps that the exact search may take
  double money_per_g = 0.0;                     ///< for OrderObjective::money
  double money_per_s = 0.0;                     ///< the same
  std::vector<Material> materials;              ///< as in AnalyzeOptions
};

/// One change from a tool to another, on this plate and machine.
struct OrderPair {
  int from = 0;                           ///< tool
  int to = 0;                             ///< tool
  SwapKind kind = SwapKind::head_change;  ///< of change, on this machine
  std::uint64_t count = 0;                ///< in the file
  Range swap_s;                           ///< the machine's own seconds, each
  double purged_g = 0.0;                  ///< in the file, all of them
  std::optional<double> needed_mm3;       ///< each; absent while it is not known
  std::optional<double> needed_g;         ///< each
  double over_purge_g = 0.0;  ///< purged less needed, all of them; 0 where need is not known
  double plan_g = 0.0;        ///< what the plans below count, each
  double plan_s = 0.0;        ///< the same, purging included
};

/// What one order costs.
struct OrderOutcome {
  std::string name;         ///< "actual", "ascending", "carry-over", "best"
  std::uint64_t swaps = 0;  ///< over the plate
  double purge_g = 0.0;     ///< over the plate
  double time_s = 0.0;      ///< of changing and purging
  double money = 0.0;       ///< of purge and time, at the options' prices
  double cost = 0.0;        ///< of the objective
};

/// Which head each colour belongs in, where heads are gone through in a fixed order.
struct HeadAssignment {
  std::vector<int> tool_to_head;  ///< by tool number in the file: the head number it belongs in
  double cost = 0.0;              ///< of the assignment, in the objective's unit
  double cost_as_is = 0.0;        ///< with the heads as the file has them
  bool proven = false;            ///< no assignment is cheaper
};

/// The order of the tools as it is, and the best one with its proof.
struct OrderReport {
  std::string path;                                  ///< of the plate
  std::string machine;                               ///< its name
  OrderObjective objective = OrderObjective::grams;  ///< what was to be least
  std::string unit;                      ///< of the objective: "g", "s", "", or empty for swaps
  std::vector<std::string> colours;      ///< by tool
  std::vector<OrderPair> pairs;          ///< of the tools in use
  std::vector<OrderOutcome> outcomes;    ///< as it is first, the best last
  bool optimal = false;                  ///< the best is proven
  double bound = 0.0;                    ///< no order costs less
  double gap = 0.0;                      ///< of the best one
  std::uint64_t left_out = 0;            ///< layers that keep their order: not understood
  std::string proof;                     ///< a plain line
  std::vector<std::string> plan;         ///< "layers 1-40: 0 2 1 | 1 2 0"
  std::vector<std::vector<int>> orders;  ///< the best one, layer by layer as they are printed
  std::optional<HeadAssignment> heads;   ///< with a head_order other than free
  bool by_need = false;  ///< changes are counted by what they need, not by what the plate purges
  std::vector<std::string> assumptions;  ///< a sentence each
  MadeFrom made_from;                    ///< plate, machine and options
};

/// Plans the order of the tools of a plate that was tallied on that machine. Throws
/// std::invalid_argument, with one line, where an option or the account names a tool that the
/// machine lacks.
OrderReport plan_order(const Account& account, const Machine& machine,
                       const OrderOptions& options = {});

/// The order that is best in grams where it is known what pairs need, else in the number of swaps:
/// then pairs differ by accident only, and nothing else can be planned. The objective of the
/// options is not asked for.
OrderReport plan_usual_order(const Account& account, const Machine& machine,
                             OrderOptions options = {});

/// For people. Ends with a newline.
std::string to_text(const OrderReport& report);
/// Schema "platetally.order/1".
std::string to_json(const OrderReport& report);
/// One self-contained page: nothing fetched; names are escaped.
std::string to_html(const OrderReport& report, const PageStamp& stamp = {});

}  // namespace platetally
