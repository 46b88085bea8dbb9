// A tallied plate as one line of JSON, and back: what the history keeps, what JSON lines hold, and
// what the rows of a report are made of. There is no other way from an account to a row, so that a
// row is the same whether its plate was read now, earlier, or on another computer.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "platetally/audit.hpp"

namespace platetally {
struct Account;
}

namespace platetally::audit_stage {

/// The part of a record that depends on nothing but content and setting: one line, an object.
/// `keys`: what is asked for besides, with sections. `machine_hash`: of its description.
std::string body_of(const Account& account, const std::string& member,
                    const std::vector<std::string>& keys, const std::string& machine_hash);
std::string body_of_error(const std::string& member, const std::string& error);

/// The line of a record; its body with place, path, and a hash of the file's content (empty: it
/// could not be told).
std::string line_of(std::uint64_t index, const std::string& path, const std::string& content,
                    const std::string& body);
/// The body in such a line; empty where there is none.
std::string body_in(const std::string& line);

/// What a reader of records wants of each.
struct Wanted {
  std::string sort;                                    ///< with its section
  std::vector<std::pair<std::string, double>> limits;  ///< keys with their sections
  bool partial = false;                                ///< what was left out passes
  bool strict = false;                                 ///< what is warned of does not
  std::optional<Aim> value{};                          ///< what findings are ranked by
  std::vector<std::string> keys() const;
};

/// The row of a record's line, or nothing for a line that is none.
std::optional<AuditRow> row_of(std::string_view line, const Wanted& wanted);

/// Whether the body holds all that is wanted; one from the history may lack values of layers.
bool holds_all(std::string_view body, const Wanted& wanted);

}  // namespace platetally::audit_stage
