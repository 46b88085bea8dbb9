// What a finding saves of what is aimed at: of a plate's findings, and of those kept in an audit.
#pragma once

#include "platetally/advice.hpp"

namespace platetally::advice {

template <typename AnyFinding>
double saving_of(const AnyFinding& finding, Aim aim) {
  switch (aim) {
    case Aim::time:
      return finding.saves_time_s;
    case Aim::money:
      return finding.saves_money.value_or(0.0);
    case Aim::grams:
      return finding.saves_purge_g;
    case Aim::energy:
      break;
  }
  return finding.saves_energy_wh;
}

}  // namespace platetally::advice
