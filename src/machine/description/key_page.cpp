// The key table as a page of the manual.
#include <fmt/format.h>

#include "machine/description/embedded.hpp"
#include "machine/description/keys.hpp"

namespace platetally::machine {

namespace {

std::string range_text(const Key& key) {
  if (const auto* choice = std::get_if<ChoiceAt>(&key.value))
    return fmt::format("{}", fmt::join(choice->names, ", "));
  if (std::holds_alternative<FlagAt>(key.value))
    return "true, false";
  if (std::holds_alternative<TextAt>(key.value))
    return "text";
  return fmt::format("{} to {}{}{}", key.low, key.high, key.unit.empty() ? "" : " ", key.unit);
}

void add_rows(const std::vector<Key>& keys, const std::string& table, Machine& machine,
              std::string& page) {
  for (const Key& key : keys)
    if (key.table == table)
      page += fmt::format("| `{}` | {} | {} | {} |\n", key.name, range_text(key),
                          value_text(key, machine), key.meaning);
}

constexpr const char* kHead = "| key | range | default | meaning |\n|---|---|---|---|\n";

}  // namespace

std::string key_page() {
  Machine machine;
  machine.waste_areas.resize(1);
  machine.swap_pairs.resize(1);
  std::string page;
  const std::vector<Key> keys = machine_keys();
  for (const std::string& table : table_order()) {
    page += fmt::format("\n## {}\n\n{}", table.empty() ? "At the top" : "[" + table + "]", kHead);
    add_rows(keys, table, machine, page);
  }
  page += fmt::format("\n## [[heads]]\n\n`count = 5` repeats an entry.\n\n{}", kHead);
  add_rows(head_keys(0), "heads", machine, page);
  page += fmt::format("\n## [[tools]]\n\nThe first is T0, the second T1, and so on.\n\n{}", kHead);
  add_rows(tool_keys(0), "tools", machine, page);
  page += fmt::format("\n## [[waste_areas]]\n\n{}", kHead);
  add_rows(waste_area_keys(0), "waste_areas", machine, page);
  page += fmt::format("\n## [[swap_pairs]]\n\n{}", kHead);
  add_rows(swap_pair_keys(0), "swap_pairs", machine, page);
  page += fmt::format(
      "\n## [[dialect.rows]] and [[dialect.comments]]\n\nWords and comments of a machine's own; "
      "`machine-words.md` has a worked example.\n\nActions: {}.\nMeanings of comments: {}.\n",
      fmt::join(action_names(), ", "), fmt::join(comment_meaning_names(), ", "));
  return page;
}

}  // namespace platetally::machine
