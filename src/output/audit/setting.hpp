// What a tally depends on besides the content of the plate.
#pragma once

#include <string>

#include "meter/history/store.hpp"
#include "platetally/audit.hpp"

namespace platetally::audit_stage {

/// Machine, materials, colours, what-if, prices, copies and version: a hash of them, and what
/// people are to know of them.
history::Setting setting_of(const Machine& machine, const AuditOptions& options);

/// A hash of the names of files and their sizes, in order.
std::string hash_of_listing(const std::vector<std::string>& paths,
                            const std::vector<std::int64_t>& sizes_bytes);

/// The share of the work that each file belongs to, 1 .. shards: the largest first, each to the
/// share that has fewest bytes by then. All computers that see the same sizes divide them alike.
std::vector<int> shares_of(const std::vector<std::int64_t>& sizes_bytes, int shards);

}  // namespace platetally::audit_stage
