#include "reading/interpreter/row_buffer.hpp"

namespace platetally::interpreter {

void RowBuffer::begin(const Run& move) {
  make_room();
  queue_.make_room(kMostRows + kReadableBehind);  // which vector code may write to
  queue_.begin_run(move);
  queue_.runs().back().run.layer = layer_;
}

void RowBuffer::make_room() {
  if (waiting() < kBatch)
    return;
  queue_.hand_over(held_run_, held_event_, sink_);
  if (waiting() >= 2 * kMostHeld)
    let_go();
}

/// Hands over the first of what is held back, down to kMostHeld: it keeps the layer that it has.
void RowBuffer::let_go() {
  const auto& runs = queue_.runs();
  std::size_t left = waiting();
  for (; left > kMostHeld && held_run_ < runs.end(); ++held_run_) {
    left -= static_cast<std::size_t>(runs[held_run_].size +
                                     (runs[held_run_].events_before - held_event_));
    held_event_ = runs[held_run_].events_before;
  }
  if (held_run_ == runs.end() && left > kMostHeld)
    held_event_ += left - kMostHeld;
  queue_.hand_over(held_run_, held_event_, sink_);
}

void RowBuffer::go_to_layer(std::uint32_t layer) {
  if (layer_ != 0) {
    for (std::uint64_t run = held_run_; run < queue_.runs().end(); ++run)
      queue_.runs()[run].run.layer = layer;
    for (std::uint64_t event = held_event_; event < queue_.events().end(); ++event)
      queue_.events()[event].layer = layer;
  }
  layer_ = layer;
}

}  // namespace platetally::interpreter
