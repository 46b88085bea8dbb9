#include "platetally/watch.hpp"

#include "reading/source/content.hpp"
#include "reading/source/folder.hpp"

namespace platetally {

FolderWatch::FolderWatch(std::vector<std::string> paths, std::vector<std::string> include,
                         std::vector<std::string> exclude, double settle_s)
    : paths_(std::move(paths)),
      include_(std::move(include)),
      exclude_(std::move(exclude)),
      settle_s_(settle_s) {}

std::vector<std::string> FolderWatch::look() {
  ++round_;
  std::vector<std::string> there;
  for (const std::string& path : source::find_plates(paths_, {include_, exclude_}).paths) {
    const auto state = source::state_of(path);
    if (!state)
      continue;  // gone again, or no regular file
    Seen& seen = seen_[path];
    if (seen.size_bytes != state->size_bytes || seen.modified_ns != state->modified_ns)
      seen = {state->size_bytes, state->modified_ns, -1.0, false, 0};
    seen.round = round_;
    there.push_back(path);
  }
  std::erase_if(seen_, [&](const auto& entry) { return entry.second.round != round_; });
  return there;
}

std::vector<std::string> FolderWatch::poll(double now_s) {
  std::vector<std::string> complete;
  for (const std::string& path : look()) {
    Seen& seen = seen_[path];
    if (seen.since_s < 0.0)
      seen.since_s = now_s;
    if (seen.given || now_s - seen.since_s < settle_s_)
      continue;
    seen.given = true;
    complete.push_back(path);
  }
  return complete;
}

}  // namespace platetally
