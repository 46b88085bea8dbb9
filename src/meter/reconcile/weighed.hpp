// What was weighed or timed beside a plate, against the same numbers of its account.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "platetally/account.hpp"
#include "platetally/reconcile.hpp"

namespace platetally::reconciling {

using Weighed = std::vector<std::pair<std::string, double>>;

/// Throws std::invalid_argument where a key is no number of the totals.
void require_keys(const Weighed& weighed);

/// In their order; each with the band that was predicted, where the account has one.
std::vector<ReconciledValue> weighed_values(const Account& account, const Weighed& weighed);

/// Of the account, and what was weighed.
MadeFrom made_from(const Account& account, const ReconcileOptions& options);

}  // namespace platetally::reconciling
