// One table of every key of a machine file: from it follow reading, checking, writing and the docs.
#pragma once

#include <functional>
#include <string>
#include <variant>
#include <vector>

#include "platetally/machine.hpp"

namespace platetally::machine {

/// Names of an enumeration's values, by value.
using Names = std::vector<std::string>;

/// Where a key's value lies. Numbers are doubles with a range; choices are an index into names.
struct NumberAt {
  std::function<double&(Machine&)> at;
};
struct IntegerAt {
  std::function<int&(Machine&)> at;
};
struct FlagAt {
  std::function<bool&(Machine&)> at;
};
struct TextAt {
  std::function<std::string&(Machine&)> at;
};
struct RangeAt {
  std::function<Range&(Machine&)> at;
};
struct ChoiceAt {
  std::function<int(const Machine&)> get;
  std::function<void(Machine&, int)> set;
  Names names;
};

struct Key {
  std::string table;  ///< "motion"; empty: top level; "heads", "tools": arrays of tables
  std::string name;
  std::string unit;
  double low = 0.0;
  double high = 0.0;
  std::string meaning;
  std::variant<NumberAt, IntegerAt, FlagAt, TextAt, RangeAt, ChoiceAt> value;
};

/// Keys of the machine proper, in the order of writing.
std::vector<Key> machine_keys();
/// Keys of one [[heads]], [[tools]], [[waste_areas]] or [[swap_pairs]] entry, by its place in the
/// machine's list.
std::vector<Key> head_keys(std::size_t index);
std::vector<Key> tool_keys(std::size_t index);
std::vector<Key> waste_area_keys(std::size_t index);
std::vector<Key> swap_pair_keys(std::size_t index);

/// As it stands behind the key's equals sign.
std::string value_text(const Key& key, Machine& machine);

/// Tables in the order of writing.
const std::vector<std::string>& table_order();

/// The whole table in Markdown, for docs/machine-file.md.
std::string key_page();

}  // namespace platetally::machine
