// The pages behind the codes of findings. levers.cpp makes the findings; a test holds the two
// together.
#include <fmt/format.h>

#include <algorithm>

#include "platetally/explain.hpp"

namespace platetally {

namespace {

struct Page {
  std::string_view code;
  std::string_view seen;
  std::string_view advice;
  std::string_view saves;
  std::string_view assumes;
};

constexpr Page kPages[] = {
    {"cheaper-order",
     "The tools of the layers are used in an order whose changes cost more than they have to. The "
     "cheapest order comes from an exact search over all orders of all layers; where that would "
     "take too long, the finding says that it is not proven.",
     "Print the tools of every layer in the order that 'platetally order' lists. Where the "
     "software that sliced the plate fixes the order by number, '--heads ascending' says which "
     "colour belongs in which head instead.",
     "Purge of the changes that are cheaper or fall away, their seconds, and what the machine "
     "draws "
     "meanwhile.",
     "With colours given, that every change purges what its pair needs. Without, that all changes "
     "cost alike: then only the number of swaps counts. A different order also changes which "
     "colour lies beside which while it is hot; look at seams and adhesion."},
    {"copies-share-swaps",
     "Swaps happen once a layer for everything on the plate. A second copy beside the first one "
     "needs no swap of its own as long as each tool prints all copies before the next tool comes.",
     "Print several copies in one plate rather than one plate a copy.",
     "For each of two copies, half of the swaps: half of the purge and of the time that changing "
     "and purging take.",
     "The copies fit on the bed and are printed layer by layer, all at once. A fault then costs "
     "all of them."},
    {"heat-without-use",
     "A tool's heater is on long before the tool first lays something, or long after it last did.",
     "Set its temperature shortly before its first use, and to 0 behind its last.",
     "What a waiting head draws over that time.",
     "The head draws while waiting what it draws on average over this plate. Warming up takes a "
     "minute or two, so give it that long."},
    {"place-on-bed",
     "The bed is heated in zones, and where the plate lies decides how many of them are needed. "
     "All "
     "places that keep everything inside the build area are tried in steps of 2.5 mm; neighbours "
     "that are only kept warm count by their share.",
     "Move everything by the shift that is named, before slicing.",
     "Energy of the bed, in proportion to the zones that it heats.",
     "Zones lose the same wherever they lie. A place near the edge can be cooler; check adhesion "
     "there."},
    {"purge-above-need",
     "More is purged for a change than the colours need. The need comes from the measured pair in "
     "the machine file, else from how much of the old colour may stay in the new one before the "
     "difference is seen.",
     "Lower the purge of the pairs that 'platetally order' lists with grams over their need.",
     "The purge above the need, and the seconds that it takes to push it out.",
     "The colours given are those of the filament and the filament is opaque. Translucent, "
     "glittering and glowing filament needs more, and so does a change of material."},
    {"standby-set-point", "Heads that wait stay at their printing temperature.",
     "Let waiting heads go down by some ten degrees or more: heads.standby_c in the machine file "
     "shows what that does to time and energy, with heating up again counted.",
     "Part of what waiting heads draw.",
     "Losses go with the temperature above the room. Short waits do not cool that far, and heating "
     "up again is not counted here. A head that waits hot also oozes."},
    {"thicker-layers",
     "The number of swaps goes with the number of layers, and the layers are thinner than the "
     "nozzle needs them to be. Three quarters of the nozzle's width is taken as the thickest "
     "(common "
     "practice, no source).",
     "Slice with thicker layers where the look allows it.",
     "Swaps, purge and the time of both, in proportion to the layers that fall away. What printing "
     "itself gains is not counted.",
     "Every layer needs the tools that it needs now."},
    {"tool-without-use", "A tool is selected and lays nothing of the part.",
     "Take it out of the plate.", "Its swaps: purge, and an average swap's time for each.",
     "The swaps of the other tools stay as they are."},
    {"tower-without-need",
     "A prime tower is printed although every swap picks up another head, whose nozzle still holds "
     "its own colour.",
     "Print without the tower, once with a small sample first.",
     "All of the tower, and the time that it takes to print.",
     "The filament is dry and heads are wiped or primed off the plate: a waiting nozzle that oozes "
     "or runs empty shows in the part."},
};

}  // namespace

std::optional<std::string> explain_finding(std::string_view code) {
  const auto* page = std::ranges::find(kPages, code, &Page::code);
  if (page == std::end(kPages))
    return std::nullopt;
  return fmt::format(
      "{}\n\nWhat was seen: {}\n\nWhat to do: {}\n\nWhat it saves: {}\n\nWhat that assumes: {}\n\n"
      "Savings of several findings do not add up: each is counted alone, against the plate as it "
      "is. Before you change a print, check adhesion, ooze and colour on a small sample.\n",
      page->code, page->seen, page->advice, page->saves, page->assumes);
}

std::vector<std::string> finding_codes() {
  std::vector<std::string> codes;
  for (const Page& page : kPages)
    codes.emplace_back(page.code);
  return codes;
}

}  // namespace platetally
