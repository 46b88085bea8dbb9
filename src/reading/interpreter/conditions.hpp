// Parts of a plate that run only under a condition. Conditions nest; a part runs when every branch
// around it does.
#pragma once

#include <algorithm>
#include <cstddef>
#include <vector>

namespace platetally::interpreter {

class Conditions {
 public:
  /// The commands in force are left out.
  bool skip() const { return skipped_ > 0; }
  std::size_t open() const { return branches_.size() + deeper_; }

  void begin(bool take_first) {
    if (branches_.size() < kDeepest)
      branches_.push_back({take_first, true});
    else
      ++deeper_;
    recount();
  }
  /// False: none is open.
  bool turn_to_other() {
    if (deeper_ > 0)
      return true;
    if (branches_.empty())
      return false;
    branches_.back().in_first = false;
    recount();
    return true;
  }
  /// The same.
  bool end() {
    if (deeper_ > 0) {
      --deeper_;
      return true;
    }
    if (branches_.empty())
      return false;
    branches_.pop_back();
    recount();
    return true;
  }

 private:
  static constexpr std::size_t kDeepest = 64;

  struct Branch {
    bool take_first;
    bool in_first;
  };

  void recount() {
    skipped_ = static_cast<std::size_t>(
        std::count_if(branches_.begin(), branches_.end(),
                      [](const Branch& b) { return b.take_first != b.in_first; }));
  }

  std::vector<Branch> branches_;
  std::size_t skipped_ = 0;
  std::size_t deeper_ = 0;  // below the deepest, which follow it
};

}  // namespace platetally::interpreter
