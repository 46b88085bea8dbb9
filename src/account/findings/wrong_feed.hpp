// Says where what is fed cannot be what the machine does.
#pragma once

#include <vector>

#include "account/ledgers/layer_ledger.hpp"
#include "platetally/account.hpp"

namespace platetally::findings {

/// A warning where a tool or a layer has less than no part: more filament is drawn back there than
/// is fed. Layers may owe what is drawn back at their end and returned in the next one.
/// `layer_grams` and `layer_heights_mm` by ordinal, as the ledger has its layers.
std::vector<Diagnostic> check_feed(const Account& account, const ledgers::LayerLedger& ledger,
                                   const std::vector<ledgers::LayerGrams>& layer_grams,
                                   const std::vector<double>& layer_heights_mm);

/// A note about material outside the build area of which it is not certain whether it is purge;
/// nothing where there is none.
std::vector<Diagnostic> check_outside(double doubt_g);

/// A note about filament fed at rest of which it is not certain whether it is purge of a change;
/// nothing below a hundredth of `purge_g`.
std::vector<Diagnostic> check_flushes(double doubt_g, double purge_g);

}  // namespace platetally::findings
