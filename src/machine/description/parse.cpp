// TOML in.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <optional>
#include <tuple>

#include "base/files.hpp"
#include "base/nearest.hpp"
#include "base/toml_reader.hpp"
#include "machine/description/embedded.hpp"
#include "machine/description/keys.hpp"
#include "machine/description/motion_keys.hpp"
#include "machine/description/suggest.hpp"

namespace platetally {

namespace {

using machine::Key;

constexpr std::int64_t kMostWhole = 1'000'000'000;

class Reader {
 public:
  explicit Reader(MachineLoad& load) : load_(load), reader_(load.diagnostics) {}

  base::TomlReader& values() { return reader_; }

  /// Where the table or key stands that a message begins with, as "bed.rows" or "heads[1].fan_w".
  void place(Diagnostic& fault) const {
    const auto found = places_.find(fault.message.substr(0, fault.message.find(':')));
    if (found == places_.end())
      return;
    fault.line = found->second.begin.line;
    fault.column = found->second.begin.column;
  }

  void note_place(const std::string& path, const toml::node& node) {
    places_.try_emplace(path, node.source());
  }

  /// Reads what `key` names from `node` into the machine; its range is checked later.
  void read(const Key& key, const toml::node& node, const std::string& entry) {
    const std::string path = key.table.empty() ? key.name : key.table + "." + key.name;
    note_place(key.table.empty() ? key.name : key.table + entry + "." + key.name, node);
    Machine& target = machine::as_read(load_);
    const auto put = [&target](const auto& place, const auto& value) {
      if (value)
        place.at(target) = *value;
    };
    if (const auto* number = std::get_if<machine::NumberAt>(&key.value))
      put(*number, reader_.number(node, path));
    else if (const auto* flag = std::get_if<machine::FlagAt>(&key.value))
      put(*flag, reader_.flag(node, path));
    else if (const auto* text = std::get_if<machine::TextAt>(&key.value))
      put(*text, reader_.text(node, path));
    else if (const auto* range = std::get_if<machine::RangeAt>(&key.value))
      put(*range, reader_.range(node, path));
    else if (const auto* integer = std::get_if<machine::IntegerAt>(&key.value)) {
      if (const auto value = reader_.whole_number(node, path, -kMostWhole, kMostWhole))
        integer->at(target) = static_cast<int>(*value);
    } else if (const auto* choice = std::get_if<machine::ChoiceAt>(&key.value)) {
      if (const auto value = reader_.choice(node, path, choice->names))
        choice->set(target, static_cast<int>(*value));
    }
  }

  /// Every entry of `table` must be one of `keys`, or one of `also`. `index`: "[1]" in an array.
  void read_table(const toml::table& table, const std::string& name, const std::vector<Key>& keys,
                  const std::vector<std::string>& also = {}, const std::string& index = "") {
    note_place(name + index, table);
    for (const auto& [entry, node] : table) {
      const std::string word(entry.str());
      const auto known = std::find_if(keys.begin(), keys.end(), [&](const Key& key) {
        return key.table == name && key.name == word;
      });
      if (known != keys.end())
        read(*known, node, index);
      else if (std::find(also.begin(), also.end(), word) == also.end())
        reader_.fault(
            entry.source(), "key-unknown",
            fmt::format("{}{}{}: no such key; expected one like {}", name, name.empty() ? "" : ".",
                        word, machine::suggested(word, name, keys, also)));
    }
  }

  /// [[name]] entries, each made by `add`, which returns its keys; `count` repeats an entry.
  template <typename Add>
  void read_array(const toml::table& root, const char* name, std::size_t most, Add add) {
    const toml::node* node = root.get(name);
    if (node == nullptr)
      return;
    note_place(name, *node);
    std::size_t made = 0;
    for (const toml::table* table : reader_.tables(*node, name)) {
      const toml::node* count = table->get("count");
      const std::string path = fmt::format("{}.count", name);
      const std::int64_t repeats =
          count == nullptr ? 1 : reader_.whole_number(*count, path, 1, 64).value_or(1);
      for (std::int64_t i = 0; i < repeats; ++i) {
        if (made == most) {
          reader_.fault(table->source(), "too-many", fmt::format("{}: more than {}", name, most));
          return;
        }
        read_table(*table, name, add(), {"count"}, fmt::format("[{}]", made++));
      }
    }
  }

  void read_rows(const toml::table& dialect);
  void read_comments(const toml::table& dialect);

 private:
  void read_row(const toml::table& table, const std::string& path);
  void read_comment(const toml::table& table, const std::string& path);
  void read_key(DialectRow& row, const std::string& key, const toml::node& means);

  MachineLoad& load_;
  base::TomlReader reader_;
  std::map<std::string, toml::source_region> places_;
};

void Reader::read_rows(const toml::table& dialect) {
  if (const toml::node* rows = dialect.get("rows"))
    for (const toml::table* table : reader_.tables(*rows, "dialect.rows"))
      read_row(*table, "dialect.rows.");
}

void Reader::read_row(const toml::table& table, const std::string& path) {
  DialectRow row;
  std::string action;
  const toml::table* keys = nullptr;
  const auto first = [&](const toml::node& value, const std::string& name) {
    row.take_first_branch = reader_.flag(value, name).value_or(true);
  };
  const auto pairs = [&](const toml::node& value, const std::string& name) {
    keys = value.as_table();
    if (keys == nullptr)
      reader_.wrong_type(value, name, "a table such as { BED = \"bed_c\" }");
  };
  reader_.keys(table, path,
               {reader_.text_key("word", row.word),
                reader_.text_key("action", action),
                reader_.number_key("seconds", 0.0, kMostOwnSeconds, row.seconds),
                {"take_first_branch", first},
                {"keys", pairs}});
  const auto& names = machine::action_names();
  const auto found = std::find(names.begin(), names.end(), action);
  if (row.word.empty() || found == names.end())
    return reader_.fault(
        table.source(), "dialect-row",
        fmt::format("dialect.rows: found word \"{}\" with action \"{}\"; expected a word and one "
                    "of \"{}\"",
                    row.word, action, fmt::join(names, "\", \"")));
  row.action = static_cast<DialectAction>(found - names.begin());
  if (keys != nullptr)
    for (const auto& [key, means] : *keys)
      read_key(row, std::string(key.str()), means);
  machine::as_read(load_).dialect.rows.push_back(std::move(row));
}

void Reader::read_key(DialectRow& row, const std::string& key, const toml::node& means) {
  const std::vector<std::string> known = machine::key_meanings(row.action);
  const std::string meaning = means.value<std::string>().value_or("");
  if (std::ranges::find(known, meaning) != known.end()) {
    row.keys.push_back({key, meaning});
    return;
  }
  const std::string action = machine::action_names()[static_cast<std::size_t>(row.action)];
  reader_.fault(
      means.source(), "dialect-key",
      known.empty()
          ? fmt::format("dialect.rows: word \"{}\", key {}: action \"{}\" takes no keys", row.word,
                        key, action)
          : fmt::format("dialect.rows: word \"{}\", key {}: found \"{}\"; for action \"{}\" "
                        "expected one of \"{}\"",
                        row.word, key, meaning, action, fmt::join(known, "\", \"")));
}

void Reader::read_comments(const toml::table& dialect) {
  if (const toml::node* patterns = dialect.get("comments"))
    for (const toml::table* table : reader_.tables(*patterns, "dialect.comments"))
      read_comment(*table, "dialect.comments.");
}

void Reader::read_comment(const toml::table& table, const std::string& path) {
  CommentPattern pattern;
  std::string meaning;
  reader_.keys(
      table, path,
      {reader_.text_key("starts_with", pattern.starts_with), reader_.text_key("meaning", meaning)});
  const auto& names = machine::comment_meaning_names();
  const auto found = std::find(names.begin(), names.end(), meaning);
  if (pattern.starts_with.find_first_not_of(" \t") == std::string::npos || found == names.end())
    return reader_.fault(
        table.source(), "dialect-comment",
        fmt::format(
            "dialect.comments: expected starts_with, which is not empty, and a meaning, one "
            "of \"{}\"",
            fmt::join(names, "\", \"")));
  pattern.meaning = static_cast<CommentMeaning>(found - names.begin());
  machine::as_read(load_).dialect.comments.push_back(std::move(pattern));
}

void read_root(const toml::table& root, Reader& reader, MachineLoad& load) {
  const std::vector<Key> keys = machine::machine_keys();
  const auto& tables = machine::table_order();
  std::vector<std::string> sections(tables.begin() + 1, tables.end());
  sections.insert(sections.end(), {"heads", "tools", "waste_areas", "swap_pairs", "extends"});
  reader.read_table(root, "", keys, sections);
  for (const std::string& name : tables) {
    const toml::node* node = name.empty() ? nullptr : root.get(name);
    if (node == nullptr)
      continue;
    const toml::table* table = reader.values().table(*node, name);
    if (table == nullptr)
      continue;
    reader.read_table(*table, name, keys,
                      name == "dialect" ? std::vector<std::string>{"rows", "comments"}
                                        : std::vector<std::string>{});
    if (name == "dialect") {
      reader.read_rows(*table);
      reader.read_comments(*table);
    }
  }
  Machine& target = machine::as_read(load);
  if (root.get("heads") != nullptr)
    target.heads.clear();
  if (root.get("tools") != nullptr)
    target.tools.clear();
  if (root.get("waste_areas") != nullptr)
    target.waste_areas.clear();
  if (root.get("swap_pairs") != nullptr)
    target.swap_pairs.clear();
  reader.read_array(root, "heads", 16, [&target] {
    target.heads.emplace_back();
    return machine::head_keys(target.heads.size() - 1);
  });
  reader.read_array(root, "tools", 32, [&target] {
    target.tools.emplace_back();
    return machine::tool_keys(target.tools.size() - 1);
  });
  reader.read_array(root, "waste_areas", 64, [&target] {
    target.waste_areas.emplace_back();
    return machine::waste_area_keys(target.waste_areas.size() - 1);
  });
  reader.read_array(root, "swap_pairs", 1024, [&target] {
    target.swap_pairs.emplace_back();
    return machine::swap_pair_keys(target.swap_pairs.size() - 1);
  });
}

std::vector<machine::StatedKey> stated_motion_keys(const toml::table& root) {
  std::vector<machine::StatedKey> stated;
  if (const toml::table* motion = root["motion"].as_table())
    for (const auto& [key, node] : *motion)
      stated.push_back(
          {std::string(key.str()), key.source().begin.line, key.source().begin.column});
  return stated;
}

/// In the order of the text; behind them what has no place there.
void sort_by_place(std::vector<Diagnostic>& diagnostics) {
  std::ranges::stable_sort(diagnostics, {}, [](const Diagnostic& one) {
    return std::tuple(one.line == 0, one.line, one.column);
  });
}

/// Keys of [motion] that the file leaves to the machine that it extends.
void note_inherited(const std::vector<machine::StatedKey>& stated, MachineLoad& load) {
  load.inherited_motion_keys.clear();
  for (const Key& key : machine::machine_keys())
    if (key.table == "motion" &&
        std::ranges::find(stated, key.name, &machine::StatedKey::name) == stated.end())
      load.inherited_motion_keys.push_back(
          fmt::format("{} = {}", key.name, machine::value_text(key, machine::as_read(load))));
}

}  // namespace

bool MachineLoad::ok() const {
  return std::none_of(diagnostics.begin(), diagnostics.end(), [](const Diagnostic& diagnostic) {
    return diagnostic.severity == Severity::error;
  });
}

namespace {

/// The first error, as one line.
std::string first_error(const std::vector<Diagnostic>& diagnostics) {
  for (const Diagnostic& one : diagnostics)
    if (one.severity == Severity::error)
      return one.line == 0 ? one.message
                           : fmt::format("{}:{}: {}", one.line, one.column, one.message);
  return "";
}

}  // namespace

Machine& machine::as_read(MachineLoad& load) {
  return load.machine_;
}

const Machine& MachineLoad::machine() const& {
  if (!ok())
    throw UnusableMachine(first_error(diagnostics));
  return machine_;
}

Machine MachineLoad::machine() && {
  return static_cast<const MachineLoad&>(*this).machine();
}

namespace {

/// "; did you mean 'changer-5'?", or nothing where no embedded machine has a name like it.
std::string perhaps_machine(const std::string& name) {
  constexpr std::size_t kSlip = 2;  // letters: assumed
  const std::string meant = base::nearest(name, embedded_machine_names(), kSlip);
  return meant.empty() ? "" : fmt::format("; did you mean '{}'?", meant);
}

}  // namespace

MachineLoad parse_machine(std::string_view toml_text, const std::string& origin) {
  MachineLoad load;
  const auto root = base::parse_toml(toml_text, origin, "machine", load.diagnostics);
  if (!root)
    return load;
  if (const toml::node* extended = root->get("extends")) {
    const std::string name = extended->value<std::string>().value_or("");
    const auto embedded = machine::embedded_toml(name);
    if (!embedded) {
      load.diagnostics.push_back(base::toml_fault(
          extended->source(), "machine-unknown",
          fmt::format("extends \"{}\"; expected one of {}{}", name,
                      fmt::join(embedded_machine_names(), ", "), perhaps_machine(name))));
      return load;
    }
    load = parse_machine(*embedded, name);
    load.extends = name;
  }
  const Machine before = machine::as_read(load);
  const std::vector<machine::StatedKey> stated = stated_motion_keys(*root);
  Reader reader(load);
  read_root(*root, reader, load);
  machine::check_motion_keys(stated, before, load);
  note_inherited(stated, load);
  for (Diagnostic& fault : validate(machine::as_read(load))) {
    reader.place(fault);
    load.diagnostics.push_back(std::move(fault));
  }
  sort_by_place(load.diagnostics);
  return load;
}

MachineLoad load_machine(const std::string& name_or_path) {
  if (const auto text = machine::embedded_toml(name_or_path))
    return parse_machine(*text, name_or_path);
  if (const auto text = base::read_file(name_or_path, base::kMostTomlBytes + 1))
    return parse_machine(*text, name_or_path);
  MachineLoad load;
  load.diagnostics.push_back(base::toml_fault(
      {}, "machine-unknown",
      fmt::format("no machine '{}': it is neither an embedded machine ({}) nor a file that can be "
                  "read{}",
                  name_or_path, fmt::join(embedded_machine_names(), ", "),
                  perhaps_machine(name_or_path))));
  return load;
}

}  // namespace platetally
