#include "plan/make/filament_names.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <stdexcept>

namespace platetally::plan {

solve::Filaments FilamentNames::bits(const std::vector<std::string>& names) {
  solve::Filaments filaments = 0;
  for (const std::string& name : names) {
    const auto found = std::ranges::find(names_, name);
    const auto at = static_cast<std::size_t>(found - names_.begin());
    if (found == names_.end())
      names_.push_back(name);
    if (at >= static_cast<std::size_t>(solve::kMostFilaments))
      throw std::invalid_argument(fmt::format(
          "the queue names more than {} filaments; plan it in parts", solve::kMostFilaments));
    filaments |= solve::Filaments{1} << at;
  }
  return filaments;
}

std::vector<std::string> FilamentNames::names(solve::Filaments filaments) const {
  std::vector<std::string> names;
  for (std::size_t i = 0; i < names_.size(); ++i)
    if ((filaments >> i & 1U) != 0)
      names.push_back(names_[i]);
  return names;
}

}  // namespace platetally::plan
