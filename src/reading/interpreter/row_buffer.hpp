// Rows and events on their way out of the interpreter. What comes behind the last laid material is
// held back, because the travel, hop or tool change that leads to a layer belongs to that layer.
#pragma once

#include "reading/interpreter/row_queue.hpp"

namespace platetally::interpreter {

class RowBuffer {
 public:
  /// Moves and events that are held back at least before any goes on without its layer; at most
  /// twice as many are.
  static constexpr std::size_t kMostHeld = 1024;

  explicit RowBuffer(RowSink& sink) : sink_(sink) {}

  /// Material is laid in `layer` next: what is held back leads there and goes with it. What comes
  /// before the first layer stays in layer 0.
  void enter(std::uint32_t layer) {
    if (layer != layer_)
      go_to_layer(layer);
  }
  std::uint32_t layer() const { return layer_; }

  /// A move, as a row of the last run where it goes on with it, else of a run of its own like
  /// `move`. `lays`: it belongs to the layer in force for good, and so does all before it.
  void push(const Run& move, const std::array<double, 3>& to_mm, double e_mm, double feed_mm_s,
            bool lays) {
    if (!goes_on(move, lays))
      begin(move);
    const RowRoom room = queue_.room();
    *room.to_x_mm = to_mm[0];
    *room.to_y_mm = to_mm[1];
    *room.to_z_mm = to_mm[2];
    *room.e_mm = e_mm;
    *room.feed_mm_s = feed_mm_s;
    queue_.add_rows(1);
    if (move.from_mm[2] != to_mm[2])
      queue_.runs().back().run.is_level = false;
    if (lays)
      settle();
  }

  /// So many moves from `line` on may be written to room() as rows of the last run, which all lay
  /// in the layer in force, and then be told by add_strokes(). 0: there is no such run.
  std::size_t strokes_room(std::uint64_t line) const {
    if (queue_.runs().empty() || held_run_ != queue_.runs().end())
      return 0;
    const RowQueue::Entry& last = queue_.runs().back();
    const bool fits = last.run.kind == RunKind::stroke && goes_on_behind(last, line);
    return fits ? kMostRows - last.size : 0;
  }
  RowRoom room() { return queue_.room(); }
  void add_strokes(std::size_t count) { queue_.add_rows(count); }
  /// What the last run shares.
  const Run& last_run() const { return queue_.runs().back().run; }

  /// An event; `event.layer` is set here.
  void push(Record event) {
    make_room();
    event.layer = layer_;
    queue_.append(event);
  }

  /// Hands over everything.
  void flush() { queue_.hand_over(queue_.runs().end(), queue_.events().end(), sink_); }

 private:
  static constexpr std::size_t kBatch = 512;  // is small enough for a processor's nearest caches

  bool goes_on_behind(const RowQueue::Entry& last, std::uint64_t line) const {
    return last.run.first_line + last.size == line && last.size < kMostRows &&
           last.events_before == queue_.events().end();
  }
  bool goes_on(const Run& move, bool lays) const {
    if (queue_.runs().empty() || move.kind > RunKind::feed)
      return false;
    const RowQueue::Entry& last = queue_.runs().back();
    return last.run.kind == move.kind && last.run.flags == move.flags &&
           last.run.tool == move.tool && goes_on_behind(last, move.first_line) &&
           last.run.layer == layer_ && (lays || held_run_ != queue_.runs().end());
  }
  void begin(const Run& move);
  void settle() {
    held_run_ = queue_.runs().end();
    held_event_ = queue_.events().end();
  }
  std::size_t waiting() const { return queue_.rows() + queue_.events().size(); }
  void make_room();
  void let_go();
  void go_to_layer(std::uint32_t layer);

  RowSink& sink_;
  RowQueue queue_;
  std::uint64_t held_run_ = 0;  // from here on nothing is laid yet
  std::uint64_t held_event_ = 0;
  std::uint32_t layer_ = 0;
};

}  // namespace platetally::interpreter
