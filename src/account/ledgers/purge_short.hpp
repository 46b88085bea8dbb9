// What every swap purges, held against what its pair of colours needs.
#pragma once

#include <vector>

#include "account/ledgers/turn_ledger.hpp"
#include "platetally/account.hpp"
#include "platetally/machine.hpp"
#include "platetally/material.hpp"

namespace platetally::ledgers {

/// Writes the spread, the colour difference and the shortage of every pair into `account`, and
/// their totals. Without `turns` every swap of a pair is taken to purge the pair's mean. What may
/// be purge beyond doubt's edge (Totals::purge_high_g) is allowed for: no swap is called short
/// because its purge was not recognised.
void hold_against_need(const std::vector<ledgers::Turn>& turns, const Machine& machine,
                       const std::vector<Material>& materials, Account& account);

}  // namespace platetally::ledgers
