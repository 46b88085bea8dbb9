// Filaments by their names, as bits.
#pragma once

#include <string>
#include <vector>

#include "plan/solve/problem.hpp"

namespace platetally::plan {

class FilamentNames {
 public:
  /// Throws std::invalid_argument for more names than there are bits.
  solve::Filaments bits(const std::vector<std::string>& names);
  /// In the order in which they were first met.
  std::vector<std::string> names(solve::Filaments filaments) const;

 private:
  std::vector<std::string> names_;
};

}  // namespace platetally::plan
