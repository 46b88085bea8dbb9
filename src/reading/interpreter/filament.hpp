// What E words feed: one register for all tools, as controllers have it, and each tool's flow.
#pragma once

#include <cstddef>
#include <vector>

#include "base/units.hpp"
#include "platetally/machine.hpp"
#include "reading/interpreter/word_values.hpp"

namespace platetally::interpreter {

/// The register counts what the words count: mm, or mm3 where E is volumetric.
class Filament {
 public:
  explicit Filament(const Machine& machine)
      : stated_relative_(machine.dialect.initial_extrusion == ExtrusionMode::relative),
        relative_(stated_relative_),
        volumetric_(machine.dialect.volumetric_e) {
    for (const Tool& tool : machine.tools)
      tools_.push_back({1.0, tool.filament_diameter_mm});
    if (tools_.empty())
      tools_.emplace_back();
    update_scale();
  }

  struct Fed {
    double e_mm = 0.0;      ///< of filament, factors applied
    double register_after;  ///< for keep()
  };
  Fed nothing() const { return {0.0, register_}; }
  /// What a word feeds; `unit_mm`: of the words.
  Fed read(double word, double unit_mm) const {
    const double unit = this->unit_mm(unit_mm);
    if (relative_)
      return {fed_mm(word, unit, scale_), register_ + word * unit};
    return {fed_since_mm(word, unit, scale_, register_), word * unit};
  }
  void keep(const Fed& fed) { register_ = fed.register_after; }
  /// Of many words, one behind the other.
  void keep_all(const double* words, std::size_t count, double unit_mm) {
    const double of_word = this->unit_mm(unit_mm);
    if (!relative_) {
      register_ = words[count - 1] * of_word;
      return;
    }
    for (std::size_t i = 0; i < count; ++i)
      register_ += words[i] * of_word;
  }
  /// G92 E.
  void call(double word, double unit_mm) { register_ = word * this->unit_mm(unit_mm); }

  double at() const { return register_; }
  bool is_relative() const { return relative_; }
  bool is_volumetric() const { return volumetric_; }
  /// What a unit of an E word is in the register.
  double unit_mm(double unit_mm) const { return volumetric_ ? 1.0 : unit_mm; }
  /// From the register's difference to millimetres of filament.
  double scale() const { return scale_; }

  /// What M82 and M83 state.
  bool stated_relative() const { return stated_relative_; }
  void state_relative(bool relative, bool distances_are_relative) {
    stated_relative_ = relative;
    update_relative(distances_are_relative);
  }
  /// Whether relative distances make E relative too.
  void let_distances_decide(bool decide, bool distances_are_relative) {
    distances_decide_ = decide;
    update_relative(distances_are_relative);
  }
  void update_relative(bool distances_are_relative) {
    relative_ = stated_relative_ || (distances_are_relative && distances_decide_);
  }

  /// The tool that material is fed by.
  void feed_by(std::size_t tool) {
    tool_ = tool;
    update_scale();
  }
  void set_flow_factor(std::size_t tool, double factor) {
    tools_[tool].flow_factor = factor;
    update_scale();
  }
  void set_diameter_mm(std::size_t tool, double diameter_mm) {
    tools_[tool].diameter_mm = diameter_mm;
    update_scale();
  }
  void set_volumetric(bool volumetric) {
    volumetric_ = volumetric;
    update_scale();
  }

  /// An extruder that words switch on and off feeds without E, as long as no E word is met.
  void switch_extruder(bool on) { switched_on_ = on; }
  void note_words() { has_words_ = true; }
  bool feeds_by_switch() const { return switched_on_ && !has_words_; }

 private:
  struct Thread {
    double flow_factor = 1.0;
    double diameter_mm = 1.75;
  };

  void update_scale() {
    const Thread& thread = tools_[tool_];
    scale_ = volumetric_ ? thread.flow_factor / base::filament_area_mm2(thread.diameter_mm)
                         : thread.flow_factor;
  }

  double register_ = 0.0;
  double scale_ = 1.0;
  bool stated_relative_;
  bool distances_decide_ = false;
  bool relative_;  // as the two and the mode of distances have it
  bool volumetric_;
  bool switched_on_ = false;
  bool has_words_ = false;
  std::vector<Thread> tools_;
  std::size_t tool_ = 0;
};

}  // namespace platetally::interpreter
