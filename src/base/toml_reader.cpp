#include "base/toml_reader.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "base/files.hpp"
#include "base/nearest.hpp"

namespace platetally::base {

namespace {

constexpr std::size_t kDeepestNesting = 32;

/// Brackets nested deeper than any file needs would only test the parser's stack.
bool nests_too_deep(std::string_view text) {
  std::size_t depth = 0;
  for (const char c : text) {
    if (c == '[' || c == '{')
      ++depth;
    else if ((c == ']' || c == '}') && depth > 0)
      --depth;
    else if (c == '\n' && depth < 8)
      depth = 0;
    if (depth > kDeepestNesting)
      return true;
  }
  return false;
}

const char* kind_of(const toml::node& value) {
  switch (value.type()) {
    case toml::node_type::string:
      return "a text";
    case toml::node_type::integer:
    case toml::node_type::floating_point:
      return "a number";
    case toml::node_type::boolean:
      return "true or false";
    case toml::node_type::array:
      return "an array";
    case toml::node_type::table:
      return "a table";
    default:
      return "a date or time";
  }
}

std::optional<double> number_in(const toml::node& value) {
  return value.is_number() ? value.value<double>() : std::nullopt;
}

}  // namespace

void TomlReader::fault(const toml::source_region& at, const char* code, std::string message) {
  faults_.push_back(toml_fault(at, code, std::move(message)));
}

void TomlReader::wrong_type(const toml::node& value, const std::string& path,
                            const std::string& expected) {
  fault(value.source(), "key-type",
        fmt::format("{}: found {}; expected {}", path, kind_of(value), expected));
}

void TomlReader::unknown_key(const toml::source_region& at, const std::string& path,
                             const std::string& word, const std::vector<std::string>& names) {
  fault(at, "key-unknown",
        fmt::format("{}{}: no such key; expected one like '{}'", path, word, nearest(word, names)));
}

std::optional<double> TomlReader::number(const toml::node& value, const std::string& path) {
  const auto number = number_in(value);
  if (!number)
    wrong_type(value, path, "a number");
  return number;
}

std::optional<double> TomlReader::number(const toml::node& value, const std::string& path,
                                         double low, double high) {
  const auto found = number(value, path);
  if (!found || (*found >= low && *found <= high))
    return found;
  fault(value.source(), "key-range",
        fmt::format("{}: found {}; expected {} to {}", path, *found, low, high));
  return std::nullopt;
}

std::optional<std::int64_t> TomlReader::whole_number(const toml::node& value,
                                                     const std::string& path, std::int64_t low,
                                                     std::int64_t high) {
  const auto found = value.value_exact<std::int64_t>();
  if (!found)
    wrong_type(value, path, "a whole number");
  if (!found || (*found >= low && *found <= high))
    return found;
  fault(value.source(), "key-range",
        fmt::format("{}: found {}; expected {} to {}", path, *found, low, high));
  return std::nullopt;
}

std::optional<bool> TomlReader::flag(const toml::node& value, const std::string& path) {
  const auto found = value.value_exact<bool>();
  if (!found)
    wrong_type(value, path, "true or false");
  return found;
}

std::optional<std::string> TomlReader::text(const toml::node& value, const std::string& path) {
  auto found = value.value_exact<std::string>();
  if (!found)
    wrong_type(value, path, "a text in quotes");
  return found;
}

std::optional<Range> TomlReader::range(const toml::node& value, const std::string& path) {
  if (const auto exactly = number_in(value))
    return Range::exactly(*exactly);
  const toml::array* parts = value.as_array();
  if (parts != nullptr && parts->size() == 3) {
    const auto low = number_in(*parts->get(0));
    const auto expected = number_in(*parts->get(1));
    const auto high = number_in(*parts->get(2));
    if (low && expected && high)
      return Range{*low, *expected, *high};
  }
  wrong_type(value, path, "a number or [low, expected, high]");
  return std::nullopt;
}

std::optional<std::size_t> TomlReader::choice(const toml::node& value, const std::string& path,
                                              const std::vector<std::string>& names) {
  auto found = value.value_exact<std::string>();
  if (const auto flag = value.value_exact<bool>())  // "true" and "false" may be among the names
    found = *flag ? "true" : "false";
  const auto name = found ? std::ranges::find(names, *found) : names.end();
  if (name != names.end())
    return static_cast<std::size_t>(name - names.begin());
  fault(value.source(), "key-choice",
        fmt::format("{}: found {}; expected one of \"{}\"", path,
                    found ? "\"" + *found + "\"" : std::string(kind_of(value)),
                    fmt::join(names, "\", \"")));
  return std::nullopt;
}

const toml::table* TomlReader::table(const toml::node& value, const std::string& path) {
  if (!value.is_table())
    wrong_type(value, path, "a table in brackets");
  return value.as_table();
}

std::vector<const toml::table*> TomlReader::tables(const toml::node& value,
                                                   const std::string& path) {
  std::vector<const toml::table*> tables;
  const toml::array* rows = value.as_array();
  if (rows == nullptr) {
    wrong_type(value, path, "tables in double brackets");
    return tables;
  }
  for (const toml::node& row : *rows)
    if (row.is_table())
      tables.push_back(row.as_table());
    else
      wrong_type(row, path, "tables in double brackets");
  return tables;
}

void TomlReader::keys(const toml::table& table, const std::string& path,
                      const std::vector<TomlKey>& keys) {
  std::vector<std::pair<const toml::key*, const toml::node*>> entries;
  for (const auto& [key, value] : table)
    entries.emplace_back(&key, &value);
  std::ranges::sort(entries, [](const auto& a, const auto& b) {
    const toml::source_position& one = a.first->source().begin;
    const toml::source_position& other = b.first->source().begin;
    return std::pair(one.line, one.column) < std::pair(other.line, other.column);
  });
  for (const auto& [key, value] : entries) {
    const std::string word(key->str());
    const auto known = std::ranges::find(keys, word, &TomlKey::name);
    if (known != keys.end()) {
      known->read(*value, path + word);
      continue;
    }
    std::vector<std::string> names;
    for (const TomlKey& one : keys)
      names.push_back(one.name);
    unknown_key(key->source(), path, word, names);
  }
  for (const TomlKey& key : keys)
    if (key.required != nullptr && !table.contains(key.name))
      fault(table.source(), "key-missing",
            fmt::format("{}{} is missing; expected {}", path, key.name, key.required));
}

TomlKey TomlReader::text_key(const char* name, std::string& place, const char* required) {
  const auto read = [this, &place](const toml::node& value, const std::string& path) {
    if (auto found = text(value, path))
      place = std::move(*found);
  };
  return {name, read, required};
}

std::optional<toml::table> parse_toml(std::string_view text, const std::string& origin,
                                      const std::string& kind, std::vector<Diagnostic>& faults) {
  if (text.size() > kMostTomlBytes || nests_too_deep(text)) {
    faults.push_back(toml_fault(
        {}, (kind + "-file-hostile").c_str(),
        fmt::format(
            "found more than 1 MiB, or brackets nested more than {} deep; expected a {} file",
            kDeepestNesting, kind)));
    return std::nullopt;
  }
  toml::parse_result parsed = toml::parse(text, origin);
  if (!parsed) {
    faults.push_back(toml_fault(parsed.error().source(), "toml-syntax",
                                std::string(parsed.error().description())));
    return std::nullopt;
  }
  return std::move(parsed).table();
}

std::optional<toml::table> load_toml(const std::string& path, const std::string& kind,
                                     std::vector<Diagnostic>& faults) {
  const auto text = read_file(path, kMostTomlBytes + 1);
  if (!text) {
    faults.push_back(toml_fault({}, "file-unreadable", fmt::format("{}: cannot be read", path)));
    return std::nullopt;
  }
  return parse_toml(*text, path, kind, faults);
}

}  // namespace platetally::base
