// A machine and a purge book for records made by hand.
#pragma once

#include "material/swaps/purge_book.hpp"
#include "motion/timeline/swap_watch.hpp"
#include "support/records.hpp"

namespace platetally::swaps {

inline Machine two_tools() {
  Machine machine;
  machine.heads.resize(2);
  machine.tools.resize(2);
  machine.area = {0, 200, 0, 200, 200};
  return machine;
}

/// A purge book that is told of swaps as the records select tools.
class WatchedBook {
 public:
  explicit WatchedBook(const Machine& machine) : book_(machine) {}
  Feed operator()(const interpreter::Record& timed) { return book_.take(timed, watch_.see(timed)); }
  PurgeBook& operator*() { return book_; }

 private:
  timeline::SwapWatch watch_;
  PurgeBook book_;
};

inline interpreter::Record lay(double e_mm, int tool, std::uint8_t flags = 0) {
  return test::move({10, 10, 0.2}, {20, 10, 0.2}, e_mm, 0.2, tool, 1, flags);
}

}  // namespace platetally::swaps
