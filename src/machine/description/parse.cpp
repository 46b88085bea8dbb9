// TOML in.
#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <optional>
#include <sstream>

#include "base/toml.hpp"
#include "machine/description/embedded.hpp"
#include "machine/description/keys.hpp"
#include "machine/description/motion_keys.hpp"
#include "machine/description/suggest.hpp"

namespace platetally {

namespace {

using machine::Key;

constexpr std::size_t kMostText = 1 << 20;
constexpr std::size_t kDeepestNesting = 32;

/// Brackets nested deeper than any machine file needs would only test the parser's stack.
bool nests_too_deep(std::string_view text) {
  std::size_t depth = 0;
  for (const char c : text) {
    if (c == '[' || c == '{')
      ++depth;
    else if ((c == ']' || c == '}') && depth > 0)
      --depth;
    else if (c == '\n' && depth < 8)
      depth = 0;
    if (depth > kDeepestNesting)
      return true;
  }
  return false;
}

class Reader {
 public:
  explicit Reader(MachineLoad& load) : load_(load) {}

  void fault(const toml::source_region& where, const char* code, std::string message) {
    Diagnostic diagnostic;
    diagnostic.code = code;
    diagnostic.severity = Severity::error;
    diagnostic.line = where.begin.line;
    diagnostic.column = where.begin.column;
    diagnostic.message = std::move(message);
    load_.diagnostics.push_back(std::move(diagnostic));
  }

  void wrong_type(const toml::node& node, const std::string& key, const char* expected) {
    fault(node.source(), "key-type",
          fmt::format("{}: found {}; expected {}", key, kind_of(node), expected));
  }

  /// Reads what `key` names from `node` into the machine.
  void read(const Key& key, const toml::node& node) {
    const std::string path = key.table.empty() ? key.name : key.table + "." + key.name;
    Machine& target = load_.machine;
    if (const auto* number = std::get_if<machine::NumberAt>(&key.value)) {
      if (const auto value = number_in(node))
        number->at(target) = *value;
      else
        wrong_type(node, path, "a number");
    } else if (const auto* integer = std::get_if<machine::IntegerAt>(&key.value)) {
      const auto value = node.value_exact<std::int64_t>();
      if (value && *value >= -1'000'000'000 && *value <= 1'000'000'000)
        integer->at(target) = static_cast<int>(*value);
      else
        wrong_type(node, path, "a whole number");
    } else if (const auto* flag = std::get_if<machine::FlagAt>(&key.value)) {
      if (const auto value = node.value_exact<bool>())
        flag->at(target) = *value;
      else
        wrong_type(node, path, "true or false");
    } else if (const auto* text = std::get_if<machine::TextAt>(&key.value)) {
      if (const auto value = node.value_exact<std::string>())
        text->at(target) = *value;
      else
        wrong_type(node, path, "a text in quotes");
    } else if (const auto* range = std::get_if<machine::RangeAt>(&key.value)) {
      read_range(range->at(target), node, path);
    } else {
      read_choice(std::get<machine::ChoiceAt>(key.value), node, path);
    }
  }

  /// Every entry of `table` must be one of `keys`, or one of `also`.
  void read_table(const toml::table& table, const std::string& name, const std::vector<Key>& keys,
                  const std::vector<std::string>& also = {}) {
    for (const auto& [entry, node] : table) {
      const std::string word(entry.str());
      const auto known = std::find_if(keys.begin(), keys.end(), [&](const Key& key) {
        return key.table == name && key.name == word;
      });
      if (known != keys.end()) {
        read(*known, node);
        continue;
      }
      if (std::find(also.begin(), also.end(), word) != also.end())
        continue;
      fault(entry.source(), "key-unknown",
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
    const toml::array* entries = node->as_array();
    if (entries == nullptr)
      return wrong_type(*node, name, "tables in double brackets");
    std::size_t made = 0;
    for (const toml::node& entry : *entries) {
      const toml::table* table = entry.as_table();
      if (table == nullptr) {
        wrong_type(entry, name, "a table");
        continue;
      }
      const std::int64_t repeats = table->get("count") == nullptr
                                       ? 1
                                       : table->get("count")->value<std::int64_t>().value_or(1);
      for (std::int64_t i = 0; i < std::clamp<std::int64_t>(repeats, 1, 64); ++i) {
        if (made++ == most) {
          fault(entry.source(), "too-many", fmt::format("{}: more than {}", name, most));
          return;
        }
        read_table(*table, name, add(), {"count"});
      }
    }
  }

  void read_rows(const toml::table& dialect);
  void read_key(DialectRow& row, const std::string& key, const toml::node& means);
  void read_comments(const toml::table& dialect);

 private:
  static const char* kind_of(const toml::node& node) {
    switch (node.type()) {
      case toml::node_type::string:
        return "a text";
      case toml::node_type::integer:
      case toml::node_type::floating_point:
        return "a number";
      case toml::node_type::boolean:
        return "true or false";
      case toml::node_type::array:
        return "an array";
      case toml::node_type::table:
        return "a table";
      default:
        return "a date or time";
    }
  }

  static std::optional<double> number_in(const toml::node& node) {
    if (!node.is_number())
      return std::nullopt;
    return node.value<double>();
  }

  void read_range(Range& range, const toml::node& node, const std::string& path) {
    if (const auto value = number_in(node)) {
      range = Range::exactly(*value);
      return;
    }
    const toml::array* parts = node.as_array();
    if (parts == nullptr || parts->size() != 3 || !number_in(*parts->get(0)) ||
        !number_in(*parts->get(1)) || !number_in(*parts->get(2)))
      return wrong_type(node, path, "a number or [low, expected, high]");
    range = {*number_in(*parts->get(0)), *number_in(*parts->get(1)), *number_in(*parts->get(2))};
  }

  void read_choice(const machine::ChoiceAt& choice, const toml::node& node,
                   const std::string& path) {
    const auto value = node.value_exact<std::string>();
    const auto found =
        value ? std::find(choice.names.begin(), choice.names.end(), *value) : choice.names.end();
    if (found == choice.names.end()) {
      fault(node.source(), "key-choice",
            fmt::format("{}: found {}; expected one of \"{}\"", path,
                        value ? "\"" + *value + "\"" : std::string(kind_of(node)),
                        fmt::join(choice.names, "\", \"")));
      return;
    }
    choice.set(load_.machine, static_cast<int>(found - choice.names.begin()));
  }

  std::string text_of(const toml::table& table, const char* key) {
    const toml::node* node = table.get(key);
    return node == nullptr ? std::string() : node->value<std::string>().value_or("");
  }

  void only_keys(const toml::table& table, const char* name,
                 const std::vector<std::string>& known) {
    for (const auto& [entry, node] : table) {
      const std::string word(entry.str());
      if (std::find(known.begin(), known.end(), word) == known.end())
        fault(entry.source(), "key-unknown",
              fmt::format("{}.{}: no such key; expected one like '{}'", name, word,
                          machine::nearest(word, known)));
    }
  }

  MachineLoad& load_;
};

void Reader::read_rows(const toml::table& dialect) {
  const toml::node* node = dialect.get("rows");
  if (node == nullptr)
    return;
  const toml::array* rows = node->as_array();
  if (rows == nullptr)
    return wrong_type(*node, "dialect.rows", "tables in double brackets");
  for (const toml::node& entry : *rows) {
    const toml::table* table = entry.as_table();
    if (table == nullptr) {
      wrong_type(entry, "dialect.rows", "a table");
      continue;
    }
    only_keys(*table, "dialect.rows", {"word", "action", "seconds", "take_first_branch", "keys"});
    DialectRow row;
    row.word = text_of(*table, "word");
    const auto& names = machine::action_names();
    const std::string action = text_of(*table, "action");
    const auto found = std::find(names.begin(), names.end(), action);
    if (row.word.empty() || found == names.end()) {
      fault(entry.source(), "dialect-row",
            fmt::format(
                "dialect.rows: found word \"{}\" with action \"{}\"; expected a word and one of "
                "\"{}\"",
                row.word, action, fmt::join(names, "\", \"")));
      continue;
    }
    row.action = static_cast<DialectAction>(found - names.begin());
    if (const toml::node* seconds = table->get("seconds"))
      row.seconds = seconds->value<double>().value_or(0.0);
    if (const toml::node* first = table->get("take_first_branch"))
      row.take_first_branch = first->value<bool>().value_or(true);
    if (const toml::node* keys = table->get("keys")) {
      if (const toml::table* pairs = keys->as_table())
        for (const auto& [key, means] : *pairs)
          read_key(row, std::string(key.str()), means);
      else
        wrong_type(*keys, "dialect.rows.keys", "a table such as { BED = \"bed_c\" }");
    }
    load_.machine.dialect.rows.push_back(std::move(row));
  }
}

void Reader::read_key(DialectRow& row, const std::string& key, const toml::node& means) {
  const std::vector<std::string> known = machine::key_meanings(row.action);
  const std::string meaning = means.value<std::string>().value_or("");
  if (std::ranges::find(known, meaning) != known.end()) {
    row.keys.push_back({key, meaning});
    return;
  }
  const std::string action = machine::action_names()[static_cast<std::size_t>(row.action)];
  fault(means.source(), "dialect-key",
        known.empty()
            ? fmt::format("dialect.rows: word \"{}\", key {}: action \"{}\" takes no keys",
                          row.word, key, action)
            : fmt::format("dialect.rows: word \"{}\", key {}: found \"{}\"; for action \"{}\" "
                          "expected one of \"{}\"",
                          row.word, key, meaning, action, fmt::join(known, "\", \"")));
}

void Reader::read_comments(const toml::table& dialect) {
  const toml::node* node = dialect.get("comments");
  const toml::array* patterns = node == nullptr ? nullptr : node->as_array();
  if (patterns == nullptr)
    return;
  for (const toml::node& entry : *patterns) {
    const toml::table* table = entry.as_table();
    if (table == nullptr)
      continue;
    only_keys(*table, "dialect.comments", {"starts_with", "meaning"});
    CommentPattern pattern;
    pattern.starts_with = text_of(*table, "starts_with");
    const auto& names = machine::comment_meaning_names();
    const std::string meaning = text_of(*table, "meaning");
    const auto found = std::find(names.begin(), names.end(), meaning);
    if (pattern.starts_with.empty() || found == names.end()) {
      fault(entry.source(), "dialect-comment",
            fmt::format("dialect.comments: expected starts_with and a meaning, one of \"{}\"",
                        fmt::join(names, "\", \"")));
      continue;
    }
    pattern.meaning = static_cast<CommentMeaning>(found - names.begin());
    load_.machine.dialect.comments.push_back(std::move(pattern));
  }
}

void add_fault(MachineLoad& load, const char* code, std::uint64_t line, std::uint64_t column,
               std::string message) {
  Diagnostic diagnostic;
  diagnostic.code = code;
  diagnostic.severity = Severity::error;
  diagnostic.line = line;
  diagnostic.column = column;
  diagnostic.message = std::move(message);
  load.diagnostics.push_back(std::move(diagnostic));
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
    const toml::table* table = node->as_table();
    if (table == nullptr) {
      reader.wrong_type(*node, name, "a table in brackets");
      continue;
    }
    reader.read_table(*table, name, keys,
                      name == "dialect" ? std::vector<std::string>{"rows", "comments"}
                                        : std::vector<std::string>{});
    if (name == "dialect") {
      reader.read_rows(*table);
      reader.read_comments(*table);
    }
  }
  Machine& target = load.machine;
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

/// Keys of [motion] that the file leaves to the machine that it extends.
void note_inherited(const std::vector<machine::StatedKey>& stated, MachineLoad& load) {
  load.inherited_motion_keys.clear();
  for (const Key& key : machine::machine_keys())
    if (key.table == "motion" &&
        std::ranges::find(stated, key.name, &machine::StatedKey::name) == stated.end())
      load.inherited_motion_keys.push_back(
          fmt::format("{} = {}", key.name, machine::value_text(key, load.machine)));
}

}  // namespace

bool MachineLoad::ok() const {
  return std::none_of(diagnostics.begin(), diagnostics.end(), [](const Diagnostic& diagnostic) {
    return diagnostic.severity == Severity::error;
  });
}

MachineLoad parse_machine(std::string_view toml_text, const std::string& origin) {
  MachineLoad load;
  if (toml_text.size() > kMostText || nests_too_deep(toml_text)) {
    add_fault(load, "machine-file-hostile", 0, 0,
              fmt::format("found more than 1 MiB, or brackets nested more than {} deep; expected a "
                          "machine file",
                          kDeepestNesting));
    return load;
  }
  const toml::parse_result parsed = toml::parse(toml_text, origin);
  if (!parsed) {
    const toml::parse_error& error = parsed.error();
    add_fault(load, "toml-syntax", error.source().begin.line, error.source().begin.column,
              std::string(error.description()));
    return load;
  }
  const toml::table& root = parsed.table();
  if (const toml::node* base = root.get("extends")) {
    const std::string name = base->value<std::string>().value_or("");
    const auto embedded = machine::embedded_toml(name);
    if (!embedded) {
      add_fault(load, "machine-unknown", base->source().begin.line, base->source().begin.column,
                fmt::format("extends \"{}\"; expected one of {}", name,
                            fmt::join(embedded_machine_names(), ", ")));
      return load;
    }
    load = parse_machine(*embedded, name);
    load.extends = name;
  }
  const Machine before = load.machine;
  const std::vector<machine::StatedKey> stated = stated_motion_keys(root);
  Reader reader(load);
  read_root(root, reader, load);
  machine::check_motion_keys(stated, before, load);
  note_inherited(stated, load);
  for (Diagnostic& fault : validate(load.machine))
    load.diagnostics.push_back(std::move(fault));
  return load;
}

MachineLoad load_machine(const std::string& name_or_path) {
  if (const auto text = machine::embedded_toml(name_or_path))
    return parse_machine(*text, name_or_path);
  std::ifstream file(name_or_path, std::ios::binary);
  std::string text(kMostText + 1, '\0');
  if (file)
    file.read(text.data(), static_cast<std::streamsize>(text.size()));
  if (!file.is_open() || file.bad() || (file.fail() && file.gcount() == 0 && !file.eof())) {
    MachineLoad load;
    add_fault(load, "machine-unknown", 0, 0,
              fmt::format(
                  "no machine '{}': it is neither an embedded machine ({}) nor a file that can be "
                  "read",
                  name_or_path, fmt::join(embedded_machine_names(), ", ")));
    return load;
  }
  text.resize(static_cast<std::size_t>(file.gcount()));
  return parse_machine(text, name_or_path);
}

}  // namespace platetally
