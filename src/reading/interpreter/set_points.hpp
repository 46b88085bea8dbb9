// Set points that the plate's words have put in force.
#pragma once

#include <cstddef>
#include <vector>

#include "reading/interpreter/record.hpp"

namespace platetally::interpreter {

class SetPoints {
 public:
  explicit SetPoints(std::size_t tools) : heads_(tools) {}

  void set(Heater heater, int tool, double set_c) {
    switch (heater) {
      case Heater::bed:
        bed_c_ = set_c;
        break;
      case Heater::enclosure:
        enclosure_c_ = set_c;
        break;
      case Heater::head:
        at(tool).set_c = set_c;
        heats_head_ = heats_head_ || set_c > 0.0;
        break;
    }
  }
  double bed_c() const { return bed_c_; }
  double enclosure_c() const { return enclosure_c_; }
  double head_c(int tool) const { return at(tool).set_c; }
  /// One of the heads was ever heated.
  bool heats_head() const { return heats_head_; }

  /// What a tool is set to in hand, and what it sinks to where a standby was given.
  void set_active_c(int tool, double active_c) { at(tool).active_c = active_c; }
  double active_c(int tool) const { return at(tool).active_c; }
  void set_standby_c(int tool, double standby_c) {
    at(tool).standby_c = standby_c;
    at(tool).has_standby = true;
  }
  bool has_standby(int tool) const { return at(tool).has_standby; }
  double standby_c(int tool) const { return at(tool).standby_c; }

 private:
  struct Head {
    double set_c = 0.0;
    double active_c = 0.0;
    double standby_c = 0.0;
    bool has_standby = false;
  };
  Head& at(int tool) { return heads_[static_cast<std::size_t>(tool)]; }
  const Head& at(int tool) const { return heads_[static_cast<std::size_t>(tool)]; }

  std::vector<Head> heads_;
  double bed_c_ = 0.0;
  double enclosure_c_ = 0.0;
  bool heats_head_ = false;
};

}  // namespace platetally::interpreter
