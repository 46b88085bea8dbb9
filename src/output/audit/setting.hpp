// What a tally depends on besides the content of the plate.
#pragma once

#include <string>

#include "meter/history/store.hpp"
#include "platetally/audit.hpp"

namespace platetally::audit_stage {

/// Machine, materials, colours, what-if, prices, copies and version: a hash of them, and what
/// people are to know of them.
history::Setting setting_of(const Machine& machine, const AuditOptions& options);

/// A hash of a machine's description.
std::string hash_of(const Machine& machine);

/// A hash of the names of files, in order.
std::string hash_of_listing(const std::vector<std::string>& paths);

/// The share of the work that a path belongs to, 1 .. shards. By the path alone, so that computers
/// that see more or fewer files still divide the others alike.
int shard_of(const std::string& path, int shards);

}  // namespace platetally::audit_stage
