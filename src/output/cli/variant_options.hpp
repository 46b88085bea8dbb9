// What if: options that ask for a variant of the plate, for every command that tallies plates.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "output/cli/command_line.hpp"
#include "platetally/variant.hpp"

namespace platetally::cli {

struct VariantArguments {
  int repeat = 1;
  std::vector<std::string> merge;
  bool drop_tower = false;
  std::optional<double> standby_c;
  std::optional<double> room_c;
};

/// --repeat, --merge (or as `merge` calls it, where that is taken), --drop-tower, --standby and
/// --room-c
void add_variant(Command command, VariantArguments& arguments, const char* merge = "--merge");

/// Throws UsageError for what is no pair of tools; whether the machine has them is seen later.
Variant variant_of(const VariantArguments& arguments);

}  // namespace platetally::cli
