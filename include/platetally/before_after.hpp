/// @file
/// Two accounts of one thing: before and after a change, in total and height by height.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "platetally/account.hpp"

namespace platetally {

/// One figure of both accounts.
struct FigureChange {
  std::string key;    ///< "time_s", "purge_g", "energy_by.bed_wh"
  std::string title;  ///< for people; parts of the figure above begin with two blanks
  std::string unit;   ///< "s", "g", "Wh", the currency of a cost, or empty
  Range before;       ///< without a band of its own: low and high are the expected
  Range after;        ///< likewise
  /// After less before. Both come from one model, whose errors go along with both, so that low is
  /// held against low and high against high.
  Range change;
  /// Zero lies inside the change, or both would be shown as the same: no difference beyond the
  /// band.
  bool alike = false;
};

/// What is laid between two heights, in both accounts.
struct HeightSlice {
  double from_mm = 0.0;  ///< of the slice's bottom
  double to_mm = 0.0;    ///< of its top
  /// Of one account.
  struct Amounts {
    double time_s = 0.0;     ///< of the machine
    double part_g = 0.0;     ///< laid
    double purge_g = 0.0;    ///< pushed out
    double energy_wh = 0.0;  ///< from the wall
    double swaps = 0.0;      ///< a layer in two slices counts to both by share
    TimeBy time_by;          ///< what time_s is made of
  };
  Amounts before;  ///< of the first account
  Amounts after;   ///< of the second
};

/// Heights at which much of one quantity is otherwise: neighbouring slices that change the same
/// way, each by about as much.
struct LargeChange {
  std::size_t slice = 0;  ///< the lowest, of BeforeAfter::slices
  std::string what;       ///< "time_s", "part_g", "purge_g", "energy_wh" or "swaps"
  double from_mm = 0.0;   ///< of the lowest slice's bottom
  double to_mm = 0.0;     ///< of the highest slice's top; 0: before the first layer
  double before = 0.0;    ///< of that quantity between both, in its unit
  double after = 0.0;     ///< likewise
  double share = 0.0;     ///< of the change in the larger of both totals of it; never negative
};

/// Before and after.
struct BeforeAfter {
  std::vector<FigureChange> figures;  ///< totals, and what they are made of
  /// What comes before the first layer is the first slice, from 0 to 0. The others are as thick as
  /// the thicker layers of the two.
  std::vector<HeightSlice> slices;
  /// At most 20, by the share that the change has of the larger of the two plates' totals of that
  /// quantity; the largest first. Those of two quantities may lie at the same heights.
  std::vector<LargeChange> largest;
};

/// Two accounts, of two plates or of one plate and a variant of it.
BeforeAfter before_and_after(const Account& before, const Account& after);

}  // namespace platetally
