#include "platetally/page_stamp.hpp"
#include "reading/source/content.hpp"

namespace platetally {

std::optional<std::string> content_hash(const std::string& path) {
  return source::hash_of_file(path);
}

}  // namespace platetally
