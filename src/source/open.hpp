// Opens a plate: a file, standard input, or G-code inside a container. The first bytes decide what
// it is, never the name.
#pragma once

#include <memory>
#include <string>
#include <string_view>

#include "source/byte_source.hpp"

namespace platetally::source {

/// "-" is standard input. gz, zstd, xz and zip are unpacked; of a zip with several members the
/// first is read. Throws SourceError.
std::unique_ptr<ByteSource> open_path(const std::string& path);

/// The same for bytes in memory, which must outlive the source.
std::unique_ptr<ByteSource> open_memory(std::string_view bytes);

}  // namespace platetally::source
