// The part of JSON Schema (2020-12) that the project's own schemas use, for tests that hold reports
// against them. A word of a schema that is not known here is a fault, so that none is passed over.
#pragma once

#include <algorithm>
#include <nlohmann/json.hpp>
#include <regex>
#include <string>
#include <vector>

namespace platetally::test {

using Json = nlohmann::ordered_json;

inline bool is_of_type(const Json& value, const std::string& type) {
  if (type == "null")
    return value.is_null();
  if (type == "boolean")
    return value.is_boolean();
  if (type == "integer")
    return value.is_number_integer();
  if (type == "number")
    return value.is_number();
  if (type == "string")
    return value.is_string();
  return type == "array" ? value.is_array() : type == "object" && value.is_object();
}

inline void hold_against(const Json& value, const Json& schema, const std::string& where,
                         std::vector<std::string>& faults);

inline void hold_members(const Json& value, const Json& schema, const std::string& where,
                         std::vector<std::string>& faults) {
  const Json properties = schema.value("properties", Json::object());
  for (const Json& name : schema.value("required", Json::array()))
    if (!value.contains(name.get<std::string>()))
      faults.push_back(where + ": lacks " + name.get<std::string>());
  for (const auto& [name, member] : value.items()) {
    if (properties.contains(name))
      hold_against(member, properties[name], where + "/" + name, faults);
    else if (schema.contains("additionalProperties"))
      hold_against(member, schema["additionalProperties"], where + "/" + name, faults);
    else
      faults.push_back(where + ": has " + name + ", of which the schema says nothing");
  }
}

inline void hold_items(const Json& value, const Json& schema, const std::string& where,
                       std::vector<std::string>& faults) {
  if (value.size() < schema.value("minItems", std::size_t{0}))
    faults.push_back(where + ": too few");
  if (schema.contains("maxItems") && value.size() > schema["maxItems"].get<std::size_t>())
    faults.push_back(where + ": too many");
  for (std::size_t i = 0; i < value.size(); ++i) {
    const std::string place = where + "/" + std::to_string(i);
    if (schema.contains("prefixItems") && i < schema["prefixItems"].size())
      hold_against(value[i], schema["prefixItems"][i], place, faults);
    else if (schema.contains("items"))
      hold_against(value[i], schema["items"], place, faults);
  }
}

inline void hold_against(const Json& value, const Json& schema, const std::string& where,
                         std::vector<std::string>& faults) {
  static const std::vector<std::string> kKnown{
      "type",  "enum",        "const",       "pattern",  "required", "properties",
      "items", "prefixItems", "minItems",    "maxItems", "minimum",  "additionalProperties",
      "oneOf", "title",       "description", "$id",      "$schema"};
  for (const auto& [word, said] : schema.items())
    if (std::ranges::find(kKnown, word) == kKnown.end())
      faults.push_back(where + ": the schema says " + word + ", which is not known here");
  if (schema.contains("oneOf")) {
    std::size_t fitting = 0;
    std::vector<std::string> why;
    for (const Json& choice : schema["oneOf"]) {
      std::vector<std::string> found;
      hold_against(value, choice, where, found);
      fitting += found.empty() ? 1 : 0;
      why.insert(why.end(), found.begin(), found.end());
    }
    if (fitting != 1)
      faults.push_back(where + ": fits " + std::to_string(fitting) + " of oneOf; " +
                       (why.empty() ? "" : why.front()));
    return;
  }
  if (schema.contains("const") && value != schema["const"])
    faults.push_back(where + ": is not " + schema["const"].dump());
  if (schema.contains("type")) {
    const Json types = schema["type"].is_array() ? schema["type"] : Json::array({schema["type"]});
    if (std::ranges::none_of(
            types, [&](const Json& type) { return is_of_type(value, type.get<std::string>()); })) {
      faults.push_back(where + ": " + value.dump() + " is no " + types.dump());
      return;
    }
  }
  if (schema.contains("enum") && std::ranges::find(schema["enum"], value) == schema["enum"].end())
    faults.push_back(where + ": " + value.dump() + " is none of those listed");
  if (schema.contains("minimum") && value.is_number() &&
      value.get<double>() < schema["minimum"].get<double>())
    faults.push_back(where + ": below the least");
  if (schema.contains("pattern") && value.is_string() &&
      !std::regex_search(value.get<std::string>(),
                         std::regex(schema["pattern"].get<std::string>())))
    faults.push_back(where + ": not of the pattern");
  if (value.is_object())
    hold_members(value, schema, where, faults);
  if (value.is_array())
    hold_items(value, schema, where, faults);
}

/// Where `value` is not as `schema` says, a line each.
inline std::vector<std::string> faults_against(const Json& value, const Json& schema) {
  std::vector<std::string> faults;
  hold_against(value, schema, "", faults);
  return faults;
}

/// The first key that an object of `text` has twice; a parser would keep one of them silently.
inline std::string key_that_stands_twice(const std::string& text) {
  std::vector<std::vector<std::string>> open;
  std::string twice;
  const auto look = [&](int, Json::parse_event_t event, Json& parsed) {
    if (event == Json::parse_event_t::object_start)
      open.emplace_back();
    if (event == Json::parse_event_t::object_end)
      open.pop_back();
    if (event == Json::parse_event_t::key) {
      const auto key = parsed.get<std::string>();
      if (std::ranges::find(open.back(), key) != open.back().end())
        twice = key;
      open.back().push_back(key);
    }
    return true;
  };
  const Json ignored = Json::parse(text, look);
  return twice;
}

}  // namespace platetally::test
