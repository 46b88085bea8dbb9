/// @file
/// The same plate on other machines.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "platetally/account.hpp"
#include "platetally/machine.hpp"
#include "platetally/options.hpp"
#include "platetally/page_stamp.hpp"
#include "platetally/prices.hpp"

namespace platetally {

/// What goes with a comparison.
struct CompareOptions {
  AnalyzeOptions analyze;        ///< for each machine
  std::optional<Prices> prices;  ///< absent: no money
  int copies = 1;                ///< good parts on the plate
};

/// A plate on one machine.
struct ComparedMachine {
  std::string name;                   ///< of the machine
  Account account;                    ///< re-planned; layers and tools are those of the file
  bool replanned = false;             ///< its purge is not the file's
  std::vector<std::string> measured;  ///< what comes from the file
  std::vector<std::string> assumed;   ///< what does not
  std::vector<std::string> misfits;   ///< why the plate does not fit the machine; empty if it does
  /// The machine cannot print the plate: its figures are never the better ones.
  bool cannot() const { return account.verdict.grade == Grade::cannot; }
};

/// What would turn the verdict between the first machine and another.
struct BreakEven {
  std::string machine;                   ///< the other one
  std::optional<double> energy_per_kwh;  ///< where both plates cost the same
  std::optional<double> swap_s;          ///< of this machine, where both take the same time
  std::optional<double> copies;          ///< see docs/methods-money.md
};

/// A plate on several machines.
struct Comparison {
  std::string path;                       ///< of the plate
  std::vector<ComparedMachine> machines;  ///< in the order given; the first is the plate's own
  std::vector<BreakEven> break_even;      ///< one for each machine behind the first
};

/// Tallies the plate on every machine. The first one is taken for the machine that the plate was
/// sliced for: there everything is as in the file. On another, motion and heat are planned again;
/// where its swaps are of another kind, the purge of the file and its motion are dropped and the
/// machine's own swap policy is put in their place. Throws UnreadablePlate.
Comparison compare_plate(const std::string& path, const std::vector<Machine>& machines,
                         const CompareOptions& options = {});

/// For people. Ends with a newline.
std::string to_text(const Comparison& comparison);
/// Schema "platetally.compare/1".
std::string to_json(const Comparison& comparison);
/// One self-contained page: nothing fetched; names are escaped.
std::string to_html(const Comparison& comparison, const PageStamp& stamp = {});

}  // namespace platetally
