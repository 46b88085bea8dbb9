// A plate's turns as a variant has them.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "account/whatif/kept_plate.hpp"
#include "account/whatif/stints.hpp"

namespace platetally::whatif {

/// A turn of the variant: what it is now, and the turn of the plate that it is made of.
struct NewTurn {
  ledgers::Turn now;
  std::size_t base = 0;
  int before = -1;      ///< the tool that the plate had in hand before its stint; -1: the same
  int behind = -1;      ///< the one that it takes next; -1: the same
  int now_before = -1;  ///< the same of the variant
  int now_behind = -1;
};

/// How another machine's swaps purge, whatever the plate does.
struct PurgePolicy {
  std::vector<double> each_mm3;  ///< of a swap; row-major from, to
  double mm3_s = 0.0;            ///< how fast it is pushed out at rest
  bool on_tower = false;  ///< laid on a prime tower, as fast as the part; else pushed out at rest
};

struct Rewritten {
  std::vector<NewTurn> turns;        ///< in the order of printing
  std::vector<std::size_t> dropped;  ///< turns of the plate that are not in it
  std::vector<LayerVisit> visits;    ///< by layer ordinal
  std::vector<std::string> assumed;
  std::string impossible;               ///< why there is no such sequence; empty: there is
  const PurgePolicy* policy = nullptr;  ///< null: purge is the plate's
};

/// Whether the variant changes the plate's turns at all.
bool changes_turns(const Variant& variant);

/// Needs KeptPlate::has_turns(). `policy`: null where the plate's own purge stays.
Rewritten rewrite(const KeptPlate& plate, const Variant& variant,
                  const PurgePolicy* policy = nullptr);

}  // namespace platetally::whatif
