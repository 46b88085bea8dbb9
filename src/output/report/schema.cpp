// The JSON schema of an account, from the table that the JSON itself is written from.
#include <fmt/format.h>

#include "output/report/fields.hpp"
#include "output/report/strings.hpp"
#include "platetally/report.hpp"

namespace platetally {

namespace {

using report::Field;
using report::json_string;
using report::Shape;

std::string_view type_of(Shape shape) {
  switch (shape) {
    case Shape::number:
      return R"("type": "number")";
    case Shape::number_or_null:
      return R"("type": ["number", "null"])";
    case Shape::count:
      return R"("type": "integer", "minimum": 0)";
    case Shape::integer:
      return R"("type": "integer")";
    case Shape::text:
      return R"("type": "string")";
    case Shape::integers:
      break;
  }
  return R"("type": "array", "items": {"type": "integer"})";
}

std::string said_of(const Field& field) {
  std::string said(field.title);
  if (!field.unit.empty())
    said += fmt::format(", {}", field.unit);
  if (!field.note.empty())
    said += fmt::format("; {}", field.note);
  return said;
}

/// `members`: "name": schema; all of them required.
std::string object_of(const std::vector<std::pair<std::string, std::string>>& members) {
  std::vector<std::string> names, properties;
  for (const auto& [name, schema] : members) {
    names.push_back(json_string(name));
    properties.push_back(fmt::format("{}: {}", json_string(name), schema));
  }
  return fmt::format(R"({{"type": "object", "required": [{}], "properties": {{{}}}}})",
                     fmt::join(names, ", "), fmt::join(properties, ",\n"));
}

std::string schema_of(const Field& field) {
  return fmt::format(R"({{{}, "description": {}}})", type_of(field.shape),
                     json_string(said_of(field)));
}

std::string schema_of(std::span<const Field> fields) {
  std::vector<std::pair<std::string, std::string>> members;
  for (const std::span<const Field> member : report::members_of(fields)) {
    const std::string_view owner = report::owner_of(member.front());
    if (owner.empty()) {
      members.emplace_back(member.front().key, schema_of(member.front()));
      continue;
    }
    std::vector<std::pair<std::string, std::string>> nested;
    for (const Field& field : member)
      nested.emplace_back(field.key.substr(owner.size() + 1), schema_of(field));
    members.emplace_back(owner, object_of(nested));
  }
  return object_of(members);
}

}  // namespace

std::string tally_json_schema() {
  std::vector<std::pair<std::string, std::string>> members{
      {"schema", fmt::format(R"({{"const": {}}})", json_string(kTallySchema))}};
  for (const report::Section& section : report::sections()) {
    const std::string row = schema_of(section.fields);
    members.emplace_back(
        section.name,
        section.row_name.empty() ? row : fmt::format(R"({{"type": "array", "items": {}}})", row));
  }
  std::string object = object_of(members);
  return fmt::format(
      "{{\"$schema\": \"https://json-schema.org/draft/2020-12/schema\", \"title\": {}, {}\n",
      json_string(kTallySchema), object.substr(1));
}

}  // namespace platetally
