// From a plate and a machine to an account.
#pragma once

#include <stdexcept>
#include <string>
#include <string_view>

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

/// Tallies the plate at `path` ("-": standard input).
/// Throws UnreadablePlate where nothing can be read; what can be read is accounted for, and every
/// doubt is in Account::diagnostics. Deterministic: no clock, no locale, whatever the threads.
Account analyze_file(const std::string& path, const Machine& machine,
                     const AnalyzeOptions& options = {});

/// The same for G-code (or a container of it) that lies in memory.
Account analyze_bytes(std::string_view bytes, const Machine& machine,
                      const AnalyzeOptions& options = {});

}  // namespace platetally
