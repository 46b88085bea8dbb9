// What a comment states of the whole plate, in plain words of the trade: filament, layers, time.
#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

namespace platetally::gcode {

enum class Quantity : std::uint8_t { length_mm, volume_cm3, mass_g, layers, time_s };

/// "filament weight: 12.3 g, 4.5 g": a quantity with a value, or one a tool.
struct Statement {
  Quantity quantity = Quantity::layers;
  std::vector<double> values;  ///< in the unit of the quantity
  int tool = -1;               ///< that the words name; -1: none
  bool is_total = false;       ///< the words say that it is the sum
};

/// What the comment (its text without its marks) states. Words of any case, joined by blanks,
/// underscores or hyphens; units in brackets or behind numbers; several statements apart by
/// semicolons. Nothing where words say that it is of something else (a layer's height, a diameter,
/// what remains). Only the first kMostStatedBytes count.
std::vector<Statement> read_statements(std::string_view comment);

inline constexpr std::size_t kMostStatedBytes = 400;

}  // namespace platetally::gcode
