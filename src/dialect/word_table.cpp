#include "dialect/word_table.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace platetally::dialect {

namespace {

std::string upper(std::string_view word) {
  std::string result(word);
  std::transform(result.begin(), result.end(), result.begin(), [](char c) {
    return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
  });
  return result;
}

Meaning of_g(std::int32_t number) {
  switch (number) {
    case 0:
      return Meaning::rapid;
    case 1:
      return Meaning::linear;
    case 2:
      return Meaning::arc_clockwise;
    case 3:
      return Meaning::arc_counter;
    case 4:
      return Meaning::dwell;
    case 10:
      return Meaning::retract;
    case 11:
      return Meaning::unretract;
    case 17:
      return Meaning::plane_xy;
    case 18:
      return Meaning::plane_zx;
    case 19:
      return Meaning::plane_yz;
    case 20:
      return Meaning::inches;
    case 21:
      return Meaning::millimetres;
    case 28:
      return Meaning::home;
    case 29:
    case 30:
      return Meaning::probe;
    case 90:
      return Meaning::absolute;
    case 91:
      return Meaning::relative;
    case 92:
      return Meaning::set_position;
    case 93:
      return Meaning::inverse_time;
    case 94:
      return Meaning::feed_per_minute;
    // cutter compensation, coordinate systems, path control: without effect on an extruder's plate
    case 40:
    case 49:
    case 53:
    case 54:
    case 61:
    case 64:
    case 80:
      return Meaning::nothing;
    default:
      return Meaning::unknown;
  }
}

Meaning of_m(std::int32_t number) {
  switch (number) {
    case 0:
    case 1:
    case 226:
    case 600:
      return Meaning::pause;
    case 2:
    case 30:
      return Meaning::end;
    case 17:
      return Meaning::motors_on;
    case 18:
    case 84:
      return Meaning::motors_off;
    case 82:
      return Meaning::extrude_absolute;
    case 83:
      return Meaning::extrude_relative;
    case 101:
      return Meaning::extruder_on;
    case 103:
      return Meaning::extruder_off;
    case 104:
      return Meaning::head_set;
    case 106:
      return Meaning::fan_on;
    case 107:
      return Meaning::fan_off;
    case 109:
      return Meaning::head_wait;
    case 116:
      return Meaning::wait_all;
    case 140:
      return Meaning::bed_set;
    case 141:
      return Meaning::enclosure_set;
    case 190:
      return Meaning::bed_wait;
    case 191:
      return Meaning::enclosure_wait;
    case 200:
      return Meaning::volumetric;
    case 201:
      return Meaning::limit_acceleration;
    case 203:
      return Meaning::limit_speed;
    case 204:
      return Meaning::accelerations;
    case 205:
      return Meaning::corners;
    case 220:
      return Meaning::feed_factor;
    case 221:
      return Meaning::flow_factor;
    case 400:
      return Meaning::wait_moves;
    // tool change behind a T word, reports, messages, lights, files
    case 6:
    case 20:
    case 21:
    case 23:
    case 24:
    case 31:
    case 73:
    case 75:
    case 76:
    case 77:
    case 105:
    case 108:
    case 110:
    case 111:
    case 112:
    case 113:
    case 114:
    case 115:
    case 117:
    case 118:
    case 119:
    case 155:
    case 300:
      return Meaning::nothing;
    default:
      return Meaning::unknown;
  }
}

}  // namespace

std::string spell(char letter, std::int32_t number, std::int32_t fraction) {
  return fraction >= 0 ? fmt::format("{}{}.{}", letter, number, fraction)
                       : fmt::format("{}{}", letter, number);
}

WordTable::WordTable(const Dialect& dialect) {
  for (const DialectRow& row : dialect.rows)
    rows_.emplace(upper(row.word), &row);
}

const DialectRow* WordTable::row(std::string_view word) const {
  const auto found = rows_.find(upper(word));
  return found == rows_.end() ? nullptr : found->second;
}

Meaning WordTable::lettered(char letter, std::int32_t number, std::int32_t fraction) const {
  if (!rows_.empty() && row(spell(letter, number, fraction)) != nullptr)
    return Meaning::own;
  if (letter == 'G' && number == 92 && fraction >= 1 && fraction <= 3)
    return Meaning::reset_position;
  if (letter == 'G' && number == 38)
    return Meaning::probe;
  if (fraction >= 0)
    return letter == 'G' && number == 59 ? Meaning::nothing : Meaning::unknown;
  if (letter == 'G')
    return number >= 54 && number <= 59 ? Meaning::nothing : of_g(number);
  return letter == 'M' ? of_m(number) : Meaning::unknown;
}

}  // namespace platetally::dialect
