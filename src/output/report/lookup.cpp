// Values by key: what --get, --limit and --list-keys ask for.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "base/nearest.hpp"
#include "output/report/fields.hpp"
#include "output/report/lookup.hpp"
#include "output/report/strings.hpp"
#include "platetally/account.hpp"
#include "platetally/report.hpp"

namespace platetally {

namespace {

using report::Field;
using report::Section;
using report::Value;

/// A key taken apart: the field, and which row of its section is meant.
struct Place {
  const Section* section = nullptr;
  const Field* field = nullptr;
  std::string_view row_name;
};

bool is_row_name(const Section& section, std::string_view name) {
  if (name.empty())
    return false;
  if (section.kind_of_row_name != report::RowName::numbers)
    return true;
  const auto dots = [](std::string_view text) { return std::count(text.begin(), text.end(), '.'); };
  const auto digit_or_dot = [](char c) { return (c >= '0' && c <= '9') || c == '.'; };
  return std::all_of(name.begin(), name.end(), digit_or_dot) &&
         dots(name) == dots(section.row_name) && name.front() != '.' && name.back() != '.';
}

/// Names of words and codes may hold dots ("M104.7"), so the field is taken from the end.
Place find_in_section(const Section& section, std::string_view rest) {
  Place place;
  for (const Field& field : section.fields) {
    if (section.row_name.empty()) {
      if (field.key == rest)
        return {&section, &field, {}};
      continue;
    }
    if (!rest.ends_with(field.key) || rest.size() < field.key.size() + 2)
      continue;
    const std::string_view front = rest.substr(0, rest.size() - field.key.size());
    if (front.back() != '.' || !is_row_name(section, front.substr(0, front.size() - 1)))
      continue;
    if (place.field == nullptr || field.key.size() > place.field->key.size())
      place = {&section, &field, front.substr(0, front.size() - 1)};
  }
  return place;
}

Place find_place(std::string_view key) {
  for (const Section& section : report::sections())
    if (key.starts_with(section.name) && key.size() > section.name.size() &&
        key[section.name.size()] == '.')
      if (const Place place = find_in_section(section, key.substr(section.name.size() + 1));
          place.field != nullptr)
        return place;
  return find_in_section(report::section("totals"), key);
}

std::optional<Value> find_value(const Account& account, const Place& place) {
  for (std::size_t row = 0; row < place.section->rows(account); ++row)
    if (place.section->name_of_row(account, row) == place.row_name)
      return place.field->get(account, row);
  return std::nullopt;
}

std::string key_of(const Section& section, const Field& field) {
  if (section.row_name.empty())
    return fmt::format("{}.{}", section.name, field.key);
  return fmt::format("{}.{}.{}", section.name, section.row_name, field.key);
}

std::string nearest_key(std::string_view key) {
  std::vector<std::string> names;
  for (const Section& section : report::sections())
    for (const Field& field : section.fields) {
      names.push_back(key_of(section, field));
      if (section.name == "totals")
        names.emplace_back(field.key);
    }
  return base::nearest(key, names);
}

std::optional<double> number_of(const Value& value) {
  if (const auto* count = std::get_if<std::uint64_t>(&value))
    return static_cast<double>(*count);
  if (const auto* number = std::get_if<std::int64_t>(&value))
    return static_cast<double>(*number);
  if (const auto* real = std::get_if<double>(&value); real != nullptr && std::isfinite(*real))
    return *real;
  return std::nullopt;
}

/// The number to hold against a limit; a row that is not there counts as zero.
std::optional<double> number_for_limit(const Account& account, const Place& place) {
  const std::optional<Value> value = find_value(account, place);
  return value ? number_of(*value) : 0.0;
}

}  // namespace

std::string report::full_key(std::string_view key) {
  const Place place = find_place(key);
  if (place.field == nullptr)
    throw std::invalid_argument(*fault_of_key(key));
  return place.section->name == "totals" && !key.starts_with("totals.")
             ? fmt::format("totals.{}", key)
             : std::string(key);
}

std::optional<double> report::number_at(const Account& account, std::string_view key) {
  const Place place = find_place(key);
  return place.field == nullptr ? std::nullopt : number_for_limit(account, place);
}

std::vector<FieldInfo> list_fields() {
  std::vector<FieldInfo> all;
  for (const Section& section : report::sections())
    for (const Field& field : section.fields)
      all.push_back({key_of(section, field), std::string(field.unit), std::string(field.title),
                     std::string(field.note)});
  return all;
}

std::optional<std::string> fault_of_key(std::string_view key) {
  if (find_place(key).field != nullptr)
    return std::nullopt;
  return fmt::format("no value is called '{}'; the nearest is '{}'", report::printable(key),
                     nearest_key(key));
}

std::optional<std::string> fault_of_limit(std::string_view key) {
  if (auto fault = fault_of_key(key))
    return fault;
  if (!find_place(key).field->is_number())
    return fmt::format("'{}' is no number and cannot have a limit", key);
  return std::nullopt;
}

std::optional<std::string> get_field(const Account& account, std::string_view key) {
  const Place place = find_place(key);
  if (place.field == nullptr)
    return std::nullopt;
  const std::optional<Value> value = find_value(account, place);
  if (!value)
    return std::nullopt;
  return report::valid_utf8(report::plain(*value));
}

std::optional<double> get_number(const Account& account, std::string_view key) {
  const Place place = find_place(key);
  if (place.field == nullptr)
    return std::nullopt;
  const std::optional<Value> value = find_value(account, place);
  return value ? number_of(*value) : std::nullopt;
}

std::size_t count_rows(const Account& account, std::string_view section) {
  for (const Section& one : report::sections())
    if (one.name == section)
      return one.rows(account);
  return 0;
}

std::optional<std::vector<double>> get_column(const Account& account, std::string_view key) {
  const std::size_t dot = std::min(key.find('.'), key.size());
  for (const Section& section : report::sections())
    for (const Field& field : section.fields) {
      if (section.name != key.substr(0, dot) || dot == key.size() ||
          field.key != key.substr(dot + 1) || section.row_name.empty() || !field.is_number())
        continue;
      std::vector<double> column(section.rows(account));
      for (std::size_t row = 0; row < column.size(); ++row)
        column[row] = number_of(field.get(account, row)).value_or(std::nan(""));
      return column;
    }
  return std::nullopt;
}

LimitCheck check_limits(const Account& account,
                        const std::vector<std::pair<std::string, double>>& limits) {
  LimitCheck check;
  check.partial = !limits.empty() && account.reading.is_partial();
  for (const auto& [key, limit] : limits) {
    if (auto fault = fault_of_limit(key)) {
      check.errors.push_back(*fault);
      continue;
    }
    const std::optional<double> value = number_for_limit(account, find_place(key));
    if (!value || std::isnan(limit))
      check.errors.push_back(fmt::format("the limit {} of '{}' cannot be checked: {}",
                                         report::exact_number(limit), key,
                                         value ? "it is no number" : "its value is not known"));
    else if (*value > limit)
      check.breaches.push_back({key, *value, limit});
  }
  return check;
}

}  // namespace platetally
