/// @file
/// The account of one plate: what it costs in time, material and energy, in total and per layer.
///
/// A plain result. Sums over layers equal the totals to 1e-9 relative.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "platetally/breakdown.hpp"
#include "platetally/clock.hpp"
#include "platetally/diagnostic.hpp"
#include "platetally/layer_visit.hpp"
#include "platetally/made_from.hpp"
#include "platetally/range.hpp"
#include "platetally/stop.hpp"
#include "platetally/unaccounted.hpp"
#include "platetally/variant.hpp"

/// The library. Quantities carry their unit in the name; nothing here writes, waits or remembers.
namespace platetally {

/// What the band around the expected time is made of.
struct TimeBandCause {
  std::string cause;     ///< "motion", "swap", "long-swap", "homing", "probing", "start-and-end",
                         ///< "pause", "unknown-words", "past-errors"
  double below_s = 0.0;  ///< expected less low
  double above_s = 0.0;  ///< high less expected
};

/// Grams of purge, by what it was recognised by.
struct PurgeBy {
  double at_rest_g = 0.0;  ///< fed at rest: chute, bin
  double place_g = 0.0;    ///< outside the build area or in a waste area
  double comment_g = 0.0;  ///< marked by a comment or a word of the machine's own
  double tower_g = 0.0;    ///< on a prime tower found from the motion
  double hidden_g = 0.0;   ///< run by the machine's macros, not in the file
};

/// What the motion says about a prime tower.
struct TowerAccount {
  std::string verdict;    ///< "no-swaps", "none", "tower" or "undecided"
  std::string why;        ///< a plain sentence
  double x_min_mm = 0.0;  ///< of its box
  double x_max_mm = 0.0;  ///< of its box
  double y_min_mm = 0.0;  ///< of its box
  double y_max_mm = 0.0;  ///< of its box; no box where there is no tower
  double laid_g = 0.0;    ///< laid there; purge if the verdict is "tower", perhaps if "undecided"
};

/// Sums over the plate.
struct Totals {
  Range time;                            ///< s
  Range time_of_print;                   ///< s, from the first extrusion to the end, without heat
                                         ///< waits, pauses, homing and probing wherever they lie
  std::vector<TimeBandCause> time_band;  ///< widest first; causes without any are left out
  TimeBy time_by;                        ///< what the expected time is made of
  double pause_s = 0.0;                  ///< waiting for a person, in `other` of time_by
  std::uint64_t pauses = 0;              ///< words that wait until a person has come
  std::uint64_t manual_changes = 0;      ///< of `swaps`, those that a person makes
  std::uint64_t layers = 0;              ///< layers of printed material, without layer 0
  std::uint64_t tool_selects = 0;        ///< tool words met, repeats too
  std::uint64_t swaps = 0;            ///< changes to a different tool after material has been laid
  double part_g = 0.0;                ///< what stays in the printed parts
  double purge_g = 0.0;               ///< pushed out because of swaps
  double purge_low_g = 0.0;           ///< what is purge beyond doubt
  double purge_high_g = 0.0;          ///< with all that may be purge
  PurgeBy purge_by;                   ///< what the expected purge was recognised by
  std::optional<double> swaps_short;  ///< that purge less than their pair needs; absent while the
                                      ///< need of some pair is not known
  std::optional<double> purge_short_g;  ///< what they lack; absent likewise
  double start_up_g = 0.0;              ///< wasted before the first swap: purge lines, priming
  double energy_wh = 0.0;               ///< from the wall
  double energy_low_wh = 0.0;        ///< bands of time, of the machine's description, past errors
  double energy_high_wh = 0.0;       ///< upper end of that band
  EnergyBy energy_by;                ///< what it is made of
  double mean_power_w = 0.0;         ///< energy over time
  double peak_power_w = 0.0;         ///< highest draw in the simulation
  double peak_quarter_hour_w = 0.0;  ///< highest 15-minute mean
  double connected_load_w = 0.0;     ///< everything on at once, at full
  std::uint64_t bed_zones_used = 0;  ///< heated because something is printed above
  double energy_residual = 0.0;      ///< |in - out - stored| over in, of the heat model's book

  /// Mean power and the band of the energy, from energy_wh and time. `spread`: what the machine's
  /// description may be off by, as a share, independently of the time.
  void set_power_and_energy_band(double spread) {
    constexpr double kSecondsPerHour = 3600.0;
    mean_power_w = time.expected > 0.0 ? energy_wh * kSecondsPerHour / time.expected : 0.0;
    const double wh_per_s = mean_power_w / kSecondsPerHour;
    energy_low_wh = std::max(
        0.0, energy_wh - std::hypot(wh_per_s * (time.expected - time.low), spread * energy_wh));
    energy_high_wh =
        energy_wh + std::hypot(wh_per_s * (time.high - time.expected), spread * energy_wh);
  }
};

/// One tool over the whole plate.
struct ToolAccount {
  int tool = 0;                     ///< its number
  std::string colour;               ///< as the caller or the machine file names it; may be empty
  std::uint64_t selects = 0;        ///< words that select it
  double filament_mm = 0.0;         ///< net: retractions and their returns cancel
  double part_g = 0.0;              ///< that it lays
  double purge_g = 0.0;             ///< that it lays
  double start_up_g = 0.0;          ///< that it lays
  std::optional<double> to_have_g;  ///< all that it lays, and the reserve; absent without one
  std::optional<double> spools;     ///< that hold it, whole ones; where a spool's grams are known
  double active_s = 0.0;            ///< in hand
  double standby_s = 0.0;           ///< hot while another tool works
  double energy_wh =
      0.0;  ///< of its head while it is this tool's turn or standby, before the supply
};

/// All swaps from one tool to another.
struct SwapPairAccount {
  int from = 0;             ///< tool
  int to = 0;               ///< tool
  std::uint64_t count = 0;  ///< of swaps
  double purge_g = 0.0;     ///< of all of them
  std::optional<double>
      needed_g;  ///< for all of them; absent while the pair's colours are not known
  double purge_each_low_g = 0.0;             ///< of the swap that purges least
  double purge_each_high_g = 0.0;            ///< of the one that purges most
  std::optional<double> needed_each_low_g;   ///< without the margin that a need holds
  std::optional<double> needed_each_high_g;  ///< with it
  std::optional<double> left_de00;  ///< colour difference (CIEDE2000) that is left, as expected;
                                    ///< absent without colours, and where another head comes
  std::optional<double> left_high_de00;  ///< behind the swap that purges least
  std::uint64_t swaps_short = 0;         ///< that purge less than needed_each_low_g
  double short_g = 0.0;                  ///< what those lack of needed_each_high_g
};

/// One bed zone over the whole plate.
struct BedZoneAccount {
  int row = 0;               ///< from the front, 0 first
  int column = 0;            ///< from the left, 0 first
  double active_s = 0.0;     ///< heated for what lies above
  double neighbour_s = 0.0;  ///< kept warm beside an active one
  double energy_wh = 0.0;    ///< before the supply's loss
  double peak_c = 0.0;       ///< highest temperature
};

/// One layer: all that is printed at one height.
struct LayerAccount {
  std::uint64_t index = 0;             ///< 0: before the first layer; then by height
  double z_mm = 0.0;                   ///< height
  double start_s = 0.0;                ///< when it is first printed, from the first line on
  TimeBy time_by;                      ///< what the machine does meanwhile
  std::uint64_t swaps = 0;             ///< that lead to its material
  std::vector<int> order;              ///< tools in the order in which they lay material
  double part_g = 0.0;                 ///< laid in it
  double purge_g = 0.0;                ///< laid in it or for it
  double start_up_g = 0.0;             ///< before the first swap
  EnergyBy energy_by;                  ///< from the wall
  std::uint64_t bed_zones_active = 0;  ///< how many are heated for it
  std::uint64_t bed_zones_warm = 0;    ///< how many are kept warm beside them
  std::uint64_t first_line = 0;        ///< of the file, that lays material in it; in pages only
};

/// What lies on the bed, and where it would be heated least; for a picture.
struct BedPicture {
  double x_min_mm = 0.0;           ///< of the build area, left
  double y_min_mm = 0.0;           ///< of the build area, front
  double bed_x_min_mm = 0.0;       ///< of the heated bed, left
  double bed_y_min_mm = 0.0;       ///< of the heated bed, front
  double bed_width_mm = 0.0;       ///< of all zones together, x
  double bed_depth_mm = 0.0;       ///< of all zones together, y
  double cell_mm = 2.5;            ///< edge of a cell
  std::size_t columns = 0;         ///< cells of the build area in x
  std::size_t rows = 0;            ///< cells of the build area
  std::vector<std::uint8_t> laid;  ///< row-major from the left front; 1: laid upon
  double shift_x_mm = 0.0;         ///< to the best place
  double shift_y_mm = 0.0;         ///< to the best place; both 0: it lies there
  double zones_now = 0.0;          ///< heated, those kept warm by their share
  double zones_then = 0.0;         ///< the same in the best place
};

/// Something that is printed on the plate apart from everything else, and its share of the plate.
/// The sums over all objects equal the plate's totals to 1e-9 relative; docs/objects.md says how
/// what objects have in common is shared.
struct ObjectAccount {
  std::uint64_t number = 0;  ///< from 1, in the order in which they are first printed
  std::string name;          ///< from the plate's comments, else "object 3"; "rest": laid where no
                             ///< object could be told
  TimeBy time_by;            ///< print and travel are its own; the others are shares
  double swaps = 0.0;        ///< its share of them
  double part_g = 0.0;       ///< laid in it
  double purge_g = 0.0;      ///< its share
  double start_up_g = 0.0;   ///< its share
  double energy_wh = 0.0;    ///< its share, from the wall
  std::optional<double> cost;           ///< its share; with prices only
  double x_min_mm = 0.0;                ///< of its box, along the middle of its strokes
  double x_max_mm = 0.0;                ///< of its box
  double y_min_mm = 0.0;                ///< of its box
  double y_max_mm = 0.0;                ///< of its box
  double height_mm = 0.0;               ///< of its highest stroke
  std::uint64_t layers = 0;             ///< in which it is laid
  std::vector<int> tools;               ///< that lay it, by number
  std::vector<double> part_by_tool_g;   ///< by tool number, in part_g
  std::vector<double> waste_by_tool_g;  ///< by tool number, in purge_g and start_up_g
};

/// What an area of a picture is.
enum class AreaUse : std::uint8_t { part, purge, start_up };

/// An area of a picture of the plate from above: cells of one object, tool and use.
struct PictureArea {
  AreaUse use = AreaUse::part;  ///< what lies there
  int tool = -1;                ///< that lay it; topmost where several did; -1: several
  std::uint64_t object = 0;     ///< its number; 0: none
  /// Closed rings (the first point is not repeated), x and y in mm; what lies inside is always to
  /// the left, so that holes run clockwise.
  std::vector<std::vector<std::array<double, 2>>> rings;
};

/// What lies on the plate, or in one of its layers, from above; for a picture.
struct PlatePicture {
  double cell_mm = 1.0;               ///< edge of the cells that the areas were drawn from
  std::optional<double> at_mm;        ///< height of the layer; absent: the whole plate
  bool is_whole = true;               ///< false: there was more than could be kept
  std::vector<PictureArea> areas;     ///< by object, use and tool
  std::vector<PictureArea> outlines;  ///< of the objects, whatever their tools; tool -1
};

struct Account;

/// Something that costs more than it needs to, or spoils something, and what to do about it. What a
/// finding saves is the difference of two runs of the model: the plate as it is, and as advised. A
/// negative saving is what following it costs. A finding that was not tried names no figures.
struct Finding {
  std::string code;                    ///< stable, kebab-case
  Severity severity = Severity::note;  ///< how much it matters
  std::string message;                 ///< what was seen, and where
  std::string advice;                  ///< what to do about it
  std::string assumes;                 ///< what the savings stand on
  bool tried = false;                  ///< played in the model; else the savings are 0
  std::string trial;                   ///< what came of trying it, or why that was not possible
  double saves_time_s = 0.0;           ///< expected
  double saves_purge_g = 0.0;          ///< expected
  double saves_energy_wh = 0.0;        ///< expected
  std::optional<double> saves_money;   ///< with prices only
  std::vector<std::uint64_t> layers;   ///< that it concerns; empty: the whole plate
  /// Totals, tools and power of the plate as advised, for its price; null: was not played.
  std::shared_ptr<const Account> advised;
  int plates = 1;  ///< of this kind that the advised one stands for: savings are for each
};

/// A figure that the file states of itself in a comment. It is held against what was found, and is
/// never used for anything else.
struct StatedFigure {
  std::string what;        ///< "filament_mm", "filament_cm3", "filament_g", "layers" or "time_s"
  int tool = -1;           ///< that it is of; -1: of the whole plate
  double stated = 0.0;     ///< in the unit that `what` ends with
  double found = 0.0;      ///< the account's own figure
  std::uint64_t line = 0;  ///< of the comment
  bool differs = false;    ///< filament by more than 5 %, layers by more than 2
};

/// How much of the file the account holds.
struct ReadingAccount {
  std::uint64_t commands = 0;             ///< command words that were understood, moves included
  std::uint64_t lines_left_out = 0;       ///< lines that could not be read
  std::uint64_t moves = 0;                ///< words of motion (G0 to G3) that were taken
  std::uint64_t moves_left_out = 0;       ///< lines of motion that could not be read
  std::string broken;                     ///< why the file broke off; empty: it is whole
  std::uint64_t source_bytes = 0;         ///< of a broken file as it lies, packed or not: read
  std::uint64_t source_bytes_in_all = 0;  ///< of all of that file; 0: not known, or it is whole
  /// Of all moves, those that were left out.
  double left_out_share() const {
    const auto all = static_cast<double>(moves + moves_left_out);
    return all > 0.0 ? static_cast<double>(moves_left_out) / all : 0.0;
  }
  /// The account is of a part of the plate: no limit passes on it.
  bool is_partial() const {
    return !broken.empty() || moves_left_out > moves || lines_left_out > commands;
  }
};

/// Whether a plate can be printed.
enum class Grade : std::uint8_t {
  ready,   ///< nothing speaks against it
  look,    ///< look before you print: something may be spoilt, or is not known
  cannot,  ///< not on this machine, as it is
};

/// Something that speaks against printing the plate as it is, or that was not checked (ready).
struct VerdictReason {
  std::string code;            ///< stable, kebab-case
  Grade grade = Grade::ready;  ///< how good the plate can be in spite of it
  std::string text;            ///< a short clause
};

/// Can I print this?
struct Verdict {
  Grade grade = Grade::ready;          ///< the worst of the reasons
  std::vector<VerdictReason> reasons;  ///< worst first
};

/// "ready", "look" or "cannot".
std::string_view name_of(Grade grade);

/// What one plate costs, by cause.
struct PlateCost {
  std::string currency;              ///< a word for the reports
  double part_filament = 0.0;        ///< what stays in the parts
  double purge_filament = 0.0;       ///< start-up included
  double energy = 0.0;               ///< from the wall
  double machine = 0.0;              ///< price over life, and maintenance
  double labour = 0.0;               ///< of a person
  double failures = 0.0;             ///< expected
  double drying = 0.0;               ///< of the filament
  double wear = 0.0;                 ///< of nozzles and the like, by what goes through them
  double failure_probability = 0.0;  ///< that an attempt fails
  /// Of all causes.
  double total() const {
    return part_filament + purge_filament + energy + machine + labour + failures + drying + wear;
  }
  double per_good_part = 0.0;      ///< total over the copies on the plate
  double per_hour = 0.0;           ///< what one more hour of the machine costs, energy excepted
  double per_purge_g = 0.0;        ///< mean price of a purged gram
  double energy_per_kwh = 0.0;     ///< mean price over the print's hours
  std::optional<double> carbon_g;  ///< of the energy; absent: no intensity was given
  std::vector<std::string> not_counted;  ///< what no price was given for
};

/// What one plate costs on one machine.
struct Account {
  std::string path;                         ///< as it is to be shown
  std::uint64_t bytes = 0;                  ///< of the G-code, unpacked
  std::uint64_t lines = 0;                  ///< of the G-code
  std::string machine;                      ///< its name
  WhatIf what_if;                           ///< what is not as in the file
  Verdict verdict;                          ///< can it be printed?
  Totals totals;                            ///< sums over the plate
  TowerAccount tower;                       ///< what the motion says about a prime tower
  std::vector<ToolAccount> tools;           ///< in the order of their numbers
  std::vector<SwapPairAccount> swap_pairs;  ///< pairs that occur
  std::vector<BedZoneAccount> bed_zones;    ///< row by row, from the left front
  std::vector<LayerAccount> layers;         ///< the first is layer 0, before any material
  std::vector<LayerVisit>
      visits;  ///< in the order of printing; empty if there are too many to keep
  std::vector<PowerSample>
      power;               ///< in order, at most 4096, of about the same length; in pages only
  BedPicture bed_picture;  ///< in pages only
  std::vector<ObjectAccount> objects;         ///< by number; empty unless asked for (options.hpp)
  std::optional<PlatePicture> plate_picture;  ///< where objects were asked for; in pictures only
  std::optional<PlatePicture> layer_picture;  ///< where one was asked for; in pictures only
  std::vector<Finding> findings;              ///< what spoils something, then the largest saving
  std::optional<PlateCost> cost;              ///< with prices only
  std::optional<Clock> clock;                 ///< where a start was given
  std::vector<Stop> stops;                    ///< pauses and manual changes, the first kMostStops
  std::vector<Diagnostic> diagnostics;        ///< in the order in which they were first met
  std::vector<LimitWord> limits_read;         ///< most frequent first
  std::vector<UnaccountedWord> unaccounted;   ///< that may matter first, then most frequent first
  ReadingAccount reading;                     ///< how much of the file is in the account
  std::vector<MissingTool> missing_tools;     ///< by number
  std::vector<StatedFigure> stated;  ///< in the order of `what` above, the whole plate first
  MadeFrom made_from;                ///< plate, machine and options
};

}  // namespace platetally
