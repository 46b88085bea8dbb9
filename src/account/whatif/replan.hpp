// The swaps of a plate by another machine's policy.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "account/whatif/kept_plate.hpp"
#include "platetally/machine.hpp"

namespace platetally::whatif {

/// The diagnostic that a plate was sliced for a machine that swaps otherwise; a plate that is
/// planned again has it no more.
inline constexpr std::string_view kOtherMachine = "purge-of-other-machine";

/// Whether `from` and `to` change between the tools that the plate uses in the same way.
bool swaps_alike(const Account& account, const Machine& from, const Machine& to);

/// The plate, which was kept on `plate.machine`, with the purge that this machine's policy asks for
/// in place of the file's; says what that stands on. No swap is short. Where too many turns were
/// kept, totals, pairs and tools change, and layers are left as they are in the file. `variant`:
/// what is otherwise besides; throws UnreadablePlate if that cannot be played.
Account replan(const KeptPlate& plate, const Variant& variant, std::vector<std::string>& assumed);

}  // namespace platetally::whatif
