/// @file
/// Keeps an eye on folders into which plates arrive.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

namespace platetally {

/// Tells which plates are new or changed, and complete: a file counts as complete once its size and
/// date have stayed the same for a while. Polls, so that it works on network folders too.
class FolderWatch {
 public:
  /// Patterns as in AuditOptions. `settle_s`: how long a file must stay the same.
  FolderWatch(std::vector<std::string> paths, std::vector<std::string> include,
              std::vector<std::string> exclude, double settle_s);

  /// What has become complete, each state of a file once. `now_s`: seconds of a clock that never
  /// goes back. Files that are gone are forgotten.
  std::vector<std::string> poll(double now_s);

  /// Takes what lies there as seen, where `is_done` says so.
  template <typename Predicate>
  void skip(Predicate is_done) {
    for (const std::string& path : look())
      if (is_done(path))
        seen_[path].given = true;
  }

 private:
  struct Seen {
    std::int64_t size_bytes = -1;
    std::int64_t modified_ns = 0;
    double since_s = 0.0;
    bool given = false;
    std::uint64_t round = 0;
  };
  /// Every plate that is there, its state noted without a moment.
  std::vector<std::string> look();

  std::vector<std::string> paths_, include_, exclude_;
  double settle_s_;
  std::uint64_t round_ = 0;
  std::map<std::string, Seen> seen_;
};

}  // namespace platetally
