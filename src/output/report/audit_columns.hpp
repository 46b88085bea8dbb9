// The figures of a plate that every report of an audit shows.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "platetally/audit.hpp"

namespace platetally::report {

struct AuditColumn {
  std::string title;
  std::string unit;
  std::size_t key;  ///< in audit_keys(); npos: the key that the audit is sorted by
  static constexpr std::size_t npos = static_cast<std::size_t>(-1);
};

/// What the audit is sorted by, then the usual figures; cost where any plate has one.
std::vector<AuditColumn> audit_columns(const AuditReport& report);

/// NaN where it is not known.
double value_of(const AuditRow& row, const AuditColumn& column);

/// Sums that every report names: "12.50 g", and of what. What no plate tells is left out.
struct AuditSum {
  std::string figure;
  std::string meaning;
};
std::vector<AuditSum> audit_sums(const AuditReport& report);

/// For people: "?" where it is not known.
std::string shown(double value, std::string_view unit);

/// The path, with the member of a zip behind it.
std::string name_of(const AuditRow& row);

}  // namespace platetally::report
