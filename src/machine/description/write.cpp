// A machine as TOML, each key with unit and range.
#include <fmt/format.h>

#include "base/hash.hpp"
#include "machine/description/embedded.hpp"
#include "machine/description/keys.hpp"
#include "machine/description/motion_keys.hpp"
#include "platetally/made_from.hpp"

namespace platetally {

namespace {

using machine::Key;

using machine::value_text;

std::string quoted(const std::string& text) {
  std::string result = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\')
      result += '\\';
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f)
      result += fmt::format("\\u{:04x}", static_cast<unsigned>(static_cast<unsigned char>(c)));
    else
      result += c;
  }
  return result + '"';
}

std::string comment_text(const Key& key) {
  std::string comment = key.meaning;
  const auto add = [&comment](const std::string& more) {
    comment += (comment.empty() ? "" : "; ") + more;
  };
  if (const auto* choice = std::get_if<machine::ChoiceAt>(&key.value))
    add(fmt::format("{}", fmt::join(choice->names, " | ")));
  else if (key.high > key.low && !std::holds_alternative<machine::FlagAt>(key.value))
    add(fmt::format("{} .. {}{}{}", key.low, key.high, key.unit.empty() ? "" : " ", key.unit));
  return comment;
}

/// A corner key of another model than the machine's, at its default.
bool is_idle(const Key& key, Machine& machine) {
  Machine defaults;
  return !machine::has_effect(key.name, machine.motion.corner_model) &&
         value_text(key, machine) == value_text(key, defaults);
}

/// Whether comments are written as well, or values alone.
enum class With { comments, values_alone };

void write_keys(const std::vector<Key>& keys, const std::string& table, Machine& machine, With with,
                std::string& out) {
  for (const Key& key : keys) {
    if (key.table != table)
      continue;
    // What a machine is called makes it no other machine.
    if (with == With::values_alone && table.empty() &&
        (key.name == "name" || key.name == "description"))
      continue;
    const std::string comment = with == With::comments ? comment_text(key) : "";
    if (table == "motion" && is_idle(key, machine))
      out += "# ";
    out += fmt::format("{} = {}", key.name, value_text(key, machine));
    out += comment.empty() ? "\n" : fmt::format("  # {}\n", comment);
  }
}

void write_dialect_lists(const Dialect& dialect, std::string& out) {
  for (const DialectRow& row : dialect.rows) {
    out += fmt::format(
        "\n[[dialect.rows]]\nword = {}\naction = {}\nseconds = {}\ntake_first_branch = {}\n",
        quoted(row.word), quoted(machine::action_names()[static_cast<std::size_t>(row.action)]),
        row.seconds, row.take_first_branch);
    if (row.keys.empty())
      continue;
    out += "keys = {";
    for (std::size_t i = 0; i < row.keys.size(); ++i)
      out += fmt::format("{} {} = {}", i == 0 ? "" : ",", quoted(row.keys[i].key),
                         quoted(row.keys[i].means));
    out += " }\n";
  }
  for (const CommentPattern& pattern : dialect.comments)
    out += fmt::format(
        "\n[[dialect.comments]]\nstarts_with = {}\nmeaning = {}\n", quoted(pattern.starts_with),
        quoted(machine::comment_meaning_names()[static_cast<std::size_t>(pattern.meaning)]));
}

std::string written(const Machine& machine, With with) {
  Machine copy = machine;
  std::string out;
  const std::vector<Key> keys = machine::machine_keys();
  for (const std::string& table : machine::table_order()) {
    if (!table.empty())
      out += fmt::format("\n[{}]\n", table);
    write_keys(keys, table, copy, with, out);
  }
  write_dialect_lists(machine.dialect, out);
  for (std::size_t i = 0; i < machine.waste_areas.size(); ++i) {
    out += "\n[[waste_areas]]\n";
    write_keys(machine::waste_area_keys(i), "waste_areas", copy, with, out);
  }
  for (std::size_t i = 0; i < machine.swap_pairs.size(); ++i) {
    out += "\n[[swap_pairs]]\n";
    write_keys(machine::swap_pair_keys(i), "swap_pairs", copy, with, out);
  }
  for (std::size_t i = 0; i < machine.heads.size(); ++i) {
    out += "\n[[heads]]\n";
    write_keys(machine::head_keys(i), "heads", copy, with, out);
  }
  for (std::size_t i = 0; i < machine.tools.size(); ++i) {
    out += "\n[[tools]]\n";
    write_keys(machine::tool_keys(i), "tools", copy, with, out);
  }
  return out;
}

}  // namespace

std::string machine::value_text(const Key& key, Machine& machine) {
  if (const auto* number = std::get_if<machine::NumberAt>(&key.value))
    return fmt::format("{}", number->at(machine));
  if (const auto* integer = std::get_if<machine::IntegerAt>(&key.value))
    return fmt::format("{}", integer->at(machine));
  if (const auto* flag = std::get_if<machine::FlagAt>(&key.value))
    return flag->at(machine) ? "true" : "false";
  if (const auto* text = std::get_if<machine::TextAt>(&key.value))
    return quoted(text->at(machine));
  if (const auto* range = std::get_if<machine::RangeAt>(&key.value)) {
    const Range& band = range->at(machine);
    return fmt::format("[{}, {}, {}]", band.low, band.expected, band.high);
  }
  const auto& choice = std::get<machine::ChoiceAt>(key.value);
  const std::string& name = choice.names[static_cast<std::size_t>(choice.get(machine))];
  return name == "true" || name == "false" ? name : quoted(name);
}

std::string machine_to_toml(const Machine& machine) {
  return written(machine, With::comments);
}

std::string machine_hash(const Machine& machine) {
  return base::hash_of_text(written(machine, With::values_alone));
}

MachineUsed used(const Machine& machine) {
  return {machine.name, machine_hash(machine)};
}

}  // namespace platetally
