// What a plate is to look like.
#pragma once

#include <string>
#include <vector>

namespace plate_maker {

enum class Purge { none, tower, chute, line };
enum class Order { ascending, carry_over };
enum class Comments { none, words };

struct Options {
  std::string kind = "labels";  // labels, lantern, block, ring
  int copies = 1;
  int layers = 10;
  int colours = 4;
  double layer_mm = 0.2;
  double origin_x_mm = 20.0, origin_y_mm = 20.0;
  double size_mm = 60.0;
  Purge purge = Purge::none;
  double purge_mm3 = 60.0;
  Order order = Order::carry_over;
  Comments comments = Comments::none;
  bool relative_e = true;
  bool spiral = false;
  bool waves = false;        // Z rises and falls while laying
  bool sequential = false;   // one copy after the other
  bool tower_ahead = false;  // the tower is one layer higher than the part
  bool firmware_retract = false;
  bool select_twice = false;
  bool park_at_end = false;
  bool crlf = false;
  bool relative_hops = false;
  double hop_mm = 0.0;
  double retract_mm = 0.8;
  double nozzle_c = 215.0, bed_c = 60.0;
};

}  // namespace plate_maker
