// What the rows of an audit amount to, row by row: sums of all, and no more rows than are wanted.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "platetally/audit.hpp"

namespace platetally::audit_stage {

/// By what rows are put in order: plates before what failed, the largest first, then as they came.
struct Rank {
  bool failed = false;
  double minus_value = 0.0;  ///< infinite where it is not known
  std::uint64_t at = 0;      ///< in the order of the input
  auto operator<=>(const Rank&) const = default;
};
Rank rank_of(const AuditRow& row, std::uint64_t at);

class Summing {
 public:
  /// Keeps the `most` worst rows, and as many of those that failed, are over a limit or do not
  /// pass; 0: all.
  explicit Summing(std::size_t most) : most_(most) {}

  /// In the order of the input. Gives its rank.
  Rank add(AuditRow row);

  /// Counts, totals, findings and rows; the report's faults, currency and value must be there.
  void finish(AuditReport& report);

 private:
  struct Place {
    AuditRow row;
    bool is_worst = false;    ///< of the worst
    bool is_notable = false;  ///< of those that failed, are over a limit or do not pass
  };
  void count(const AuditRow& row);
  void add_findings(const AuditRow& row);
  void add_largest(const AuditRow& row);
  void keep(AuditRow row, const Rank& rank);
  void leave(std::set<Rank>& ranks, bool Place::*flag);

  std::size_t most_;
  std::uint64_t at_ = 0;
  AuditReport sums_;
  std::map<std::string, AuditFindingSum> by_code_;
  std::map<Rank, Place> rows_;
  std::set<Rank> worst_, notable_;
};

/// The same of a report that has all its rows, in the order of the input.
void sum_up(AuditReport& report);

/// Adds what the row knows to sums by audit_keys(); NaN: nothing known yet, or of no sense.
void add_to_totals(const AuditRow& row, std::vector<double>& totals);

}  // namespace platetally::audit_stage
