#include "reading/source/folder.hpp"

#include <dirent.h>
#include <fnmatch.h>
#include <sys/stat.h>

#include <algorithm>
#include <cerrno>
#include <filesystem>
#include <memory>
#include <set>
#include <system_error>
#include <unordered_set>

namespace platetally::source {

namespace {

bool matches(const std::string& pattern, const std::string& below) {
  const std::size_t slash = below.rfind('/');
  const bool whole = pattern.find('/') != std::string::npos;
  const std::string name = whole || slash == std::string::npos ? below : below.substr(slash + 1);
  return ::fnmatch(pattern.c_str(), name.c_str(), FNM_CASEFOLD) == 0;
}

bool any_matches(const std::vector<std::string>& patterns, const std::string& below) {
  return std::any_of(patterns.begin(), patterns.end(),
                     [&](const std::string& pattern) { return matches(pattern, below); });
}

/// Common endings of files with G-code; common practice, no source.
std::vector<std::string> usual_patterns() {
  std::vector<std::string> patterns{"*.zip", "*.tar", "*.tar.gz", "*.tar.zst", "*.tar.xz", "*.tgz"};
  for (const char* ending : {"*.gcode", "*.gco", "*.g", "*.nc", "*.ngc"})
    for (const char* packed : {"", ".gz", ".zst", ".xz"})
      patterns.push_back(std::string(ending) + packed);
  return patterns;
}

std::string said(int error) {
  return std::generic_category().message(error);
}

class Walk {
 public:
  Walk(FolderOptions options, FoundPlates& found) : options_(std::move(options)), found_(found) {
    unmatched_ = options_.include;
    if (options_.include.empty())
      options_.include = usual_patterns();
  }

  /// Patterns that were given and that no file is like; nothing where no folder was walked.
  std::vector<std::string> unmatched() const {
    return visited_.empty() ? std::vector<std::string>() : unmatched_;
  }

  void take(const std::string& path) {
    if (path.find('\0') != std::string::npos) {  // the system would end the name there
      found_.faults.push_back({path, "its name holds a zero byte"});
      return;
    }
    struct stat status {};
    if (::stat(path.c_str(), &status) != 0 || !S_ISDIR(status.st_mode)) {
      add(path);  // opening it will say what is wrong with it
      return;
    }
    std::vector<std::string> files;
    walk(path, status, files);
    std::sort(files.begin(), files.end());
    for (const std::string& file : files)
      add(file);
  }

 private:
  struct Folder {
    std::string path;
    std::string below;  ///< path below the root, with a slash behind it unless empty
  };

  void add(const std::string& path) {
    if (taken_.insert(path).second)
      found_.paths.push_back(path);
  }

  bool first_visit(const struct stat& status) {
    return visited_.emplace(status.st_dev, status.st_ino).second;
  }

  void walk(const std::string& root, const struct stat& status, std::vector<std::string>& files) {
    if (!first_visit(status))
      return;
    std::vector<Folder> open{{root, ""}};
    while (!open.empty()) {
      const Folder folder = std::move(open.back());
      open.pop_back();
      look_into(folder, open, files);
    }
  }

  void look_into(const Folder& folder, std::vector<Folder>& open, std::vector<std::string>& files) {
    const std::unique_ptr<DIR, int (*)(DIR*)> entries(::opendir(folder.path.c_str()), ::closedir);
    if (!entries) {
      found_.faults.push_back({folder.path, said(errno)});
      return;
    }
    for (;;) {
      errno = 0;
      const dirent* entry = ::readdir(entries.get());
      if (entry == nullptr) {
        if (errno != 0)
          found_.faults.push_back({folder.path, said(errno)});
        return;
      }
      const std::string name = entry->d_name;
      if (name != "." && name != "..")
        look_at(folder, name, open, files);
    }
  }

  void look_at(const Folder& folder, const std::string& name, std::vector<Folder>& open,
               std::vector<std::string>& files) {
    const bool has_slash = !folder.path.empty() && folder.path.back() == '/';
    const std::string path = folder.path + (has_slash ? "" : "/") + name;
    const std::string below = folder.below + name;
    if (any_matches(options_.exclude, below))
      return;
    struct stat status {};
    if (::stat(path.c_str(), &status) != 0) {
      // A link to nowhere or to itself concerns us only if it would be a plate; a file that has
      // just gone is no fault.
      if (errno != ENOENT || ::lstat(path.c_str(), &status) == 0)
        if (any_matches(options_.include, below))
          found_.faults.push_back({path, said(errno == 0 ? ENOENT : errno)});
      return;
    }
    if (S_ISDIR(status.st_mode)) {
      if (first_visit(status))
        open.push_back({path, below + "/"});
    } else if (!any_matches(options_.include, below)) {
      found_.passed_over += !is_own(path, name);
    } else if (S_ISREG(status.st_mode)) {
      std::erase_if(unmatched_,
                    [&](const std::string& pattern) { return matches(pattern, below); });
      files.push_back(path);
    } else {
      found_.faults.push_back({path, "is no regular file"});
    }
  }

  bool is_own(const std::string& path, const std::string& name) const {
    namespace fs = std::filesystem;
    if (options_.own.empty())
      return false;
    const fs::path own(options_.own);
    const std::string own_name = own.filename().string();
    std::error_code ignored;
    return (name == own_name || name.starts_with(own_name + "-")) &&
           fs::equivalent(fs::absolute(own).parent_path(), fs::path(path).parent_path(), ignored);
  }

  FolderOptions options_;
  std::vector<std::string> unmatched_;
  FoundPlates& found_;
  std::set<std::pair<dev_t, ino_t>> visited_;
  std::unordered_set<std::string> taken_;
};

}  // namespace

bool exists(const std::string& path) {
  struct stat status {};
  return ::stat(path.c_str(), &status) == 0;
}

FoundPlates find_plates(const std::vector<std::string>& paths, const FolderOptions& options) {
  FoundPlates found;
  Walk walk(options, found);
  for (const std::string& path : paths)
    walk.take(path);
  found.matches_none = walk.unmatched();
  std::sort(found.faults.begin(), found.faults.end(),
            [](const FolderFault& a, const FolderFault& b) { return a.path < b.path; });
  return found;
}

}  // namespace platetally::source
