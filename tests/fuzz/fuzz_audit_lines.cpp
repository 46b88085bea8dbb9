// Any line as one of an audit in JSON lines: a row, a beginning, or a refusal.
#include <cstdlib>
#include <stdexcept>
#include <string_view>

#include "output/audit/lines.hpp"
#include "output/audit/record.hpp"

extern "C" int LLVMFuzzerTestOneInput(const unsigned char* data, std::size_t size) {
  using namespace platetally::audit_stage;
  const std::string_view line(reinterpret_cast<const char*>(data), size);
  const Wanted wanted{"totals.purge_g", {{"tools.0.part_g", 1.0}}};
  if (const auto row = row_of(line, wanted); row && row->purge_strip_g.size() > 24)
    std::abort();
  try {
    (void)begin_of(line);
  } catch (const std::invalid_argument&) {
  }
  return 0;
}
