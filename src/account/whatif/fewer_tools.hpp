// What of a plate has to change for it to fit a machine that it does not fit.
#pragma once

#include <string>
#include <utility>
#include <vector>

namespace platetally {
struct Account;
}

namespace platetally::whatif {

/// A plate with fewer tools.
struct FewerTools {
  std::vector<std::pair<int, int>> merged;    ///< {tool, the one that lays its material instead}
  std::vector<std::pair<int, int>> numbered;  ///< {tool, its number on the other machine}
  double merged_g = 0.0;                      ///< part that changes its colour
  std::uint64_t swaps = 0;                    ///< left
};

/// Gives up tools until `most` are left: each time the one that lays least, to the tool that leaves
/// fewest swaps. Greedy: not proven best. Swaps are counted over Account::visits, or pairs where
/// those were not kept. `most` > 0.
FewerTools with_fewer_tools(const Account& account, std::size_t most);

/// In words; empty if the plate's tools fit as they are.
std::string say_fewer_tools(const Account& account, std::size_t most);

}  // namespace platetally::whatif
