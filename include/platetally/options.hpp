/// @file
/// What a caller may choose besides the plate and the machine.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "platetally/material.hpp"
#include "platetally/variant.hpp"

namespace platetally {

/// What goes with reading a plate.
struct AnalyzeOptions {
  int threads = 2;                        ///< 1 or 2; the account is the same
  std::vector<Material> materials;        ///< added to the embedded ones; a name here wins
  std::vector<std::string> tool_colours;  ///< by tool number; empty: from the machine
  std::string display_path;               ///< the path as it is to be shown in the account
  /// Also gives an account of a plate of which only a part can be read: a damaged container, a text
  /// most of whose moves cannot be read. Without it, such a plate is unreadable.
  bool partial = false;
  bool findings = true;               ///< plays what could be saved; false: the account has none
  std::optional<double> start_bed_c;  ///< of the bed at the first line; absent: the room's
  /// Otherwise than in the file; the account is that of the variant. It has findings only where no
  /// more than the room and heads that wait are otherwise. A variant that cannot be played makes
  /// the plate unreadable, with the reason.
  Variant variant;
  /// Tells the plate's objects apart: Account::objects. Of a variant that changes the plate there
  /// are none.
  bool objects = false;
  bool picture = false;  ///< with objects: Account::plate_picture too, which takes more time
  /// With objects: Account::layer_picture of the layer that is printed at this height above the
  /// bed, the lowest one whose top reaches it, in mm.
  std::optional<double> picture_at_mm;
  /// Called now and then with the bytes read so far, from the thread that reads; may be empty. An
  /// exception from it ends the reading and is passed on: so a caller cancels.
  std::function<void(std::uint64_t bytes)> on_progress;
};

}  // namespace platetally
