// The one table of what a report holds: key, unit, title, note and getter of every value.
//
// All writers, the look-up by key, the list of keys and the page docs/json.md are made from it.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace platetally {
struct Account;
}

namespace platetally::report {

/// monostate: not known.
using Value = std::variant<std::monostate, std::uint64_t, std::int64_t, double, std::string,
                           std::vector<std::int64_t>>;

/// What JSON has for a value.
enum class Shape : std::uint8_t { number, number_or_null, count, integer, text, integers };

struct Field {
  std::string_view key;  ///< within its section; a dot nests: "energy_by.bed"
  std::string_view unit;
  std::string_view title;  ///< short enough to head a column
  std::string_view note;
  Shape shape;
  Value (*get)(const Account& account, std::size_t row);

  constexpr bool is_number() const { return shape != Shape::text && shape != Shape::integers; }
};

/// What stands before the dot of a nested key, or nothing.
std::string_view owner_of(const Field& field);

/// Neighbouring fields that have one owner together, every other one alone.
std::vector<std::span<const Field>> members_of(std::span<const Field> fields);

enum class RowName : std::uint8_t { none, numbers, word };

/// An object of the JSON, or an array of objects whose rows have a name.
struct Section {
  std::string_view name;
  std::string_view row_name;  ///< "T", "FROM.TO", ...; empty for an object
  RowName kind_of_row_name;
  std::size_t (*rows)(const Account& account);
  std::string (*name_of_row)(const Account& account, std::size_t row);
  std::span<const Field> fields;
};

std::span<const Section> sections();

/// The section of that name, and the field of that key in it. The name or key must exist: these
/// are for writers that choose columns, and throw std::logic_error on a name that is not there.
const Section& section(std::string_view name);
const Field& field(const Section& section, std::string_view key);

}  // namespace platetally::report
