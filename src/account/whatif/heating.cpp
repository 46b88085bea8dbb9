#include "account/whatif/heating.hpp"

#include <algorithm>

namespace platetally::whatif {

namespace {

using timeline::HeatEvent;
using timeline::HeatEventKind;

class InTime {
 public:
  InTime(const HeatFrom& from, const Machine& machine, std::vector<HeatEvent>& events)
      : from_(from), machine_(machine), events_(events) {}

  void apply() {
    find_uses();
    // From behind and in place, as a log may be large: what is written never overtakes what is
    // read.
    const std::size_t count = events_.size();
    events_.resize(count + kMostWordsInTime);
    auto to = events_.end();
    for (std::size_t i = count; i-- > 0;) {
      const HeatEvent event = events_[i];
      if (i == last_)
        *--to = head_event(HeatEventKind::set_heater, event, 0.0);
      const bool is_early = i < begins_;
      const bool is_late = last_ == count || i > last_;
      if (!(is_word_for_head(event) && (is_early || is_late)))
        *--to = event;
      if (i == taken_)
        *--to = head_event(HeatEventKind::wait_heater, event, 0.0);
      if (i == begins_)
        *--to = head_event(HeatEventKind::set_heater, event, first_c_);
    }
    events_.erase(events_.begin(), to);
  }

 private:
  int head_of(int tool) const {
    return tool < 0 || static_cast<std::size_t>(tool) >= machine_.tools.size()
               ? -1
               : machine_.tools[static_cast<std::size_t>(tool)].head;
  }
  bool is_word_for_head(const HeatEvent& event) const {
    return (event.kind == HeatEventKind::set_heater || event.kind == HeatEventKind::wait_heater) &&
           event.heater == interpreter::Heater::head && head_of(event.tool) == head_of(from_.tool);
  }
  HeatEvent head_event(HeatEventKind kind, const HeatEvent& beside, double value_c) const {
    HeatEvent event;
    event.kind = kind;
    event.heater = interpreter::Heater::head;
    event.tool = static_cast<std::int16_t>(from_.tool);
    event.layer = beside.layer;
    event.line = beside.line;
    event.turn = beside.turn;
    event.value = value_c;
    return event;
  }
  void find_uses() {
    begins_ = taken_ = last_ = events_.size();
    for (std::size_t i = 0; i < events_.size(); ++i) {
      const HeatEvent& event = events_[i];
      if (event.kind == HeatEventKind::set_heater && is_word_for_head(event) &&
          (taken_ == events_.size() || first_c_ <= 0.0))
        first_c_ = std::max(first_c_, event.value);
      if (event.kind == HeatEventKind::span && event.layer == from_.layer &&
          begins_ == events_.size())
        begins_ = i;
      if (event.kind == HeatEventKind::span && event.tool == from_.tool && event.volume_mm3 > 0.0)
        last_ = i;
      if (event.kind == HeatEventKind::take_tool && event.tool == from_.tool &&
          taken_ == events_.size())
        taken_ = i;
    }
    if (last_ == events_.size())
      begins_ = taken_ = events_.size();  // lays nothing: stays cold
    if (taken_ < begins_)
      begins_ = taken_;
  }

  const HeatFrom& from_;
  const Machine& machine_;
  std::vector<HeatEvent>& events_;
  std::size_t begins_ = 0;  ///< heating does
  std::size_t taken_ = 0;   ///< the tool, for the first time
  std::size_t last_ = 0;    ///< its last stroke
  double first_c_ = 0.0;    ///< what it is first heated to
};

}  // namespace

void heat_in_time(const std::vector<HeatFrom>& tools, const Machine& machine,
                  timeline::HeatLog& log) {
  for (const HeatFrom& from : tools)
    InTime(from, machine, log.events).apply();
}

}  // namespace platetally::whatif
