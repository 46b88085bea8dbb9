// What a plate is to be: every option of the command line, with its default.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace plate_maker {

enum class Kind { labels, lantern, blocks, ring, figures, pillars, logo, lithophane };
enum class Colours {
  every_layer,   ///< every tool in every layer
  upper_layers,  ///< the first tool everywhere, the others in the last layers only
  bands,         ///< one tool a layer, changing from band to band
};
enum class Order { ascending, descending, carry_over };
enum class Purge { none, tower, chute, line, bucket, object };
/// How a swap's stripe of a tower is laid.
enum class TowerForm {
  zigzag,   ///< one path
  strokes,  ///< parallel strokes, each reached by a travel
  boxed,    ///< a loop around the stripe, then a zigzag in it
  rings,    ///< a round tower: the stripe is a band of full circles
};
/// Who lays the loops around the whole tower.
enum class TowerWalls {
  none,
  carried,  ///< the tool that goes on into the layer, before the part
  last,     ///< the layer's last tool, behind the part
  arriving  ///< the first tool that arrives in the layer; without one, the tool in hand
};
enum class BucketMotion { rest, rise, circle };
/// Who lays what swaps leave of an object.
enum class ObjectRest {
  first,  ///< the tool that goes on into the layer, before the part
  last,   ///< the layer's last tool, behind the part
  own     ///< the first tool, when it is in hand
};
enum class Retraction { none, filament, firmware };
enum class Hop { absolute, relative, helix };
enum class Comments { none, trade, notes, parentheses };

struct Size {
  double x = 0.0;
  double y = 0.0;
};

struct Options {
  Kind kind = Kind::blocks;

  // The parts
  int columns = 1;
  int rows = 1;
  Size size_mm{20.0, 20.0};    ///< of one copy
  Size origin_mm{40.0, 40.0};  ///< lower left corner of the first copy
  double gap_mm = 5.0;
  double wall_mm = 1.8;     ///< lantern
  double ripple_mm = 0.0;   ///< lantern: depth of the waves on the outer wall
  bool round = false;       ///< lantern: round instead of square
  double density = 1.0;     ///< infill of blocks and labels
  double segment_mm = 0.0;  ///< longest stroke; 0: as drawn (1 mm where a curve is cut up)
  bool arcs = false;
  std::int64_t seed = 1;

  int figures = 3;              ///< figures and pillars: how many, all unlike
  bool small_first = true;      ///< they are laid from the smallest to the largest
  double drift_mm = 0.0;        ///< a layer: how far the borders between their colours move
  int change_places_every = 0;  ///< layers after which their colours change places
  int logo_layers = 3;          ///< logo: layers with more than the first colour

  // The layers
  int layers = 10;
  double layer_height_mm = 0.2;
  double first_layer_height_mm = 0.2;
  std::vector<double> height_cycle_mm;  ///< heights above the first layer, over and over
  bool sequential = false;              ///< copies one after the other
  bool spiral = false;
  double nonplanar_mm = 0.0;  ///< amplitude
  bool z_every_line = false;
  std::int64_t megabytes = 0;  ///< goes on adding layers until the file is as long

  // The tools
  int tools = 1;
  std::vector<int> tool_numbers;  ///< empty: 0, 1, 2, ...
  Colours colours = Colours::every_layer;
  bool colours_by_order = true;  ///< not by place: a layer's first tool lays the first stripe
  int upper_layers = 3;
  int band_layers = 4;
  Order order = Order::ascending;
  std::vector<std::vector<int>> layer_orders;  ///< of the layers, over and over; instead of `order`
  bool select_twice = false;
  bool park = false;
  double standby_c = 0.0;  ///< of tools not in hand; 0: they stay hot

  // The purge
  Purge purge = Purge::none;
  double purge_mm3 = 60.0;  ///< a swap
  double purge_mm_s = 8.0;  ///< chute: of filament
  Size purge_at_mm{10.0, 10.0};
  double tower_side_mm = 20.0;
  int tower_brim = 0;   ///< rings
  int tower_ahead = 0;  ///< layers
  TowerForm tower_form = TowerForm::zigzag;
  TowerWalls tower_walls = TowerWalls::none;
  bool tower_ribs = false;      ///< the loops stand out at the corners
  bool tower_lags = false;      ///< it grows in layers with swaps only, and stays below the part
  double also_chute_mm3 = 0.0;  ///< a swap, before the tower
  BucketMotion bucket_motion = BucketMotion::rest;
  ObjectRest object_rest = ObjectRest::own;
  bool one_nozzle = false;  ///< filament is rammed and drawn out, and loaded again
  double unload_mm = 60.0;
  double line_length_mm = 40.0;
  bool start_line = false;

  // The words
  bool absolute_e = false;
  bool extruder_words = false;  ///< M101 and M103 instead of E
  bool inches = false;
  bool rapid = false;     ///< travels written as G0
  int reset_e_every = 0;  ///< G92 E0 after as many strokes
  Retraction retraction = Retraction::filament;
  double retract_mm = 0.8;
  double wipe_mm = 0.0;
  double hop_mm = 0.0;
  Hop hop = Hop::absolute;
  Comments comments = Comments::notes;
  bool crlf = false;
  bool checksums = false;
  int odd_words_every = 0;  ///< a word that no machine knows after as many strokes

  // The machine
  double width_mm = 0.45;
  double filament_mm = 1.75;
  double head_c = 215.0;
  double bed_c = 60.0;
  bool accelerations = false;
  double outer_mm_s = 60.0;
  double inner_mm_s = 100.0;
  double infill_mm_s = 150.0;
  double first_layer_mm_s = 30.0;
  double travel_mm_s = 250.0;
  double tower_mm_s = 90.0;

  int tool_number(int index) const {
    return tool_numbers.empty() ? index : tool_numbers[static_cast<std::size_t>(index)];
  }
};

struct Request {
  Options options;
  std::string output;
  std::string truth;  ///< empty: none asked for
  std::string error;  ///< not empty: what is wrong with the command line
  bool help = false;
};

Request read_arguments(const std::vector<std::string_view>& arguments);

std::string usage();

}  // namespace plate_maker
