// Each reason is a function that looks at the account and may add one; the worst of them is the
// verdict. A new reason is a function and a row in kReasons. Only what was read speaks for
// `cannot`: where a word that is not understood could change the matter, the plate is to be looked
// at.
#include "account/findings/verdict.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <initializer_list>

#include "account/whatif/replan.hpp"
#include "base/counted.hpp"

namespace platetally {

namespace findings {

namespace {

using Reasons = std::vector<VerdictReason>;

constexpr double kWideShare = 0.1;  // of the figure, either way: assumed

/// The first diagnostic of one of these codes; null if there is none.
const Diagnostic* find(const Account& account, std::initializer_list<std::string_view> codes) {
  for (const Diagnostic& diagnostic : account.diagnostics)
    if (std::ranges::find(codes, diagnostic.code) != codes.end())
      return &diagnostic;
  return nullptr;
}

/// What a diagnostic says, without what was expected and done instead.
std::string first_clause(const Diagnostic& diagnostic) {
  return diagnostic.message.substr(0, diagnostic.message.find("; "));
}

/// Named in words, such as HEAT_ALL: a macro of the machine's own, which may do anything.
bool is_macro(std::string_view word) {
  constexpr auto is_letter = [](char c) {
    return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z');
  };
  return word.size() > 2 && is_letter(word[0]) && is_letter(word[1]);
}

/// The first word without a meaning that may heat a head; empty if there is none.
std::string may_heat(const Account& account) {
  for (const UnaccountedWord& word : account.unaccounted)
    if (!word.why.empty())
      return word.word;
  for (const UnaccountedWord& word : account.unaccounted)
    if (is_macro(word.word))
      return word.word;
  return {};
}

/// What leaves in doubt where the material lies; empty if nothing does.
std::string may_shift(const Account& account) {
  if (account.reading.moves_left_out > 0)
    return base::counted(account.reading.moves_left_out, "move") + " could not be read";
  const Diagnostic* const offset =
      find(account, {"work-offset-ignored", "tool-offset-ignored", "word-not-modelled"});
  return offset == nullptr ? "" : first_clause(*offset);
}

/// First of all: what else is told of the plate is not what this machine would print.
void made_for_it(const Account& account, const Machine&, Reasons& reasons) {
  if (const Diagnostic* other = find(account, {whatif::kOtherMachine}))
    reasons.push_back({"sliced-for-other-machine", Grade::look,
                       fmt::format("{}; slice it for {}, or see what that would take with {}",
                                   first_clause(*other), account.machine,
                                   other->help.substr(0, other->help.find(" tells")))});
}

void fits_area(const Account& account, const Machine&, Reasons& reasons) {
  const Diagnostic* leaves = find(account, {"plate-leaves-area"});
  if (leaves == nullptr)
    return;
  const std::string way = leaves->help.substr(0, leaves->help.find("; "));
  const std::string doubt = may_shift(account);
  reasons.push_back(
      {"leaves-area", doubt.empty() ? Grade::cannot : Grade::look,
       fmt::format("it leaves the build area of {}{}{}", account.machine,
                   way.empty() ? "" : ": " + way, doubt.empty() ? "" : "; but " + doubt)});
}

void tools_there(const Account& account, const Machine& machine, Reasons& reasons) {
  std::vector<int> printing;
  std::vector<int> selected;
  for (const MissingTool& tool : account.missing_tools) {
    const bool prints = tool.filament_mm > 0.0 || tool.swaps > 0;
    if (prints)
      printing.push_back(tool.tool);
    else
      selected.push_back(tool.tool);
  }
  const auto named = [](const std::vector<int>& tools) {
    return fmt::format("{} {}", tools.size() == 1 ? "tool" : "tools", fmt::join(tools, ", "));
  };
  // A note is about numbers that stand for no tool.
  const Diagnostic* said = find(account, {"tool-not-on-machine"});
  if (!printing.empty())
    reasons.push_back({"tools-missing", Grade::cannot,
                       fmt::format("it prints with {}, and the last tool of {} is {}",
                                   named(printing), machine.name, machine.tools.size() - 1)});
  else if (said != nullptr && said->severity != Severity::note)
    reasons.push_back({"tools-missing", Grade::look,
                       fmt::format("it selects {}, which {} lacks, and feeds nothing there",
                                   named(selected), machine.name)});
}

void heads_heated(const Account& account, const Machine&, Reasons& reasons) {
  const Diagnostic* cold = find(account, {"nozzle-never-heated", "head-never-heated"});
  if (cold == nullptr)
    return;
  const std::string word = may_heat(account);
  if (!word.empty())
    reasons.push_back({"head-cold", Grade::look,
                       fmt::format("{}, unless {} does it", first_clause(*cold), word)});
  else
    reasons.push_back({"head-cold",
                       account.reading.lines_left_out > 0 ? Grade::look : Grade::cannot,
                       first_clause(*cold)});
}

void set_points_within(const Account& account, const Machine&, Reasons& reasons) {
  for (const char* code : {"nozzle-beyond-machine", "bed-beyond-machine"})
    if (const Diagnostic* beyond = find(account, {code}))
      reasons.push_back({"set-point-beyond", Grade::cannot, first_clause(*beyond)});
  if (const Diagnostic* beyond =
          find(account, {"enclosure-beyond-machine", "enclosure-not-heated"}))
    reasons.push_back({"enclosure-short", Grade::look, first_clause(*beyond)});
  if (const Diagnostic* never = find(account, {"target-unreachable"}))
    reasons.push_back({"target-unreachable", Grade::look, first_clause(*never)});
}

void read_whole(const Account& account, const Machine&, Reasons& reasons) {
  const ReadingAccount& reading = account.reading;
  if (!reading.broken.empty()) {
    reasons.push_back({"file-broken", Grade::cannot, "the file breaks off: " + reading.broken});
    return;
  }
  if (reading.is_partial()) {
    reasons.push_back({"file-partial", Grade::look, "only a part of the file could be read"});
    return;
  }
  std::uint64_t left_out = 0;
  for (const Diagnostic& diagnostic : account.diagnostics)
    if (diagnostic.severity == Severity::error && diagnostic.code != "tool-not-on-machine")
      left_out += diagnostic.count;
  if (left_out > 0)
    reasons.push_back({"left-out", Grade::look,
                       fmt::format("{} of the file could not be taken into the account",
                                   base::counted(left_out, "line"))});
}

void words_known(const Account& account, const Machine&, Reasons& reasons) {
  std::vector<std::string> words;
  for (const UnaccountedWord& word : account.unaccounted)
    if (!word.why.empty())
      words.push_back(word.word);
  constexpr std::size_t kMost = 3;
  const std::string more = words.size() > kMost ? ", ..." : "";
  words.resize(std::min(words.size(), kMost));
  if (!words.empty())
    reasons.push_back(
        {"words-unknown", Grade::look,
         fmt::format("words that may matter are not known: {}{}", fmt::join(words, ", "), more)});
}

/// The swap that is short of most, in words.
std::string worst_pair(const Account& account) {
  const auto worst = std::ranges::max_element(account.swap_pairs, {}, &SwapPairAccount::short_g);
  const auto name = [&](int tool) {
    const std::string& colour = account.tools[static_cast<std::size_t>(tool)].colour;
    return colour.empty() || colour.starts_with('#') ? fmt::format("tool {}", tool) : colour;
  };
  return fmt::format("{} after {} gets {:.2g} of the {:.2g} g that it needs", name(worst->to),
                     name(worst->from), worst->purge_g / static_cast<double>(worst->count),
                     worst->needed_each_high_g.value_or(0.0));
}

void purged_enough(const Account& account, const Machine&, Reasons& reasons) {
  const Totals& totals = account.totals;
  std::uint64_t swaps_short = 0;
  for (const SwapPairAccount& pair : account.swap_pairs)
    swaps_short += pair.swaps_short;
  if (swaps_short > 0) {
    reasons.push_back({"purge-short", Grade::look,
                       fmt::format("{}: {} may show the colour before", worst_pair(account),
                                   base::counted(swaps_short, "swap"))});
  } else if (totals.swaps > 0 && !totals.swaps_short &&
             find(account, {whatif::kOtherMachine}) == nullptr) {
    reasons.push_back({"colours-unknown", Grade::ready,
                       "whether enough is purged was not checked: the colours are not known"});
  }
}

void purge_known(const Account& account, const Machine&, Reasons& reasons) {
  const Totals& totals = account.totals;
  const double all_g = totals.part_g + totals.purge_g + totals.start_up_g;
  if (totals.purge_high_g - totals.purge_low_g > kWideShare * all_g)
    reasons.push_back({"purge-undecided", Grade::look,
                       fmt::format("what is purge is not decided: {:.1f} to {:.1f} g; a waste area "
                                   "or a comment pattern in the machine file tells",
                                   totals.purge_low_g, totals.purge_high_g)});
}

/// Bands that are wide for a reason that the user can mend.
void time_known(const Account& account, const Machine&, Reasons& reasons) {
  constexpr std::pair<std::string_view, std::string_view> kMendable[] = {
      {"unknown-words", "words that are not known; the machine file can say what they take"},
      {"homing", "homing, whose seconds the machine file can state closer"},
      {"probing", "probing, whose seconds the machine file can state closer"},
      {"pause", "pauses, whose length the machine file can state closer"}};
  const double least_s = kWideShare * account.totals.time.expected;
  for (const TimeBandCause& cause : account.totals.time_band)
    for (const auto& [name, what] : kMendable)
      if (cause.cause == name && std::max(cause.below_s, cause.above_s) > least_s)
        reasons.push_back(
            {"time-wide", Grade::look, fmt::format("the time is uncertain because of {}", what)});
}

void changes_by_hand(const Account& account, const Machine&, Reasons& reasons) {
  if (account.totals.manual_changes > 0)
    reasons.push_back({"manual-changes", Grade::look,
                       fmt::format("a person has to change the filament {}",
                                   account.totals.manual_changes == 1
                                       ? "once"
                                       : base::counted(account.totals.manual_changes, "time"))});
}

void stated_agrees(const Account& account, const Machine&, Reasons& reasons) {
  for (const StatedFigure& figure : account.stated)
    if (figure.differs && figure.what.starts_with("filament")) {
      reasons.push_back(
          {"filament-differs", Grade::look,
           fmt::format("its own comment says {:.4g} {} of filament, found were {:.4g}",
                       figure.stated, figure.what.substr(sizeof("filament_") - 1), figure.found)});
      return;
    }
}

constexpr auto kReasons = {made_for_it,       fits_area,       tools_there,   heads_heated,
                           set_points_within, read_whole,      words_known,   purged_enough,
                           purge_known,       changes_by_hand, stated_agrees, time_known};

}  // namespace

Verdict judge(const Account& account, const Machine& machine) {
  Verdict verdict;
  for (const auto& add_reason : kReasons)
    add_reason(account, machine, verdict.reasons);
  std::ranges::stable_sort(verdict.reasons, std::ranges::greater{}, &VerdictReason::grade);
  if (!verdict.reasons.empty())
    verdict.grade = verdict.reasons.front().grade;
  return verdict;
}

}  // namespace findings

}  // namespace platetally
