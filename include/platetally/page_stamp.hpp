/// @file
/// What stands in the head of a page besides its subject: when it was made, and of which content.
#pragma once

#include <optional>
#include <string>

namespace platetally {

/// The library has no clock and reads a file once, so the caller says it; what is empty is left
/// out.
struct PageStamp {
  std::string date;          ///< as it is to be shown
  std::string content_hash;  ///< of the plate's file, as content_hash() gives it
};

/// 128 bits of a file's content in hexadecimal; nothing where it cannot be read.
std::optional<std::string> content_hash(const std::string& path);

}  // namespace platetally
