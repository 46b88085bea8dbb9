// The account of one plate: what it costs in time, material and energy, in total and per layer.
//
// A plain result. Sums over layers equal the totals to 1e-9 relative.
#pragma once

#include <algorithm>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "platetally/diagnostic.hpp"
#include "platetally/range.hpp"

namespace platetally {

/// Seconds by what the machine does meanwhile. `swap` holds the machine's own swap seconds and the
/// motion that lays purge; `other` holds dwell, homing, probing, start and end, retraction at rest.
struct TimeBy {
  double print_s = 0.0;
  double travel_s = 0.0;
  double swap_s = 0.0;
  double heat_wait_s = 0.0;
  double other_s = 0.0;
  double sum_s() const { return print_s + travel_s + swap_s + heat_wait_s + other_s; }
  TimeBy& operator+=(const TimeBy& part) {
    print_s += part.print_s;
    travel_s += part.travel_s;
    swap_s += part.swap_s;
    heat_wait_s += part.heat_wait_s;
    other_s += part.other_s;
    return *this;
  }
};

/// Watt-hours drawn from the wall, by where they go. The supply's own loss is apart.
struct EnergyBy {
  double bed_wh = 0.0;
  double hot_ends_wh = 0.0;
  double enclosure_wh = 0.0;
  double motors_wh = 0.0;
  double fans_wh = 0.0;
  double electronics_wh = 0.0;
  double supply_loss_wh = 0.0;
  double sum_wh() const {
    return bed_wh + hot_ends_wh + enclosure_wh + motors_wh + fans_wh + electronics_wh +
           supply_loss_wh;
  }
  EnergyBy& operator+=(const EnergyBy& part) {
    bed_wh += part.bed_wh;
    hot_ends_wh += part.hot_ends_wh;
    enclosure_wh += part.enclosure_wh;
    motors_wh += part.motors_wh;
    fans_wh += part.fans_wh;
    electronics_wh += part.electronics_wh;
    supply_loss_wh += part.supply_loss_wh;
    return *this;
  }
};

/// What the band around the expected time is made of.
struct TimeBandCause {
  std::string cause;     ///< "swap", "long-swap", "homing", "probing", "start-and-end", "pause",
                         ///< "unknown-words", "past-errors"
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
  std::string verdict;  ///< "no-swaps", "none", "tower" or "undecided"
  std::string why;      ///< a plain sentence
  double x_min_mm = 0.0, x_max_mm = 0.0, y_min_mm = 0.0, y_max_mm = 0.0;  ///< unless none
  double laid_g = 0.0;  ///< laid there; purge if the verdict is "tower", perhaps if "undecided"
};

struct Totals {
  Range time;                            ///< s
  std::vector<TimeBandCause> time_band;  ///< widest first; causes without any are left out
  TimeBy time_by;
  double pause_s = 0.0;      ///< waiting for a person, in `other` of time_by
  std::uint64_t layers = 0;  ///< layers of printed material, without layer 0
  std::uint64_t tool_selects = 0;
  std::uint64_t swaps = 0;
  double part_g = 0.0;
  double purge_g = 0.0;
  double purge_low_g = 0.0;
  double purge_high_g = 0.0;
  PurgeBy purge_by;
  double start_up_g = 0.0;  ///< wasted before the first swap: purge lines, priming
  double energy_wh = 0.0;
  double energy_low_wh = 0.0;  ///< the band of the time at mean power, and past errors
  double energy_high_wh = 0.0;
  EnergyBy energy_by;
  double mean_power_w = 0.0;
  double peak_power_w = 0.0;
  double peak_quarter_hour_w = 0.0;  ///< highest 15-minute mean
  double connected_load_w = 0.0;
  std::uint64_t bed_zones_used = 0;
  double energy_residual = 0.0;  ///< |in - out - stored| over in, of the heat model's book

  /// Mean power and the band of the energy, from energy_wh and time.
  void set_power_and_energy_band() {
    constexpr double kSecondsPerHour = 3600.0;
    mean_power_w = time.expected > 0.0 ? energy_wh * kSecondsPerHour / time.expected : 0.0;
    energy_low_wh =
        std::max(0.0, energy_wh - mean_power_w * (time.expected - time.low) / kSecondsPerHour);
    energy_high_wh = energy_wh + mean_power_w * (time.high - time.expected) / kSecondsPerHour;
  }
};

struct ToolAccount {
  int tool = 0;
  std::string colour;  ///< as the caller or the machine file names it; may be empty
  std::uint64_t selects = 0;
  double filament_mm = 0.0;  ///< net: retractions and their returns cancel
  double part_g = 0.0;
  double purge_g = 0.0;
  double start_up_g = 0.0;
  double active_s = 0.0;
  double standby_s = 0.0;  ///< hot while another tool works
  double energy_wh =
      0.0;  ///< of its head while it is this tool's turn or standby, before the supply
};

struct SwapPairAccount {
  int from = 0;
  int to = 0;
  std::uint64_t count = 0;
  double purge_g = 0.0;
  std::optional<double>
      needed_g;  ///< for all of them; absent while the pair's colours are not known
};

struct BedZoneAccount {
  int row = 0;
  int column = 0;
  double active_s = 0.0;
  double neighbour_s = 0.0;
  double energy_wh = 0.0;  ///< before the supply's loss
  double peak_c = 0.0;
};

struct LayerAccount {
  std::uint64_t index = 0;  ///< 0: before the first layer; then by height
  double z_mm = 0.0;
  double start_s = 0.0;
  TimeBy time_by;
  std::uint64_t swaps = 0;
  std::vector<int> order;  ///< tools in the order in which they lay material
  double part_g = 0.0;
  double purge_g = 0.0;
  double start_up_g = 0.0;
  EnergyBy energy_by;
  std::uint64_t bed_zones_active = 0;
  std::uint64_t bed_zones_warm = 0;
};

/// Tools that lay material in one layer without another layer between: most plates visit each layer
/// once; objects printed one after the other visit each of their layers.
struct LayerVisit {
  std::uint64_t layer = 0;  ///< LayerAccount::index
  std::vector<int> order;   ///< tools by first appearance
};

/// What was drawn from the wall in one span of the simulated print.
struct PowerSample {
  double start_s = 0.0;
  double duration_s = 0.0;
  EnergyBy energy;
};

/// What lies on the bed, and where it would be heated least; for a picture.
struct BedPicture {
  double x_min_mm = 0.0, y_min_mm = 0.0;  ///< left front corner of the build area
  double bed_x_min_mm = 0.0, bed_y_min_mm = 0.0;
  double bed_width_mm = 0.0, bed_depth_mm = 0.0;  ///< of all zones together
  double cell_mm = 2.5;
  std::size_t columns = 0, rows = 0;          ///< cells of the build area
  std::vector<std::uint8_t> laid;             ///< row-major from the left front; 1: laid upon
  double shift_x_mm = 0.0, shift_y_mm = 0.0;  ///< to the best place; 0, 0: it lies there
  double zones_now = 0.0, zones_then = 0.0;   ///< heated, those kept warm by their share
};

/// Something that costs more than it needs to, and what to do about it.
struct Finding {
  std::string code;
  Severity severity = Severity::note;
  std::string message;  ///< what was seen, and where
  std::string advice;   ///< what to do about it
  std::string assumes;  ///< what the savings stand on
  double saves_time_s = 0.0;
  double saves_purge_g = 0.0;
  double saves_energy_wh = 0.0;
  std::optional<double> saves_money;
  std::vector<std::uint64_t> layers;
};

/// A command word that the model does not account for.
struct UnaccountedWord {
  std::string word;
  std::uint64_t count = 0;
  std::uint64_t first_line = 0;
};

/// What one plate costs, by cause.
struct PlateCost {
  std::string currency;
  double part_filament = 0.0;
  double purge_filament = 0.0;  ///< start-up included
  double energy = 0.0;
  double machine = 0.0;  ///< price over life, and maintenance
  double labour = 0.0;
  double failures = 0.0;
  double failure_probability = 0.0;  ///< that an attempt fails
  double total() const {
    return part_filament + purge_filament + energy + machine + labour + failures;
  }
  double per_good_part = 0.0;  ///< total over the copies on the plate
  double per_hour = 0.0;       ///< what one more hour of the machine costs, energy excepted
  double per_purge_g = 0.0;    ///< mean price of a purged gram
  double energy_per_kwh = 0.0;
  std::optional<double> carbon_g;
  std::vector<std::string> not_counted;  ///< what no price was given for
};

struct Account {
  std::string path;
  std::uint64_t bytes = 0;
  std::uint64_t lines = 0;
  std::string machine;
  Totals totals;
  TowerAccount tower;
  std::vector<ToolAccount> tools;
  std::vector<SwapPairAccount> swap_pairs;
  std::vector<BedZoneAccount> bed_zones;
  std::vector<LayerAccount> layers;
  std::vector<LayerVisit>
      visits;  ///< in the order of printing; empty if there are too many to keep
  std::vector<PowerSample>
      power;               ///< in order, at most 4096, of about the same length; in pages only
  BedPicture bed_picture;  ///< in pages only
  std::vector<Finding> findings;
  std::optional<PlateCost> cost;  ///< with prices only
  std::vector<Diagnostic> diagnostics;
  std::vector<UnaccountedWord> unaccounted;
};

}  // namespace platetally
