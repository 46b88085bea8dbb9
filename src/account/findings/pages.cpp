// The pages behind the codes of findings. savings.cpp makes the findings; a test holds the two
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
     "The tools of the layers are used in an order whose swaps cost more than they have to. The "
     "cheapest order comes from an exact search over all orders of all layers; where that would "
     "take too long, the finding says that it is not proven.",
     "Print the tools of every layer in the order that 'platetally order' lists. Where the "
     "software that sliced the plate fixes the order by number, '--heads ascending' says which "
     "colour belongs in which head instead.",
     "The swaps that fall away, with their purge, their seconds and their way to the purge. A "
     "tower's layers with fewer swaps are filled up, as this plate fills them.",
     "Each pair purges what it purges now; a pair that the plate does not have, what it purges for "
     "that tool or on average. Another order also changes which colour is laid beside which while "
     "it is hot; look at seams and adhesion."},
    {"copies-share-swaps",
     "Swaps happen once a layer for everything on the plate. A second copy needs no swap of its "
     "own "
     "as long as each tool prints all copies before the next tool comes.",
     "Print several copies on one plate rather than one after the other; the finding says where "
     "the second one fits.",
     "For each of two plates that become one: half of the swaps, of the purge, of warming up.",
     "The copies are printed layer by layer, all at once. A fault then costs all of them."},
    {"heat-without-use",
     "A head is on long before its tool first lays something, or long after it last did.",
     "Set its temperature with the layer that is named, wait for it when the tool is taken, and "
     "set "
     "it to 0 after its last use.",
     "What the head draws over that time.",
     "Layers take as long as they do now: a head that is not hot when its turn comes is waited "
     "for."},
    {"place-on-bed",
     "The bed is heated in zones, and where the plate lies decides how many of them are needed. "
     "All "
     "places that keep everything inside the build area are looked at in steps of 2.5 mm; "
     "neighbours that are only kept warm count by their share.",
     "Move everything by the shift that is named, the tower too, before slicing.",
     "Energy of the bed, with the plate played in its new place.",
     "What the machine lays in a place of its own, such as a start-up line, stays there. A place "
     "near the edge can be cooler; check adhesion there."},
    {"purge-above-need",
     "More is purged for a swap than the colours need. The need comes from the measured pair in "
     "the "
     "machine file, else from how much of the old colour may stay in the new one before the "
     "difference is seen.",
     "Lower the purge of the pairs that 'platetally order' lists with grams over their need.",
     "The purge above the need, and the seconds that it takes to push it out.",
     "The colours given are those of the filament and the filament is opaque. Translucent, "
     "glittering and glowing filament needs more, and so does a change of material."},
    {"purge-below-need",
     "Less is purged for a swap than the colours need: the colour before is expected to show by "
     "the "
     "difference that is named (CIEDE2000), in as many swaps as are named. A need holds a margin; "
     "a "
     "swap counts as short where even the need without its margin is not reached.",
     "Raise the purge of these pairs to what they need.",
     "Nothing: the figures are what purging enough costs.",
     "The colours given are those of the filament and the filament is opaque. What the machine "
     "purges on its own counts only if the machine file says so (swap.hidden_purge_mm3)."},
    {"standby-set-point", "Heads that wait stay at their printing temperature.",
     "Let waiting heads go down to the temperature that is named (heads.standby_c in the machine "
     "file).",
     "What the waiting heads draw less, with heating up again counted: each swap waits for it. "
     "Where that takes more than it saves, or more than a hundredth of the time, nothing is said.",
     "A head is heated up again only when its turn comes. A head that waits hot also oozes."},
    {"thicker-layers",
     "Every layer has its swaps, and the layers are thinner than the nozzle needs them to be. "
     "Three "
     "quarters of the nozzle's width is taken as the thickest (common practice, no source).",
     "Slice with thicker layers where the look allows it.",
     "The layers that fall away, with their swaps, their purge and their strokes.",
     "The first layer stays as it is. Every layer needs the tools that it needs now, and speeds "
     "stay as they are, so that the nozzle has to melt more in a second."},
    {"tool-without-use", "A tool is swapped for and lays nothing of the part.",
     "Take it out of the plate.", "Its swaps: their purge and their time.",
     "The swaps of the other tools stay as they are."},
    {"tower-without-need",
     "A prime tower is printed although every swap picks up another head, whose nozzle still holds "
     "its own colour.",
     "Print without the tower, once with a small sample first.",
     "All of the tower, the time that it takes to print, and the way to it.",
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
      "What a finding saves is the difference of two runs of the model: the plate as it is, and as "
      "advised. Savings of several findings do not add up: each is tried alone. Before you change "
      "a print, check adhesion, ooze and colour on a small sample.\n",
      page->code, page->seen, page->advice, page->saves, page->assumes);
}

std::vector<std::string> finding_codes() {
  std::vector<std::string> codes;
  for (const Page& page : kPages)
    codes.emplace_back(page.code);
  return codes;
}

}  // namespace platetally
