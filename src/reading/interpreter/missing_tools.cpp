#include "reading/interpreter/missing_tools.hpp"
#include "base/counted.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

namespace platetally::interpreter {

namespace {

constexpr std::size_t kLongestText = 200;

std::string say(std::int32_t number, std::uint64_t selects, std::uint64_t line) {
  return selects == 1 ? fmt::format("T{} (line {})", number, line)
                      : fmt::format("T{} ({} times, first in line {})", number, selects, line);
}

}  // namespace

void MissingTools::select(std::int32_t number, bool after_material, const Place& place) {
  if (selected_ != nullptr && number == selected_number_) {
    ++selected_->selects;
    return;
  }
  const bool is_tool = number >= 0 && number < kFirstPlace;
  if (is_tool)
    select_other(false);
  if (lost_.size() == kMostNumbers && !lost_.contains(number))
    return;
  Lost& lost = lost_[number];
  if (lost.selects++ == 0) {
    lost.line = place.line;
    lost.column = place.column;
    lost.text = place.text.substr(0, kLongestText);
  }
  if (!is_tool)
    return;
  selected_ = &lost;
  selected_number_ = number;
  after_material_ = after_material;
  lays_ = false;
}

void MissingTools::select_other(bool was_in_hand) {
  if (selected_ != nullptr && lays_ && was_in_hand)
    ++selected_->swaps;
  selected_ = nullptr;
}

void MissingTools::feed(double e_mm, bool lays) {
  selected_->filament_mm += e_mm;
  if (lays && !lays_) {
    lays_ = true;
    selected_->swaps += after_material_ ? 1U : 0U;
  }
}

std::vector<MissingTool> MissingTools::list() const {
  std::vector<MissingTool> list;
  for (const auto& [number, lost] : lost_)
    list.push_back({number, lost.selects, lost.line, lost.swaps, lost.filament_mm});
  return list;
}

void MissingTools::remark(Remarks& remarks, std::size_t tools_of_machine) const {
  if (lost_.empty())
    return;
  std::vector<std::string> loses, idle;
  std::uint64_t selects = 0;
  for (const auto& [number, lost] : lost_) {
    selects += lost.selects;
    if (number < 0 || number >= kFirstPlace)
      idle.push_back(say(number, lost.selects, lost.line));
    else
      loses.push_back(fmt::format("{}, which feeds {:.1f} mm and loses {}",
                                  say(number, lost.selects, lost.line), lost.filament_mm,
                                  base::counted(lost.swaps, "swap")));
  }
  const auto first = std::min_element(lost_.begin(), lost_.end(), [](const auto& a, const auto& b) {
    return a.second.line < b.second.line;
  });
  remarks.place = {first->second.line, first->second.text, first->second.column};
  remarks.say(
      "tool-not-on-machine", loses.empty() ? Severity::note : Severity::warning,
      [&] {
        std::string text =
            fmt::format("the plate selects tools that the machine does not have (0 to {}): ",
                        tools_of_machine - 1);
        if (!loses.empty())
          text += fmt::format("{}; no tool was changed, and this was counted to the tool in hand",
                              fmt::join(loses, "; "));
        if (!idle.empty())
          text += fmt::format("{}{}, which stand for no tool: no tool was changed",
                              loses.empty() ? "" : "; and ", fmt::join(idle, ", "));
        return text;
      },
      loses.empty() ? "Rows such as word = \"T1000\", action = \"ignore\" in the machine file "
                      "explain numbers that stand for no tool."
                    : "Was the plate made for another machine?",
      selects);
}

}  // namespace platetally::interpreter
