// The JSON schema of an account, from the table that the JSON itself is written from.
#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "output/report/fields.hpp"
#include "platetally/report.hpp"

namespace platetally {

namespace {

using Json = nlohmann::ordered_json;
using report::Field;
using report::Shape;

Json type_of(Shape shape) {
  switch (shape) {
    case Shape::number:
      return {{"type", "number"}};
    case Shape::number_or_null:
      return {{"type", {"number", "null"}}};
    case Shape::count:
      return {{"type", "integer"}, {"minimum", 0}};
    case Shape::integer:
      return {{"type", "integer"}};
    case Shape::text:
      return {{"type", "string"}};
    case Shape::integers:
      break;
  }
  return {{"type", "array"}, {"items", {{"type", "integer"}}}};
}

std::string said_of(const Field& field) {
  std::string said(field.title);
  if (!field.unit.empty())
    said += fmt::format(", {}", field.unit);
  if (!field.note.empty())
    said += fmt::format("; {}", field.note);
  return said;
}

/// Without members yet.
Json object() {
  return {{"type", "object"}, {"required", Json::array()}, {"properties", Json::object()}};
}

/// All members are required.
void add(Json& object, std::string_view name, Json schema) {
  object["required"].push_back(name);
  object["properties"][std::string(name)] = std::move(schema);
}

Json schema_of(const Field& field) {
  Json schema = type_of(field.shape);
  schema["description"] = said_of(field);
  return schema;
}

Json schema_of(std::span<const Field> fields) {
  Json schema = object();
  for (const std::span<const Field> member : report::members_of(fields)) {
    const std::string_view owner = report::owner_of(member.front());
    if (owner.empty()) {
      add(schema, member.front().key, schema_of(member.front()));
      continue;
    }
    Json nested = object();
    for (const Field& field : member)
      add(nested, field.key.substr(owner.size() + 1), schema_of(field));
    add(schema, owner, std::move(nested));
  }
  return schema;
}

}  // namespace

std::string tally_json_schema() {
  Json schema{{"$schema", "https://json-schema.org/draft/2020-12/schema"}, {"title", kTallySchema}};
  schema.update(object());
  add(schema, "schema", {{"const", kTallySchema}});
  for (const report::Section& section : report::sections()) {
    Json row = schema_of(section.fields);
    if (!section.row_name.empty())
      row = {{"type", "array"}, {"items", std::move(row)}};
    add(schema, section.name, std::move(row));
  }
  return schema.dump(1) + "\n";
}

}  // namespace platetally
