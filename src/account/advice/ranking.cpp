#include <algorithm>
#include <array>
#include <tuple>

#include "account/advice/saved.hpp"
#include "platetally/account.hpp"
#include "platetally/advice.hpp"

namespace platetally {

namespace {

constexpr std::array<std::pair<Aim, std::string_view>, 4> kNames{
    {{Aim::time, "time"}, {Aim::money, "money"}, {Aim::grams, "grams"}, {Aim::energy, "energy"}}};

double share_of(double part, double whole) {
  return whole > 0.0 ? part / whole : 0.0;
}

}  // namespace

std::string_view name_of(Grade grade) {
  switch (grade) {
    case Grade::ready:
      return "ready";
    case Grade::look:
      return "look";
    case Grade::cannot:
      break;
  }
  return "cannot";
}

std::string_view name_of(Aim aim) {
  return std::ranges::find(kNames, aim, &std::pair<Aim, std::string_view>::first)->second;
}

std::optional<Aim> aim_named(std::string_view name) {
  const auto* found = std::ranges::find(kNames, name, &std::pair<Aim, std::string_view>::second);
  return found == kNames.end() ? std::nullopt : std::optional(found->first);
}

Aim usual_aim(const Account& account) {
  return account.cost ? Aim::money : Aim::time;
}

double saved(const Finding& finding, Aim aim) {
  return advice::saving_of(finding, aim);
}

double largest_share(const Finding& finding, const Account& account) {
  const Totals& totals = account.totals;
  const double material_g = totals.part_g + totals.purge_g + totals.start_up_g;
  return std::max(
      {0.0, share_of(finding.saves_time_s, totals.time.expected),
       share_of(finding.saves_purge_g, material_g),
       share_of(finding.saves_energy_wh, totals.energy_wh),
       account.cost ? share_of(finding.saves_money.value_or(0.0), account.cost->total()) : 0.0});
}

void rank_findings(Account& account, Aim aim) {
  std::ranges::stable_sort(account.findings, std::ranges::greater{}, [&](const Finding& finding) {
    return std::tuple(finding.severity, saved(finding, aim), largest_share(finding, account));
  });
}

}  // namespace platetally
