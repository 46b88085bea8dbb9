/// @file
/// Variants of a plate: what is to be otherwise than in the file.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace platetally {

/// A tool whose head is heated in time for its first use, and off after its last.
struct HeatInTime {
  int tool = 0;             ///< T number
  std::uint64_t layer = 0;  ///< LayerAccount::index; heating begins with that layer
  /// Member by member.
  bool operator==(const HeatInTime&) const = default;
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
  /// Member by member.
  bool operator==(const Variant&) const = default;
  /// Nothing is otherwise.
  bool is_as_it_is() const { return *this == Variant{}; }
};

/// What an account holds that is not as in the file.
struct WhatIf {
  std::string changes;  ///< "its parts 3 times, without its prime tower"; empty: the plate as it is
  std::string assumed;  ///< what that stands on; empty: nothing
};

/// What a variant changes, in words: WhatIf::changes.
std::string describe(const Variant& variant);

}  // namespace platetally
