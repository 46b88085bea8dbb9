#include "account/findings/trial.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace platetally::findings {

namespace {

double share(double part, double whole) {
  return whole > 0.0 ? part / whole : 0.0;
}

}  // namespace

Saving saving_of(const Totals& as_is, const Totals& now) {
  return {as_is.time.expected - now.time.expected, as_is.purge_g - now.purge_g,
          as_is.energy_wh - now.energy_wh};
}

double largest_share(const Saving& saving, const Totals& of) {
  return std::max({share(saving.time_s, of.time.expected), share(saving.purge_g, of.purge_g),
                   share(saving.energy_wh, of.energy_wh)});
}

double smallest_share(const Saving& saving, const Totals& of) {
  return std::min({share(saving.time_s, of.time.expected), share(saving.purge_g, of.purge_g),
                   share(saving.energy_wh, of.energy_wh)});
}

Finding finding_of(const Words& words, const Saving& saving, std::string trial) {
  Finding finding;
  finding.code = words.code;
  finding.message = words.message;
  finding.advice = words.advice;
  finding.assumes = words.assumes;
  finding.tried = true;
  finding.trial = std::move(trial);
  finding.saves_time_s = saving.time_s;
  finding.saves_purge_g = saving.purge_g;
  finding.saves_energy_wh = saving.energy_wh;
  return finding;
}

std::shared_ptr<const Account> for_its_price(const Account& advised) {
  auto kept = std::make_shared<Account>();
  kept->totals = advised.totals;
  kept->tools = advised.tools;
  kept->power = advised.power;
  return kept;
}

Finding untried(const Words& words, const std::string& why) {
  Finding finding = finding_of(words, {}, fmt::format("not tried: {}", why));
  finding.tried = false;
  return finding;
}

}  // namespace platetally::findings
