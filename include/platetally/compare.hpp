/// @file
/// The same plate on other machines, and plates beside plates.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "platetally/account.hpp"
#include "platetally/before_after.hpp"
#include "platetally/machine.hpp"
#include "platetally/options.hpp"
#include "platetally/page_stamp.hpp"
#include "platetally/prices.hpp"

namespace platetally {

/// What goes with a comparison.
struct CompareOptions {
  AnalyzeOptions analyze;             ///< for each machine
  std::optional<Prices> prices;       ///< absent: no money
  int copies = 1;                     ///< good parts on the plate
  std::optional<Machine> sliced_for;  ///< absent: the first machine
};

/// A plate on one machine.
struct ComparedMachine {
  std::string name;        ///< of the machine
  Account account;         ///< re-planned; layers and tools are those of the file; no findings
  bool replanned = false;  ///< its purge is not the file's
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

/// Tallies the plate on every machine. The one that it was sliced for is the first, or
/// CompareOptions::sliced_for: there everything is as in the file. On another, motion and heat are
/// planned again; where its swaps are of another kind, the purge of the file and its motion are
/// dropped and the machine's own swap policy is put in their place. Throws UnreadablePlate.
Comparison compare_plate(const std::string& path, const std::vector<Machine>& machines,
                         const CompareOptions& options = {});

/// Plates beside plates, each on every machine.
struct PlatesCompared {
  std::vector<Comparison> plates;           ///< in the order given
  std::optional<BeforeAfter> before_after;  ///< of two plates, on the first machine
  MadeFrom made_from;                       ///< plates, machines and options
};

/// Compares each of the plates as compare_plate does; two of them also as before and after.
PlatesCompared compare_plates(const std::vector<std::string>& paths,
                              const std::vector<Machine>& machines,
                              const CompareOptions& options = {});

/// The plate as it is, and as CompareOptions::analyze.variant would have it: before and after.
PlatesCompared compare_variant(const std::string& path, const std::vector<Machine>& machines,
                               const CompareOptions& options);

/// For people. Ends with a newline.
std::string to_text(const Comparison& comparison);
/// The same of several plates; of two, what is otherwise comes first.
std::string to_text(const PlatesCompared& compared);
/// Schema "platetally.compare/2".
std::string to_json(const PlatesCompared& compared);
/// The slices by height of two plates, a row each; without two, the figures of every plate on every
/// machine.
std::string to_csv(const PlatesCompared& compared);
/// One self-contained page: nothing fetched; names are escaped.
std::string to_html(const Comparison& comparison, const PageStamp& stamp = {});
/// The same of several plates.
std::string to_html(const PlatesCompared& compared, const PageStamp& stamp = {});

}  // namespace platetally
