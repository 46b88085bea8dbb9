#include <algorithm>

#include "platetally/machine.hpp"

namespace platetally {

Machine filaments_by_hand(Machine machine) {
  if (!machine.swap.filament_change_by_hand || machine.tools.empty())
    return machine;
  Tool another = machine.tools.back();
  another.colour.clear();
  for (const Tool& tool : machine.tools)
    another.feed = std::max(another.feed, tool.feed);
  while (machine.tools.size() < kMostByHand) {
    ++another.feed;
    machine.tools.push_back(another);
  }
  return machine;
}

}  // namespace platetally
