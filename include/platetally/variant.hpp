/// @file
/// Variants of a plate: what it would cost if something about it or the machine were otherwise.
///
/// A plate is read once and kept: the heat log, what each tool does in each of its turns, what lies
/// where. A variant changes these books and is played through time, swaps and heat once more; what
/// comes out is an account like any other. docs/methods-variants.md says what each change does.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "platetally/account.hpp"
#include "platetally/machine.hpp"
#include "platetally/options.hpp"

namespace platetally {

/// A tool whose head is heated in time for its first use, and off after its last.
struct HeatInTime {
  int tool = 0;             ///< T number
  std::uint64_t layer = 0;  ///< LayerAccount::index; heating begins with that layer
};

/// What is to be otherwise; as it is, nothing. Changes may be combined.
struct Variant {
  std::optional<double> standby_c;       ///< of every head while another one works; degC
  std::optional<double> room_c;          ///< temperature of the room
  double shift_x_mm = 0.0;               ///< the plate lies elsewhere; tower and marked purge move
  double shift_y_mm = 0.0;               ///< with it, start-up lines and waste areas don't
  int repeat = 1;                        ///< the plate's parts so many times; purge and swaps once
  std::vector<std::vector<int>> orders;  ///< of tools, as OrderReport::orders; empty: as it is
  std::vector<std::pair<int, int>> merge;  ///< {tool, the one that prints in its stead}
  std::vector<int> without;                ///< tools that lay no part are taken out
  bool drop_tower = false;                 ///< nothing is laid on a prime tower
  bool purge_as_needed = false;            ///< no swap purges more than its pair needs
  bool purge_enough = false;               ///< no swap purges less
  double layers_share = 1.0;               ///< so many of the layers, each as much thicker
  std::vector<HeatInTime> heat;            ///< of tools that are hot for long without need
};

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

 private:
  std::shared_ptr<const whatif::KeptPlate> kept_;
};

/// Reads the only plate at `path` as analyze_file does, and keeps it. Throws UnreadablePlate.
Plate keep_plate(const std::string& path, const Machine& machine,
                 const AnalyzeOptions& options = {});

}  // namespace platetally
