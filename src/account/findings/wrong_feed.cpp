#include "account/findings/wrong_feed.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace platetally::findings {

namespace {

constexpr double kRounding_g = 1e-6;
constexpr const char* kHelp =
    "Is E relative there (M83, or G91 on some machines), or is a G92 E0 missing? Its figures stand "
    "for nothing.";

/// The first of a kind, and how many there are.
void count(std::vector<Diagnostic>& all, const char* code, std::uint64_t line,
           const std::string& message) {
  const auto known =
      std::find_if(all.begin(), all.end(), [&](const Diagnostic& one) { return one.code == code; });
  if (known != all.end()) {
    ++known->count;
    return;
  }
  Diagnostic one;
  one.code = code;
  one.severity = Severity::warning;
  one.line = line;
  one.message = message;
  one.help = kHelp;
  all.push_back(std::move(one));
}

}  // namespace

std::vector<Diagnostic> check_feed(const Account& account, const ledgers::LayerLedger& ledger,
                                   const std::vector<ledgers::LayerGrams>& layer_grams,
                                   const std::vector<double>& layer_heights_mm) {
  std::vector<Diagnostic> warnings;
  for (const ToolAccount& tool : account.tools) {
    if (!(tool.part_g < -kRounding_g))
      continue;
    const ledgers::DeepestRetraction& deepest = ledger.deepest(static_cast<std::size_t>(tool.tool));
    count(
        warnings, "tool-part-negative", deepest.line,
        fmt::format("tool {} comes to {:.3g} g of part: more is drawn back than fed, most at once "
                    "{:.5g} mm; expected 0 g or more; counted as it is",
                    tool.tool, tool.part_g, -deepest.e_mm));
  }
  for (std::size_t layer = 0; layer < ledger.layers().size(); ++layer) {
    const ledgers::DeepestRetraction& deepest = ledger.layers()[layer].deepest;
    const ledgers::LayerGrams& grams = layer_grams[layer];
    if (!(grams.part_g < -kRounding_g) || grams.owes_only_retraction(deepest))
      continue;
    count(warnings, "layer-part-negative", deepest.line,
          fmt::format("the layer at {:.2f} mm comes to {:.3g} g of part: more is drawn back than "
                      "fed, most at once {:.5g} mm; expected 0 g or more; counted as it is",
                      layer < layer_heights_mm.size() ? layer_heights_mm[layer] : 0.0, grams.part_g,
                      -deepest.e_mm));
  }
  return warnings;
}

namespace {

Diagnostic note_of(const char* code, std::string message, const char* help) {
  Diagnostic note;
  note.code = code;
  note.severity = Severity::note;
  note.message = std::move(message);
  note.help = help;
  return note;
}

}  // namespace

std::vector<Diagnostic> check_outside(double doubt_g) {
  if (!(doubt_g > 0.0))
    return {};
  return {note_of(
      "outside-area-doubtful",
      fmt::format(
          "{:.2f} g are laid outside the build area where the motion does not say whether they are "
          "purge; they were counted as part, and widen the band of purge",
          doubt_g),
      "a waste area in the machine file makes them purge; a larger area makes them part")};
}

std::vector<Diagnostic> check_flushes(double doubt_g, double purge_g) {
  constexpr double kTold = 0.01;
  if (!(doubt_g > kTold * purge_g))
    return {};
  return {note_of(
      "flush-doubtful",
      fmt::format(
          "{:.3g} g are fed at rest like a return or before the first swap, in a way that fits the "
          "flush of a change too; counted as none, and the band of the purge reaches to both",
          doubt_g),
      "a comment pattern in the machine file says what is purge: docs/machine-words.md")};
}

}  // namespace platetally::findings
