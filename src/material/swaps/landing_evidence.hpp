// What was seen of a place where tools land: what a tower does and a part does not, and the other
// way round.
#pragma once

#include <cstddef>
#include <cstdint>

#include "material/swaps/deposit_log.hpp"
#include "material/swaps/landing_place.hpp"

namespace platetally::swaps {

/// What tools that go on into a layer without a swap lay in the place.
struct Returns {
  std::size_t chances = 0;  ///< such tools, in layers in which others land there
  std::size_t absent = 0;   ///< laid nothing there
  std::size_t around = 0;   ///< laid something thin around all that is laid by landing: walls
  std::size_t over = 0;     ///< covered all that is laid by landing, as a foot does
  std::size_t thin = 0;     ///< filled where nobody had landed, much thinner than those who land
  std::size_t alike = 0;    ///< laid there as those who land: it is their part
  std::size_t tools_alike = 0;  ///< how many tools ever did so
  std::size_t away = 0;         ///< times that other tools than those were absent
};

/// Evidence about a place; see tower_finder.cpp for what it weighs.
struct TowerEvidence {
  double landed = 0.0;  ///< share of swaps after which the tool lands in the place
  double left = 0.0;    ///< share of those that go on to lay elsewhere before the next swap
  std::size_t landings = 0;
  std::size_t places = 0;  ///< that stand apart and only together are landed in
  Returns returns;
  std::size_t twins = 0;       ///< islands of the same size elsewhere
  std::size_t quiet = 0;       ///< layers between landings, without one, that leave it alone
  std::size_t thin_fill = 0;   ///< such layers in which less is laid than in the nearest with one
  std::size_t full_fill = 0;   ///< such layers in which as much is laid
  std::size_t thin_below = 0;  ///< layers below the first landing in which less is laid
  std::size_t above = 0;       ///< layers above the last landing in which something is laid there
  std::size_t above_elsewhere = 0;  ///< layers above the last landing
  std::size_t other_height = 0;     ///< landings at a height that the part is not at
  std::size_t relaid_in_order =
      0;  ///< landings on what another tool laid that came as the same one
  std::size_t relaid_otherwise = 0;  ///< landings on what another tool laid that did not
  double changes = 0.0;              ///< share of what is laid again that another tool had laid
  double changes_elsewhere = 0.0;    ///< the same of everything else
  bool carried_colours_stay =
      true;             ///< those who land lay their own colour on what such tools laid
  double closed = 0.0;  ///< share of the paths of landings that are loops
  double closed_elsewhere = 0.0;
  double spread_elsewhere = 0.0;  ///< of what swaps of the same two tools lay elsewhere
  std::size_t farewells = 0;      ///< segments that end there, after the tool was elsewhere
  double spread = 0.0;            ///< of the volumes laid by landing, as a share of their mean
  double piled = 0.0;             ///< how many layers high what a landing lays would be in its box
  double pair_spread = 0.0;       ///< the same within swaps of the same two tools
  double explained = 0.0;         ///< share of swaps behind which purge is known already
  double marked = 0.0;            ///< share of swaps behind which purge on the bed is marked
  double longest_mm = 0.0;        ///< the place's longer side
};

TowerEvidence look_at_place(const DepositLog& log, const LandingPlace& place);

}  // namespace platetally::swaps
