#include "output/report/flat.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "output/report/lookup.hpp"
#include "output/report/strings.hpp"

namespace platetally::report {

namespace {

constexpr std::string_view kUnbounded[] = {"layers", "findings", "diagnostics", "unaccounted",
                                           "limits_read"};

bool is_zero(const Value& value) {
  if (const auto* real = std::get_if<double>(&value))
    return *real == 0.0;
  if (const auto* count = std::get_if<std::uint64_t>(&value))
    return *count == 0;
  const auto* number = std::get_if<std::int64_t>(&value);
  return number != nullptr && *number == 0;
}

}  // namespace

std::vector<std::string_view> number_keys(const Section& section) {
  std::vector<std::string_view> keys;
  for (const Field& field : section.fields)
    if (field.is_number())
      keys.push_back(field.key);
  return keys;
}

bool is_flat(std::string_view key) {
  return std::none_of(std::begin(kUnbounded), std::end(kUnbounded), [&](std::string_view name) {
    return key.starts_with(name) && key.size() > name.size() && key[name.size()] == '.';
  });
}

std::string flat_json(const Account& account, const std::vector<std::string>& more) {
  std::string out = "{";
  const auto add = [&](std::string_view key, std::string_view value) {
    out += fmt::format("{}{}: {}", out.size() > 1 ? ", " : "", json_string(key), value);
  };
  for (const Section& section : sections()) {
    if (std::find(std::begin(kUnbounded), std::end(kUnbounded), section.name) !=
        std::end(kUnbounded))
      continue;
    for (std::size_t row = 0; row < section.rows(account); ++row)
      for (const Field& field : section.fields) {
        if (!field.is_number())
          continue;
        const Value value = field.get(account, row);
        if (section.row_name.empty())
          add(fmt::format("{}.{}", section.name, field.key), plain(value));
        else if (!is_zero(value))
          add(fmt::format("{}.{}.{}", section.name, section.name_of_row(account, row), field.key),
              plain(value));
      }
  }
  for (const std::string& key : more)
    if (!is_flat(key)) {
      const std::optional<double> value = number_at(account, key);
      add(key, value ? exact_number(*value) : "null");
    }
  return out + "}";
}

}  // namespace platetally::report
