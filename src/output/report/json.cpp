// The JSON of an account: one line a row, so that a long file still reads and compares well.
#include <fmt/format.h>

#include "output/report/fields.hpp"
#include "output/report/strings.hpp"
#include "platetally/account.hpp"
#include "platetally/report.hpp"

namespace platetally {

namespace {

using report::Field;
using report::Section;
using report::Value;

std::string to_json(const Value& value) {
  if (const auto* text = std::get_if<std::string>(&value))
    return report::json_string(*text);
  if (const auto* list = std::get_if<std::vector<std::int64_t>>(&value))
    return fmt::format("[{}]", fmt::join(*list, ", "));
  return report::plain(value);
}

std::string member(std::string_view name, std::string_view json) {
  return fmt::format("{}: {}", report::json_string(name), json);
}

/// One text a member; fields with an owner are an object.
std::vector<std::string> members(const Section& section, const Account& account, std::size_t row) {
  std::vector<std::string> out;
  for (const std::span<const Field> fields : report::members_of(section.fields)) {
    const std::string_view owner = report::owner_of(fields.front());
    if (owner.empty()) {
      out.push_back(member(fields.front().key, to_json(fields.front().get(account, row))));
      continue;
    }
    std::vector<std::string> nested;
    for (const Field& field : fields)
      nested.push_back(
          member(field.key.substr(owner.size() + 1), to_json(field.get(account, row))));
    out.push_back(member(owner, fmt::format("{{{}}}", fmt::join(nested, ", "))));
  }
  return out;
}

std::string to_json(const Section& section, const Account& account) {
  constexpr std::size_t kFewFields = 4;  // an object with more has a line for each
  if (section.row_name.empty()) {
    const std::vector<std::string> all = members(section, account, 0);
    return section.fields.size() > kFewFields
               ? fmt::format("{{\n    {}\n  }}", fmt::join(all, ",\n    "))
               : fmt::format("{{{}}}", fmt::join(all, ", "));
  }
  std::vector<std::string> rows;
  for (std::size_t row = 0; row < section.rows(account); ++row)
    rows.push_back(fmt::format("{{{}}}", fmt::join(members(section, account, row), ", ")));
  return rows.empty() ? "[]" : fmt::format("[\n    {}\n  ]", fmt::join(rows, ",\n    "));
}

}  // namespace

std::string to_json(const Account& account) {
  std::string out = fmt::format("{{\n  \"schema\": {}", report::json_string(kTallySchema));
  out += fmt::format(",\n  \"made_from\": {}", to_json(account.made_from));
  for (const Section& section : report::sections())
    out += fmt::format(",\n  {}: {}", report::json_string(section.name), to_json(section, account));
  return out + "\n}\n";
}

}  // namespace platetally
