/// @file
/// A plate that is read once and played as often as wanted: what it would cost if something about
/// it or the machine were otherwise.
///
/// Kept are the heat log, what each tool does in each of its turns, what lies where. A variant
/// changes these books and is played through time, swaps and heat once more; what comes out is an
/// account like any other. docs/methods-variants.md says what each change does.
#pragma once

#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "platetally/account.hpp"
#include "platetally/machine.hpp"
#include "platetally/options.hpp"
#include "platetally/variant.hpp"

namespace platetally {

/// A variant's account, or why there is none.
struct Played {
  Account account;  ///< without findings; diagnostics are the plate's own, and with them what the
                    ///< verdict says of the place on the bed
  std::vector<std::string> assumed;                     ///< a sentence each
  std::vector<std::pair<double, double>> copies_at_mm;  ///< Variant::repeat: x, y of each new copy
                                                        ///< as seen from the plate's own
  std::string impossible;                               ///< why it cannot be played; empty: it was
  /// Whether there is an account.
  bool ok() const { return impossible.empty(); }
};

namespace whatif {
struct KeptPlate;
}

/// A plate that was read, kept for playing variants of it. Copies share what is kept.
class Plate {
 public:
  /// From what the reading left behind; for the library's own use.
  explicit Plate(std::shared_ptr<const whatif::KeptPlate> kept) : kept_(std::move(kept)) {}
  /// As it is, with its findings.
  const Account& account() const;
  /// Plays a variant. Throws std::invalid_argument, with one line, for a tool that the machine
  /// lacks or a number outside its range.
  Played play(const Variant& variant) const;
  /// What is kept; for the library's own use.
  const whatif::KeptPlate& kept() const { return *kept_; }

 private:
  std::shared_ptr<const whatif::KeptPlate> kept_;
};

/// The machine as Variant::standby_c and room_c would have it.
Machine machine_with(Machine machine, const Variant& variant);

/// Reads the only plate at `path` as analyze_file does, and keeps it. Throws UnreadablePlate.
Plate keep_plate(const std::string& path, const Machine& machine,
                 const AnalyzeOptions& options = {});

}  // namespace platetally
