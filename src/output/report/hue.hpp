// What a colour means: the same thing has the same colour in bars, charts and pictures of all
// pages.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string_view>

namespace platetally::report {

enum class Hue : std::uint8_t {
  print,
  travel,
  swap,
  wait,
  other,  // time
  part,
  purge,
  start_up,  // material
  time,
  energy,  // as a whole
  bed,
  hot_ends,
  enclosure,
  motors,
  fans,
  electronics,
  supply_loss,  // energy
  power,
  machine,
  labour,
  failures,  // money
  measured,
  predicted,  // prediction and truth
  first,
  second,
  third,
  fourth,
  fifth,  // one of several
};

/// The class of html/page.css that sets the colour: "h-print".
std::string_view css_of(Hue hue);

inline constexpr std::size_t kHuesOfSeveral = 5;

/// One of those for what has no meaning of its own: machines, tools.
Hue hue_of_index(std::size_t index);

}  // namespace platetally::report
