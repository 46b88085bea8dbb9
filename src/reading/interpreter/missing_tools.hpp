// Tools that the plate selects and the machine lacks, and what is lost with each.
//
// A change to such a tool is none, and what is fed meanwhile is counted to the tool in hand. So a
// visit that lays material loses the swap that leads to it, and the one that leads back where the
// next tool is the one in hand again. Numbers from kFirstPlace on stand for no tool but for a place
// or a mode of the machine: the tool in hand stays in hand, and nothing is lost.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "platetally/account.hpp"
#include "reading/interpreter/remarks.hpp"

namespace platetally::interpreter {

class MissingTools {
 public:
  /// The plate selects one; `after_material`: something has been laid before.
  void select(std::int32_t number, bool after_material, const Place& place);
  /// The plate selects a tool of the machine, or parks; `was_in_hand`: it is the one that
  /// everything was counted to.
  void select_other(bool was_in_hand);
  /// One of them is selected: feed() wants to know.
  bool is_selected() const { return selected_ != nullptr; }
  void feed(double e_mm, bool lays);

  std::vector<MissingTool> list() const;
  /// At the end of the plate, where it selects any: each number with what is lost.
  void remark(Remarks& remarks, std::size_t tools_of_machine) const;

 private:
  static constexpr std::size_t kMostNumbers = 64;
  static constexpr std::int32_t kFirstPlace = 100;  ///< no machine has as many tools

  struct Lost {
    std::uint64_t selects = 0, swaps = 0;
    double filament_mm = 0.0;
    std::uint64_t line = 0;
    std::uint32_t column = 0;
    std::string text;  ///< of the first line
  };

  std::map<std::int32_t, Lost> lost_;
  Lost* selected_ = nullptr;
  std::int32_t selected_number_ = 0;
  bool after_material_ = false;
  bool lays_ = false;
};

}  // namespace platetally::interpreter
