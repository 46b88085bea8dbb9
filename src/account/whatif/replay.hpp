// The heat log and the account of a plate whose turns were rewritten.
#pragma once

#include "account/whatif/kept_plate.hpp"
#include "account/whatif/rewrite.hpp"

namespace platetally::whatif {

/// The log as the variant's turns have it: their events in the new order, spans stretched to the
/// new seconds and volumes, heaters of the tool before and behind set for the new ones.
timeline::HeatLog replay_log(const KeptPlate& plate, const Variant& variant,
                             const Rewritten& rewritten);

/// Changes the account, which is the plate's, by what the variant's turns differ in; what heat
/// computes is left as it is.
void change_account(const KeptPlate& plate, const Rewritten& rewritten, Account& account);

}  // namespace platetally::whatif
