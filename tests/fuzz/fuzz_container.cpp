// Any bytes as a container: its plates are read to the end in bounded steps, or one clear refusal.
#include <cstdlib>
#include <string_view>
#include <vector>

#include "reading/source/block_reader.hpp"
#include "reading/source/open.hpp"

extern "C" int LLVMFuzzerTestOneInput(const unsigned char* data, std::size_t size) {
  using namespace platetally::source;
  constexpr std::uint64_t kMostBytes = std::uint64_t{80} << 20;
  try {
    const auto plates = open_memory({reinterpret_cast<const char*>(data), size});
    while (const auto bytes = plates->next()) {
      BlockReader blocks(*bytes);
      Block block;
      std::uint64_t offset = 0;
      while (blocks.next(block) && blocks.bytes() < kMostBytes) {
        if (block.text.empty() || block.offset < offset)
          std::abort();
        offset = block.offset + block.text.size();
      }
    }
    if (plates->passed_over().size() > 20)
      std::abort();
  } catch (const SourceError& refused) {
    if (*refused.what() == '\0')
      std::abort();
  }
  return 0;
}
