// Files of keys and values: values are checked as they are read, and every fault is kept with its
// place.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/toml.hpp"
#include "platetally/diagnostic.hpp"
#include "platetally/range.hpp"

namespace platetally::base {

/// What a key's value is read into, and under which name.
struct TomlKey {
  std::string name;
  std::function<void(const toml::node& value, const std::string& path)> read;
  const char* required = nullptr;  ///< what is expected where the key is missing; nullptr: nothing
};

class TomlReader {
 public:
  explicit TomlReader(std::vector<Diagnostic>& faults) : faults_(faults) {}

  void fault(const toml::source_region& at, const char* code, std::string message);
  void wrong_type(const toml::node& value, const std::string& path, const std::string& expected);
  /// A key that `names` do not hold.
  void unknown_key(const toml::source_region& at, const std::string& path, const std::string& word,
                   const std::vector<std::string>& names);

  // A value, or nothing where it is a fault. `path`: what it is called, such as "bed.rows".
  std::optional<double> number(const toml::node& value, const std::string& path);
  std::optional<double> number(const toml::node& value, const std::string& path, double low,
                               double high);
  std::optional<std::int64_t> whole_number(const toml::node& value, const std::string& path,
                                           std::int64_t low, std::int64_t high);
  std::optional<bool> flag(const toml::node& value, const std::string& path);
  std::optional<std::string> text(const toml::node& value, const std::string& path);
  /// A number, or [low, expected, high].
  std::optional<Range> range(const toml::node& value, const std::string& path);
  /// Which of the names.
  std::optional<std::size_t> choice(const toml::node& value, const std::string& path,
                                    const std::vector<std::string>& names);
  /// nullptr where it is a fault.
  const toml::table* table(const toml::node& value, const std::string& path);
  /// Tables in double brackets; those entries that are none are faults.
  std::vector<const toml::table*> tables(const toml::node& value, const std::string& path);

  /// Reads a table's entries, in the order of the file, by the keys of those names; any other is a
  /// fault, and so is one that is required and missing. `path`: what stands before its keys' names,
  /// "bed." or nothing.
  void keys(const toml::table& table, const std::string& path, const std::vector<TomlKey>& keys);

  /// Keys whose value is put in `place`, which may be optional.
  template <typename Place>
  TomlKey number_key(const char* name, double low, double high, Place& place,
                     const char* required = nullptr) {
    const auto read = [this, low, high, &place](const toml::node& value, const std::string& path) {
      if (const auto read_value = number(value, path, low, high))
        place = *read_value;
    };
    return {name, read, required};
  }
  TomlKey text_key(const char* name, std::string& place, const char* required = nullptr);

 private:
  std::vector<Diagnostic>& faults_;
};

/// The root of a file's text, or nothing and a fault. `kind`: "machine", "prices"; refused are
/// texts that are larger or nested deeper than any such file. `origin`: its name in messages.
std::optional<toml::table> parse_toml(std::string_view text, const std::string& origin,
                                      const std::string& kind, std::vector<Diagnostic>& faults);

/// The same of a file; "file-unreadable" where it cannot be read.
std::optional<toml::table> load_toml(const std::string& path, const std::string& kind,
                                     std::vector<Diagnostic>& faults);

inline constexpr std::size_t kMostTomlBytes = 1 << 20;

}  // namespace platetally::base
