// The JSON schema of an account, from the table that the JSON itself is written from.
#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "output/report/fields.hpp"
#include "output/report/schema_parts.hpp"
#include "platetally/account.hpp"
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

/// What a text can be, where that is a list that is known.
std::vector<std::string> values_of(std::string_view section, std::string_view key) {
  const std::string name = fmt::format("{}.{}", section, key);
  if (key == "grade")
    return report::grade_names();
  if (key == "severity")
    return report::severity_names();
  if (name == "reasons.code")
    return report::codes_of(CodeKind::verdict);
  if (name == "findings.code")
    return finding_codes();
  if (name == "diagnostics.code")
    return report::codes_of(CodeKind::plate);
  if (name == "tower.verdict")
    return {"no-swaps", "none", "tower", "undecided"};
  if (name == "time_band.cause")
    return {"motion",        "swap",  "long-swap",     "homing",     "probing",
            "start-and-end", "pause", "unknown-words", "past-errors"};
  if (name == "stated.what")
    return {"filament_mm", "filament_cm3", "filament_g", "layers", "time_s"};
  return {};
}

Json schema_of(const Field& field, std::string_view section) {
  Json schema = type_of(field.shape);
  if (const std::vector<std::string> values = values_of(section, field.key); !values.empty())
    schema["enum"] = values;
  schema["description"] = said_of(field);
  return schema;
}

Json schema_of(std::span<const Field> fields, std::string_view section) {
  Json schema = object();
  for (const std::span<const Field> member : report::members_of(fields)) {
    const std::string_view owner = report::owner_of(member.front());
    if (owner.empty()) {
      add(schema, member.front().key, schema_of(member.front(), section));
      continue;
    }
    Json nested = object();
    for (const Field& field : member)
      add(nested, field.key.substr(owner.size() + 1), schema_of(field, section));
    add(schema, owner, std::move(nested));
  }
  return schema;
}

}  // namespace

std::string report::urn_of(std::string_view schema) {
  std::string urn = fmt::format("urn:{}", schema);
  std::ranges::replace_if(
      urn, [](char c) { return c == '.' || c == '/'; }, ':');
  return urn;
}

std::vector<std::string> report::grade_names() {
  std::vector<std::string> names;
  for (const Grade grade : {Grade::ready, Grade::look, Grade::cannot})
    names.emplace_back(name_of(grade));
  return names;
}

std::vector<std::string> report::severity_names() {
  std::vector<std::string> names;
  for (const Severity severity : {Severity::note, Severity::warning, Severity::error})
    names.emplace_back(name_of(severity));
  return names;
}

std::vector<std::string> report::codes_of(CodeKind kind) {
  std::vector<std::string> codes;
  for (const CodePage& page : code_pages())
    if (page.kind == kind)
      codes.emplace_back(page.code);
  return codes;
}

nlohmann::ordered_json report::made_from_schema() {
  const Json text{{"type", "string"}};
  const Json hash{{"type", "string"},
                  {"pattern", "^[0-9a-f]{32}$"},
                  {"description", "128 bits (XXH3) in hexadecimal"}};
  Json plate_hash = hash;
  plate_hash["type"] = Json::array({"string", "null"});
  plate_hash["description"] = "of all bytes that lie at the path; null: not known";
  Json plate = object();
  add(plate, "path", text);
  add(plate, "hash", plate_hash);
  Json machine = object();
  add(machine, "name", text);
  add(machine, "hash", hash);
  Json made = object();
  made["description"] = "what the report was made from";
  add(made, "program", {{"type", "string"}, {"description", "version"}});
  add(made, "plates", {{"type", "array"}, {"items", plate}});
  add(made, "machines", {{"type", "array"}, {"items", machine}});
  add(made, "options", {{"type", "object"}, {"additionalProperties", text}});
  return made;
}

std::string tally_json_schema() {
  Json schema{{"$schema", "https://json-schema.org/draft/2020-12/schema"},
              {"$id", report::urn_of(kTallySchema)},
              {"title", kTallySchema}};
  schema.update(object());
  add(schema, "schema", {{"const", kTallySchema}});
  add(schema, "made_from", report::made_from_schema());
  for (const report::Section& section : report::sections()) {
    Json row = schema_of(section.fields, section.name);
    if (!section.row_name.empty())
      row = {{"type", "array"}, {"items", std::move(row)}};
    add(schema, section.name, std::move(row));
  }
  return schema.dump(1) + "\n";
}

}  // namespace platetally
