// A finding in the making: the variant that follows its advice is played, and the difference to the
// plate as it is is what the finding saves.
#pragma once

#include <memory>
#include <string>
#include <string_view>

#include "account/whatif/kept_plate.hpp"
#include "platetally/account.hpp"

namespace platetally::findings {

/// The words of a finding; `assumes` is extended by what playing it assumed.
struct Words {
  const char* code;
  std::string message;
  std::string advice;
  std::string assumes;
};

struct Saving {
  double time_s = 0.0;
  double purge_g = 0.0;
  double energy_wh = 0.0;
};

/// What `now` costs less than `as_is`.
Saving saving_of(const Totals& as_is, const Totals& now);

/// A share of what the plate spends, the largest of the three.
double largest_share(const Saving& saving, const Totals& of);
/// The smallest of the three: below zero where something costs more.
double smallest_share(const Saving& saving, const Totals& of);

Finding finding_of(const Words& words, const Saving& saving, std::string trial);

/// What add_prices() needs of a plate as advised.
std::shared_ptr<const Account> for_its_price(const Account& advised);

/// A finding without figures: its variant could not be played.
Finding untried(const Words& words, const std::string& why);

}  // namespace platetally::findings
