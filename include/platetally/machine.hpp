/// @file
/// The description of a machine: everything that the account needs to know beyond the plate itself.
///
/// Every field has its unit in its name, and its range in the comment. The TOML form, its checks
/// and the embedded machines live in src/machine/description/; docs/machine-file.md lists every
/// key.
#pragma once

#include <array>
#include <cstdint>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

#include "platetally/diagnostic.hpp"
#include "platetally/range.hpp"

namespace platetally {

/// What decides how fast a corner may be passed.
enum class CornerModel : std::uint8_t { junction_deviation, speed_step, corner_speed };
/// Where a heater gets its power: from the DC supply, or from the mains directly.
enum class HeaterSupply : std::uint8_t { dc, ac };
/// Which bed zones are heated: all, or those below what is printed.
enum class ZonePolicy : std::uint8_t { whole_bed, footprint };
/// How a tool is swapped for another: by its head, or by the filament in the one head.
enum class SwapKind : std::uint8_t { head_change, filament_change };
/// What E counts before the plate says so: from a zero, from the move before, or as its moves tell.
enum class ExtrusionMode : std::uint8_t { absolute, relative, detect };

/// Whether G90 and G91 set the mode of E as well. Detect: on each plate, by the size of its E
/// words.
enum class DistanceWordsSetE : std::uint8_t { no, yes, detect };

inline constexpr std::size_t kAxisCount = 4;  ///< X, Y, Z, E

/// The volume in which the machine can lay material.
struct BuildArea {
  double x_min_mm = 0.0;    ///< -5000 .. 5000
  double x_max_mm = 250.0;  ///< greater than x_min_mm
  double y_min_mm = 0.0;    ///< -5000 .. 5000
  double y_max_mm = 250.0;  ///< greater than y_min_mm
  double z_max_mm = 250.0;  ///< 1 .. 10000
  /// Member by member.
  bool operator==(const BuildArea&) const = default;
};

/// A rectangle of the bed plane; what is extruded there is purge (a bin, a chute, a brush).
struct WasteArea {
  std::string name;       ///< for reports
  double x_min_mm = 0.0;  ///< left edge
  double x_max_mm = 0.0;  ///< right edge
  double y_min_mm = 0.0;  ///< front edge
  double y_max_mm = 0.0;  ///< back edge
  /// Member by member.
  bool operator==(const WasteArea&) const = default;
};

/// What the motion system can do. Arrays are in axis order X, Y, Z, E.
struct MotionLimits {
  std::array<double, kAxisCount> speed_mm_s{300, 300, 12, 60};               ///< > 0 .. 5000
  std::array<double, kAxisCount> acceleration_mm_s2{5000, 5000, 500, 5000};  ///< > 0 .. 1e6
  double print_acceleration_mm_s2 = 2000;                      ///< moves that lay material
  double travel_acceleration_mm_s2 = 3000;                     ///< moves without E
  double retract_acceleration_mm_s2 = 2500;                    ///< E-only moves
  CornerModel corner_model = CornerModel::junction_deviation;  ///< which of the next three decides
  double junction_deviation_mm = 0.02;                         ///< > 0 .. 2
  std::array<double, kAxisCount> corner_step_mm_s{
      8, 8, 0.4, 2.5};              ///< speed_step model, E also corner_speed; 0 .. 1000
  double corner_speed_mm_s = 5.0;   ///< at a right angle, whatever the acceleration; 0 .. 1000
  double least_cruise_share = 0.0;  ///< of a short move between slow corners; 0: off; 0 .. 0.999
  double arc_chord_mm = 0.0;        ///< arcs are cut into chords of it; 0: they are not; 0 .. 100
  double minimum_print_feed_mm_s = 0.0;    ///< 0 .. 100
  double minimum_travel_feed_mm_s = 0.0;   ///< 0 .. 100
  double minimum_segment_time_s = 0.0;     ///< 0 .. 0.1; shorter moves are slowed to it
  double initial_feed_mm_s = 25.0;         ///< before the first F word; > 0 .. 5000
  int look_ahead_moves = 0;                ///< moves the controller sees; 0 = all of them; 0 .. 1e6
  bool honours_speed_words = true;         ///< M203
  bool honours_acceleration_words = true;  ///< M201, M204
  bool honours_corner_words = true;        ///< M205
  bool honours_factor_words = true;        ///< M220, M221
  /// Member by member.
  bool operator==(const MotionLimits&) const = default;
};

/// The heated bed: rows x columns equal tiles over the build area, each with its own heater.
struct Bed {
  int rows = 1;                            ///< 1 .. 8
  int columns = 1;                         ///< 1 .. 8; rows x columns <= 64
  double width_mm = 250.0;                 ///< heated width (x); 20 .. 5000
  double depth_mm = 250.0;                 ///< heated depth (y); 20 .. 5000
  double x_min_mm = 0.0;                   ///< where the heated plate begins, in build coordinates
  double y_min_mm = 0.0;                   ///< the same in y
  double tile_power_w = 250.0;             ///< one tile's heater at full, at 20 degC; > 0 .. 5000
  double duty_limit = 1.0;                 ///< share of the time that it may be on; 0.01 .. 1
  double resistance_rise_per_k = 0.0;      ///< of the heater; copper 0.0039; 0 .. 0.01
  double sensor_lag_s = 0.0;               ///< time constant of the bed's sensor; 0 .. 120
  HeaterSupply supply = HeaterSupply::dc;  ///< of the heaters
  double areal_heat_capacity_j_m2k = 13000.0;  ///< heater plate and surface together; 500 .. 2e5
  double underside_loss_w_m2k = 4.0;           ///< through insulation below; 0 .. 100
  double edge_loss_w_k = 0.0;                  ///< per outer tile edge; 0 .. 10
  double emissivity = 0.9;                     ///< 0 .. 1
  double convection_factor = 1.25;             ///< on the free-plate film coefficient; 0 .. 10
  double fan_loss_w_k = 0.0;              ///< extra, per active tile, at full part fan; 0 .. 10
  double lateral_conductance_w_k = 0.09;  ///< between neighbouring tiles; 0 .. 100
  int depth_nodes = 1;                    ///< 1, or 2: heater plate | surface and frame
  double surface_heat_share = 0.5;        ///< of the heat capacity, in the upper node; 0.05 .. 0.95
  double depth_conductance_w_m2k = 300.0;  ///< between the two nodes; 1 .. 1e5
  double maximum_c = 120.0;                ///< highest set point; 30 .. 300
  double band_k = 1.0;                     ///< a wait ends within this of the target; 0.05 .. 20
  double residency_s = 0.0;                ///< and after this long inside it; 0 .. 600
  ZonePolicy zone_policy = ZonePolicy::whole_bed;  ///< which tiles are heated
  double neighbour_fraction = 0.4;  ///< neighbours held at room + f (target - room); 0 .. 1
  int neighbour_count = 8;          ///< 0, 4 or 8
  bool follow_layers = false;       ///< true: a tile goes off after the last layer that needs it
  /// Member by member.
  bool operator==(const Bed&) const = default;
};

/// A hot end: nozzle, heater and what surrounds them.
struct Head {
  double power_w = 40.0;               ///< at full, at 20 degC; > 0 .. 500
  double duty_limit = 1.0;             ///< share of the time that it may be on; 0.01 .. 1
  double resistance_rise_per_k = 0.0;  ///< of the heater; 0 .. 0.01
  double heat_capacity_j_k = 14.0;     ///< 0.5 .. 1000
  double still_loss_w_k = 0.020;       ///< conduction and still air; 0 .. 5
  double fan_loss_w_k = 0.013;   ///< "Gv": added by the head fan, times (1 + part_fan_factor duty)
  double part_fan_factor = 2.0;  ///< k_f; 0 .. 10
  double emissivity = 0.9;       ///< 0 .. 1
  double radiating_area_cm2 = 16.0;  ///< 0 .. 500
  double maximum_c = 300.0;          ///< 50 .. 600
  double band_k = 2.0;               ///< 0.05 .. 20
  double residency_s = 0.0;          ///< 0 .. 600
  double standby_c = 0.0;            ///< set while another head works; 0: stays at its set point
  double nozzle_diameter_mm = 0.4;   ///< 0.05 .. 5
  double fan_w = 1.5;                ///< the head's own fan while hot; 0 .. 100
  /// Member by member.
  bool operator==(const Head&) const = default;
};

/// What a T number means on this machine.
struct Tool {
  int head = 0;                        ///< index into Machine::heads
  int feed = 0;                        ///< which spool; numbers of the user's own
  std::string material = "PLA";        ///< name of a material
  double filament_diameter_mm = 1.75;  ///< 0.5 .. 10
  std::string colour;                  ///< "#rrggbb" or a name; may be empty
  /// Member by member.
  bool operator==(const Tool&) const = default;
};

/// The air around bed and heads.
struct Enclosure {
  bool present = false;                    ///< false: bed and heads stand in the room
  double heat_capacity_j_k = 20000.0;      ///< air, frame, panels; 10 .. 1e6
  double loss_closed_w_k = 4.5;            ///< > 0 .. 1000
  double loss_open_w_k = 20.0;             ///< > 0 .. 1000
  bool door_open = false;                  ///< the loss is then loss_open_w_k
  double heater_w = 0.0;                   ///< 0: not heated actively; 0 .. 10000
  HeaterSupply supply = HeaterSupply::ac;  ///< of its heater
  double maximum_c = 70.0;                 ///< highest set point; 20 .. 200
  double band_k = 1.0;                     ///< a wait ends within this of the target; 0.05 .. 20
  double waste_heat_share = 0.8;  ///< of motors, fans and electronics, that ends up inside; 0 .. 1
  /// Member by member.
  bool operator==(const Enclosure&) const = default;
};

/// From the wall to the parts. DC draw P costs P (1 + loss_share + loss_per_w P).
struct Supply {
  double idle_w = 15.0;            ///< electronics, always; 0 .. 1000
  double loss_share = 0.08;        ///< a1; 0 .. 1
  double loss_per_w = 1.2e-4;      ///< a2, 1/W; 0 .. 0.01
  double ac_efficiency = 1.0;      ///< of the switch in the AC heater's path; 0.5 .. 1
  double dc_limit_w = 0.0;         ///< shared by all DC heaters; 0: no limit; 0 .. 1e5
  bool heads_before_bed = true;    ///< who is served first under dc_limit_w
  double motors_moving_w = 18.0;   ///< 0 .. 1000
  double motors_holding_w = 10.0;  ///< enabled and still; 0 .. 1000
  double part_fan_w = 3.0;         ///< at full duty; 0 .. 1000
  double auxiliary_fans_w = 0.0;   ///< while printing; 0 .. 1000
  double energy_spread = 0.35;     ///< half the band of the energy, as a share of it; 0 .. 1
  /// Member by member.
  bool operator==(const Supply&) const = default;
};

/// How the machine changes from one tool to another.
struct SwapPolicy {
  SwapKind same_head = SwapKind::filament_change;  ///< between two tools on one head: always this
  Range head_change_s{6.0, 8.0, 12.0};             ///< each 0 .. 3600
  /// Unloading and loading, and hidden_purge_mm3; purge in the plate is motion and not in here.
  Range filament_change_s{30.0, 41.0, 67.0};  ///< each 0 .. 3600
  /// A person changes the filament. Then the last tool stands for as many filaments on its head as
  /// a plate asks for (filaments_by_hand()), and every change of filament is a Stop.
  bool filament_change_by_hand = false;
  double long_swap_probability = 0.0;  ///< share of swaps that stop; 0 .. 1
  double long_swap_extra_s = 0.0;      ///< what such a stop adds; 0 .. 3600
  double first_pick_s = 0.0;           ///< picking up the first tool; 0 .. 3600
  double hidden_purge_mm3 = 0.0;       ///< run by the machine, not in the file; 0 .. 1e5
  // Where a plate made for another kind of swap is re-planned for this machine:
  double purge_mm3_s = 12.0;      ///< how fast it purges; 0.1 .. 200
  double purge_each_mm3 = 600.0;  ///< a filament change whose need is not known; 0 .. 1e5
  double tower_each_mm3 = 40.0;   ///< on a prime tower at a head change; 0 .. 1e5
  /// Member by member.
  bool operator==(const SwapPolicy&) const = default;
};

/// What is known better of one pair of tools than of all.
struct SwapPair {
  int from = 0;                  ///< T numbers
  int to = 1;                    ///< T number
  Range seconds{0.0, 0.0, 0.0};  ///< of the change; high 0: as its kind takes; each 0 .. 3600
  double needed_mm3 = 0.0;       ///< measured purge that the pair needs; 0: by colours; 0 .. 1e5
  /// Member by member.
  bool operator==(const SwapPair&) const = default;
};

/// How much a change of colour needs on this machine; src/material/swaps/need.cpp has the formula.
struct Need {
  double washout_mm3 = 58.0;    ///< thins the old colour to 1/e; > 0 .. 1e4
  double dead_mm3 = 138.0;      ///< has to leave before the new colour arrives; 0 .. 1e4
  double margin = 1.25;         ///< 1 .. 10
  double tolerance_de00 = 2.0;  ///< difference from the clean colour that is accepted; 0.1 .. 50
  bool high_flow = false;       ///< a hot end of high flow holds 1.65 times both volumes
  double darkest = 0.05;        ///< of light that the darkest filament throws back; 0 .. 0.5
  double brightest = 0.8;       ///< of light that the brightest one throws back; 0.5 .. 1
  /// Member by member.
  bool operator==(const Need&) const = default;
};

/// Seconds that the file does not state.
struct Procedures {
  Range homing_s{10.0, 15.0, 25.0};    ///< each 0 .. 3600
  Range probing_s{30.0, 60.0, 150.0};  ///< each 0 .. 3600
  Range start_s{0.0, 0.0, 0.0};        ///< before the first line
  Range end_s{0.0, 0.0, 0.0};          ///< after the last line
  double unknown_word_most_s = 0.1;  ///< a command word that nothing is known of may take; 0 .. 60
  Range pause_s{0.0, 0.0, 0.0};      ///< each M0, M1, M600: a person must come; reported apart
  double retract_mm = 0.8;           ///< G10; 0 .. 100
  double retract_speed_mm_s = 35.0;  ///< > 0 .. 500
  double return_extra_mm = 0.0;      ///< G11 feeds this much more; -10 .. 10
  double return_speed_mm_s = 35.0;   ///< > 0 .. 500
  double retract_lift_mm = 0.0;      ///< Z hop of G10; 0 .. 10
  /// Member by member.
  bool operator==(const Procedures&) const = default;
};

/// What a word or named command of the machine's own does to the account.
enum class DialectAction : std::uint8_t {
  ignore,            ///< known, and of no consequence
  takes_seconds,     ///< stands still for `seconds`
  set_limits,        ///< speed and acceleration from parameters, see DialectRow::keys
  set_temperature,   ///< heater set point from a parameter
  wait_temperature,  ///< the same, and waits
  begin_purge,
  end_purge,
  begin_condition,  ///< a part that runs only under a condition
  else_condition,
  end_condition,
  tool_change,  ///< selects the tool in a parameter
  home,
  probe,
  pause,
};

/// key = the parameter's name in the file ("BED" or "S"); means = what it sets:
/// "print_speed_mm_s", "acceleration_mm_s2", "bed_c", "head_c", "enclosure_c", "tool", "seconds", …
struct DialectKey {
  std::string key;    ///< name in the file
  std::string means;  ///< what it sets
  /// Member by member.
  bool operator==(const DialectKey&) const = default;
};

/// A word of the machine's own, and what it does to the account.
struct DialectRow {
  std::string word;                              ///< "M7401.3" or "WARM_UP"; compared without case
  DialectAction action = DialectAction::ignore;  ///< what it does
  double seconds = 0.0;                          ///< for takes_seconds; 0 .. 604800
  bool take_first_branch = true;  ///< for begin_condition: run the first branch, else the last
  std::vector<DialectKey> keys;   ///< of its parameters
  /// Member by member.
  bool operator==(const DialectRow&) const = default;
};

/// What a word of the machine's own takes at most, a week, as a dwell does.
inline constexpr double kMostOwnSeconds = 604800.0;

/// What a comment can mark.
enum class CommentMeaning : std::uint8_t {
  layer,
  begin_purge,
  end_purge,
  begin_object,  ///< its name is what follows
  end_object
};

/// A comment that starts with `starts_with` (after blanks, without case) has this meaning.
struct CommentPattern {
  std::string starts_with;                               ///< plain text
  CommentMeaning meaning = CommentMeaning::begin_purge;  ///< of such a comment
  /// Member by member.
  bool operator==(const CommentPattern&) const = default;
};

/// Where controllers differ in what a word means.
struct Dialect {
  DistanceWordsSetE distance_words_set_e = DistanceWordsSetE::detect;  ///< G90/G91 and the E mode
  bool dwell_p_is_milliseconds = true;                                 ///< G4 P; false: seconds
  bool rapid_moves_use_feed = true;  ///< G0 takes F; false: the axis limits alone
  ExtrusionMode initial_extrusion = ExtrusionMode::detect;  ///< before M82 or M83
  bool volumetric_e = false;             ///< E counts mm3 from the start (M200 may change it)
  bool use_trade_words = true;           ///< "prime tower", "purge" mark purge, "object" objects
  bool limits_by_key = true;             ///< KEY=VALUE of unknown words, read by plain English
  std::vector<DialectRow> rows;          ///< words of the machine's own
  std::vector<CommentPattern> comments;  ///< patterns of comments
  /// Member by member.
  bool operator==(const Dialect&) const = default;
};

/// A machine: everything that the account needs to know beyond the plate.
struct Machine {
  std::string name = "unnamed";        ///< for reports
  std::string description;             ///< a sentence; may be empty
  BuildArea area;                      ///< where parts can be
  std::vector<WasteArea> waste_areas;  ///< where purge goes
  MotionLimits motion;                 ///< limits of the axes
  Bed bed;                             ///< heated bed
  std::vector<Head> heads{Head{}};     ///< 1 .. 16
  std::vector<Tool> tools{Tool{}};     ///< index is the T number; 1 .. 32
  Enclosure enclosure;                 ///< air around bed and heads
  Supply supply;                       ///< from the wall to the parts
  SwapPolicy swap;                     ///< how it changes tools
  std::vector<SwapPair> swap_pairs;    ///< 0 .. 1024
  Need need;                           ///< purge that a change of colour needs
  Procedures procedures;               ///< seconds that no file states
  Dialect dialect;                     ///< what its words mean
  double room_c = 23.0;                ///< -20 .. 50
  /// Member by member.
  bool operator==(const Machine&) const = default;
};

/// Every violated bound, one diagnostic each, naming key, value and range. Empty: the machine is
/// sound.
std::vector<Diagnostic> validate(const Machine& machine);

/// Where a person changes the filament: the machine with its last tool repeated up to
/// kMostByHand of them, each another filament on the same head. Any other machine as it is.
Machine filaments_by_hand(Machine machine);
/// Tools that a machine has at most so.
inline constexpr std::size_t kMostByHand = 16;

/// Names of the machines that come with the library, in a fixed order.
std::vector<std::string> embedded_machine_names();

/// Embedded machines that have room for material within `needed`, at least `tools` tools, and reach
/// the temperatures.
std::vector<std::string> machines_that_fit(const BuildArea& needed, int tools, double bed_c,
                                           double nozzle_c);

/// A machine could not be loaded. what() is one line: the first fault, with its line
/// and column where there is one.
class UnusableMachine : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

class MachineLoad;
namespace machine {
/// As far as it was read; for the library's own use.
Machine& as_read(MachineLoad& load);
}  // namespace machine

/// A machine with what was said while reading it. One with an error cannot be taken out.
class MachineLoad {
 public:
  std::vector<Diagnostic> diagnostics;  ///< in the order of the text
  std::string extends;                  ///< the machine that the file starts from; may be empty
  std::vector<std::string> inherited_motion_keys;  ///< of [motion], not stated in the file itself,
                                                   ///< as "key = value"
  /// No diagnostic is an error.
  bool ok() const;
  /// The machine. Throws UnusableMachine where a diagnostic is an error.
  const Machine& machine() const&;
  /// The same out of a result that is not kept.
  Machine machine() &&;

 private:
  friend Machine& machine::as_read(MachineLoad& load);
  Machine machine_;
};

/// Reads a machine from TOML text. Unknown keys are errors that name the nearest known key; every
/// error carries line and column. Never throws on bad text.
MachineLoad parse_machine(std::string_view toml_text, const std::string& origin);

/// An embedded machine by name, or a machine file by path (a name wins). An unknown name lists the
/// known ones in its diagnostic.
MachineLoad load_machine(const std::string& name_or_path);

/// The machine as TOML that parse_machine reads back to an equal machine, each key with a comment
/// that gives unit and range.
std::string machine_to_toml(const Machine& machine);

}  // namespace platetally
