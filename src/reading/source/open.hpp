// Opens a plate: a file, standard input, or G-code inside a container. The first bytes decide what
// it is, never the name.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "reading/source/byte_source.hpp"

namespace platetally::source {

/// How far the bytes of a path have been read, as they lie there.
struct ReadSoFar {
  std::uint64_t bytes = 0;
  std::uint64_t in_all = 0;  ///< 0: not known
};

/// The plates of one path, in one forward pass: a plain or packed file (gz, zstd, xz) is one plate;
/// of a zip or a tar (packed or not) every file that looks like G-code is one.
class Plates {
 public:
  virtual ~Plates() = default;
  /// The next plate, or null behind the last. Ends the life of the one before. Throws SourceError.
  virtual std::unique_ptr<ByteSource> next() = 0;
  /// Name of the plate inside the zip or tar; empty where the path itself is the plate.
  virtual std::string member() const { return ""; }
  /// Files of the container so far that are no G-code.
  virtual std::vector<std::string> passed_over() const { return {}; }
  ReadSoFar read_so_far() const { return *so_far; }

  /// Of all bytes that lie at the path, packed or not: behind the last plate, as what no plate
  /// needed is read for it. Empty where they cannot be read to the end.
  std::string content_hash() const { return hash_of_all(); }

  std::shared_ptr<ReadSoFar> so_far;         ///< kept up by what opened it
  std::function<std::string()> hash_of_all;  ///< likewise
};

/// "-" is standard input. Throws SourceError.
std::unique_ptr<Plates> open_path(const std::string& path);

/// The same for bytes in memory, which must outlive the source.
std::unique_ptr<Plates> open_memory(std::string_view bytes);

/// The same for bytes that come from elsewhere.
std::unique_ptr<Plates> open_supply(std::unique_ptr<ByteSource> bytes);

/// Whether text that begins like this can be a plate: no zero byte, and a line that begins with G,
/// M or T and a number, or nothing but comments as far as it goes.
bool looks_like_plate(std::string_view head);

}  // namespace platetally::source
