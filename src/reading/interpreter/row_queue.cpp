#include "reading/interpreter/row_queue.hpp"

namespace platetally::interpreter {

void RowQueue::append(const Rows& rows) {
  make_room(rows.size);
  begin_run(rows.run);
  const RowRoom into = room();
  std::copy_n(rows.to_x_mm, rows.size, into.to_x_mm);
  std::copy_n(rows.to_y_mm, rows.size, into.to_y_mm);
  std::copy_n(rows.to_z_mm, rows.size, into.to_z_mm);
  std::copy_n(rows.e_mm, rows.size, into.e_mm);
  std::copy_n(rows.feed_mm_s, rows.size, into.feed_mm_s);
  add_rows(rows.size);
}

void RowQueue::give_all(RowSink& sink) const {
  std::uint64_t event = events_.first();
  const auto give_events = [&](std::uint64_t end) {
    for (; event < end; ++event)
      sink.take(events_[event]);
  };
  for (std::uint64_t run = runs_.first(); run < runs_.end(); ++run) {
    give_events(runs_[run].events_before);
    Rows rows = rows_of(runs_[run]);
    rows.motion_s = nullptr;
    sink.take(rows);
  }
  give_events(events_.end());
}

void RowQueue::hand_over(std::uint64_t run_end, std::uint64_t event_end, RowSink& sink) {
  const auto give_events = [&](std::uint64_t end) {
    while (events_.first() < end) {
      sink.take(events_.front());
      events_.drop_front();
    }
  };
  while (runs_.first() < run_end) {
    give_events(runs_.front().events_before);
    Rows rows = rows_of(runs_.front());
    rows.motion_s = nullptr;
    sink.take(rows);
    runs_.drop_front();
  }
  give_events(event_end);
  drop_rows_before(runs_.empty() ? end() : runs_.front().first);
}

}  // namespace platetally::interpreter
