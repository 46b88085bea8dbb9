/// @file
/// Seconds and watt-hours by what they are spent on.
#pragma once

namespace platetally {

/// Seconds by what the machine does meanwhile. `swap` holds the machine's own swap seconds and the
/// motion that lays purge; `other` holds dwell, homing, probing, start and end, retraction at rest.
struct TimeBy {
  double print_s = 0.0;      ///< moves that lay part
  double travel_s = 0.0;     ///< moves that lay nothing
  double swap_s = 0.0;       ///< changing and purging
  double heat_wait_s = 0.0;  ///< standing still until something is hot or cool enough
  double other_s = 0.0;      ///< everything else
  /// Of all.
  double sum_s() const { return print_s + travel_s + swap_s + heat_wait_s + other_s; }
  /// Member by member.
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
  double bed_wh = 0.0;          ///< heaters of the bed
  double hot_ends_wh = 0.0;     ///< heaters of the heads
  double enclosure_wh = 0.0;    ///< its own heater
  double motors_wh = 0.0;       ///< moving and holding
  double fans_wh = 0.0;         ///< of parts, heads and the machine
  double electronics_wh = 0.0;  ///< idle power
  double supply_loss_wh = 0.0;  ///< between the wall and all of the above
  /// Of all.
  double sum_wh() const {
    return bed_wh + hot_ends_wh + enclosure_wh + motors_wh + fans_wh + electronics_wh +
           supply_loss_wh;
  }
  /// Member by member.
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

/// What was drawn from the wall in one span of the simulated print.
struct PowerSample {
  double start_s = 0.0;     ///< of machine time
  double duration_s = 0.0;  ///< how long it stands for
  EnergyBy energy;          ///< drawn in it
};

}  // namespace platetally
