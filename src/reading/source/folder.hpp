// Finds the plates below a folder.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace platetally::source {

struct FolderOptions {
  /// Shell patterns (* also matches /). One without a slash is held against the name of the file,
  /// one with a slash against its path below the folder; case does not matter. Empty: the usual
  /// endings of G-code, packed or not, and .zip.
  std::vector<std::string> include;
  std::vector<std::string> exclude;  ///< the same; also whole folders by their name
  std::string own{};  ///< a file of ours, and those beside it that begin with its name and "-": not
                      ///< counted as passed over
};

/// What could not be looked at, and why; one line that goes on after the path.
struct FolderFault {
  std::string path;
  std::string message;
};

struct FoundPlates {
  std::vector<std::string> paths;  ///< folder by folder as given; within one in the order of bytes
  std::vector<FolderFault> faults;
  std::uint64_t passed_over = 0;  ///< files that no pattern includes
  std::vector<std::string>
      matches_none;  ///< patterns to include that no file below a folder is like
};

/// Whether something lies there, whatever it is.
bool exists(const std::string& path);

/// Every path that is no folder is taken as it is; folders are walked. A folder that is reached
/// again, by a link or as a part of another one that was named, is not walked again; a file that
/// is named twice is taken once. Never throws for what the file system says.
FoundPlates find_plates(const std::vector<std::string>& paths, const FolderOptions& options);

}  // namespace platetally::source
