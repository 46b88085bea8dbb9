// machines NAME|FILE --learn: rows for the words of some plates that the machine file does not
// explain.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>
#include <mutex>
#include <thread>

#include "base/counted.hpp"
#include "output/cli/commands.hpp"
#include "output/cli/exit_codes.hpp"
#include "output/cli/learn.hpp"
#include "output/cli/machine_argument.hpp"
#include "output/cli/messages.hpp"
#include "output/cli/output.hpp"
#include "platetally/account.hpp"
#include "platetally/audit.hpp"

namespace platetally::cli {

namespace {

/// A word over all plates.
struct Learnt {
  std::uint64_t count = 0;
  std::uint64_t plates = 0;
  std::string first;  ///< "labels.gcode:12", the first in the order of names
  std::string why, row;
};
using Words = std::map<std::string, Learnt>;

void add(const std::string& name, const Account& account, Words& words) {
  for (const UnaccountedWord& word : account.unaccounted) {
    Learnt& learnt = words[word.word];
    learnt.count += word.count;
    ++learnt.plates;
    std::string first = fmt::format("{}:{}", name, word.first_line);
    const bool is_first = learnt.first.empty() || first < learnt.first;
    // What speaks for a meaning counts more than what says nothing; of several, that of the first.
    if (!word.why.empty() && (learnt.why.empty() || is_first)) {
      learnt.why = word.why;
      learnt.row = word.row;
    }
    if (is_first)
      learnt.first = std::move(first);
  }
}

std::string times(const Learnt& word) {
  return fmt::format("{} in {}, first in {}", base::counted(word.count, "time"),
                     base::counted(word.plates, "plate"), word.first);
}

std::string rows_of(const Words& words, std::uint64_t plates) {
  std::vector<const Words::value_type*> order;
  for (const auto& word : words)
    order.push_back(&word);
  std::stable_sort(order.begin(), order.end(),
                   [](const auto* a, const auto* b) { return a->second.count > b->second.count; });
  std::string out = fmt::format(
      "# Words of {} that the machine file does not explain. Each row is a guess: correct it, "
      "and paste it\n# into the machine file. docs/machine-words.md says what rows can do.\n",
      base::counted(plates, "plate"));
  std::string others;
  for (const auto* word : order) {
    const std::string name = harmless(word->first);
    if (word->second.row.empty())
      others += fmt::format("#   {}: {}\n", name, harmless(times(word->second)));
    else
      out += fmt::format("\n# {}: {}; {}\n{}", name, harmless(times(word->second)),
                         harmless(word->second.why), word->second.row);
  }
  if (!others.empty())
    out += "\n# Of these nothing says that they matter; action = \"ignore\" silences a word:\n" +
           others;
  return out;
}

}  // namespace

int learn_rows(const std::string& machine_name, const std::vector<std::string>& plates,
               const std::string& output_path) {
  const Machine machine = load_machine_argument(machine_name);
  Words words;
  std::mutex mutex;
  AuditOptions options;
  options.threads = static_cast<int>(std::max(1U, std::thread::hardware_concurrency()));
  options.on_account = [&](const std::string& path, const std::string& member,
                           const Account& account) {
    const std::lock_guard lock(mutex);
    add(member.empty() ? path : fmt::format("{}:{}", path, member), account, words);
  };
  Output output(output_path, "");
  const AuditReport report = audit(plates, machine, options);
  for (const AuditRow& row : report.rows)
    if (!row.error.empty())
      say(harmless(fmt::format("{}: {}", row.path, row.error)));
  for (const auto& [path, error] : report.faults)
    say(harmless(fmt::format("{}: {}", path, error)));
  output.write(rows_of(words, report.plates));
  return report.failed > 0 ? kFailed : kDone;
}

}  // namespace platetally::cli
