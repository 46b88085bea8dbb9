// The swaps of a plate by another machine's policy.
#pragma once

#include <string>
#include <vector>

#include "platetally/machine.hpp"
#include "platetally/material.hpp"

namespace platetally {
struct Account;
}

namespace platetally::whatif {

/// Whether `from` and `to` change between the tools that the plate uses in the same way.
bool swaps_alike(const Account& account, const Machine& from, const Machine& to);

/// Replaces the purge in `account`, which was tallied on `machine`, by what the machine's policy
/// asks for; says what that stands on. Time, energy, grams of totals, pairs and tools change, and
/// no swap is short; layers are left as they are in the file.
std::vector<std::string> replace_purge(Account& account, const Machine& machine,
                                       const std::vector<Material>& materials);

}  // namespace platetally::whatif
