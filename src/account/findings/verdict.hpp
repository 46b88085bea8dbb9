// Can this plate be printed on this machine?
#pragma once

#include "platetally/account.hpp"
#include "platetally/machine.hpp"

namespace platetally::findings {

/// Everything that speaks against printing the plate as it is, from the account alone.
Verdict judge(const Account& account, const Machine& machine);

}  // namespace platetally::findings
