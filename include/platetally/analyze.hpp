/// @file
/// From a plate and a machine to an account.
#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

#include "platetally/account.hpp"
#include "platetally/machine.hpp"
#include "platetally/options.hpp"

namespace platetally {

/// Nothing of the plate could be read, or the machine or options are unsound. what() is one line
/// that can be shown as it is.
class UnreadablePlate : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// One plate of a path: its account, or why there is none.
struct PlateOutcome {
  std::string member;  ///< name inside the zip; empty where the path itself is the plate
  std::optional<Account> account;  ///< absent with an error
  std::string error;               ///< one line that goes on after the name; empty with an account
};

/// Tallies every plate at `path` ("-": standard input): one, or every file of a zip that looks like
/// G-code, in their order there; at least one outcome. What can be read is accounted for, and every
/// doubt is in Account::diagnostics. Deterministic: no clock, no locale, whatever the threads.
/// Throws UnreadablePlate where the path cannot be opened or machine or options are unsound.
std::vector<PlateOutcome> analyze_plates(const std::string& path, const Machine& machine,
                                         const AnalyzeOptions& options = {});

/// The same for a path that holds one plate. Throws UnreadablePlate where nothing of it can be
/// read, and where there are several.
Account analyze_file(const std::string& path, const Machine& machine,
                     const AnalyzeOptions& options = {});

/// The same for G-code (or a container of it) that lies in memory.
Account analyze_bytes(std::string_view bytes, const Machine& machine,
                      const AnalyzeOptions& options = {});

/// Gives the next bytes of a plate: fills the front of `room`, which has `size` bytes, and returns
/// how many; 0 at the end. An exception from it ends the reading and is passed on.
using ByteSupply = std::function<std::size_t(char* room, std::size_t size)>;

/// The same for G-code (or a container of it) that comes piece by piece; the supply is asked from
/// the thread that reads. platetally/feed.hpp is for those who rather hand pieces over.
Account analyze_supply(const ByteSupply& supply, const Machine& machine,
                       const AnalyzeOptions& options = {});

}  // namespace platetally
