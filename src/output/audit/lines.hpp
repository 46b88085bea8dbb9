// The lines around the records: begin, places not looked into, end.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "meter/history/store.hpp"
#include "output/audit/record.hpp"

namespace platetally::audit_stage {

inline constexpr const char* kAuditSchema = "platetally.audit/1";

struct Begin {
  history::Setting setting;  ///< its hash is of machine, materials, prices, version
  std::uint64_t files = 0;
  std::string listing;  ///< a hash of their names and sizes
  int shard = 1;
  int shards = 1;
  Wanted wanted;
  MadeFrom made_from;  ///< machine and options
};

std::string line_of(const Begin& begin);
/// Throws std::invalid_argument, with what was expected.
Begin begin_of(std::string_view line);

std::string line_of_fault(const std::string& path, const std::string& error);
std::string line_of_end(const AuditReport& report);

}  // namespace platetally::audit_stage
