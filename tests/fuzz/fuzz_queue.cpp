// Any text as a queue file and as the JSON of an earlier plan: read, or at least one error.
#include <cstdlib>
#include <stdexcept>
#include <string_view>

#include "platetally/plan.hpp"

extern "C" int LLVMFuzzerTestOneInput(const unsigned char* data, std::size_t size) {
  using namespace platetally;
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const QueueLoad load = parse_queue(text, "fuzz.toml", "/nonexistent");
  if (load.usable && (load.queue.machines.empty() || load.queue.jobs.empty()))
    std::abort();
  if (!load.usable && load.diagnostics.empty())
    std::abort();
  for (const QueueJob& job : load.queue.jobs)
    if (job.machines.empty() || job.copies < 1)
      std::abort();
  if (const auto moment_s = parse_moment(text);
      moment_s && parse_moment(moment_text(*moment_s)) != *moment_s / 60 * 60)
    std::abort();
  try {
    for (const EarlierRun& run : read_plan(text).runs)
      if (run.end_s < run.start_s || run.parts < 1)
        std::abort();
  } catch (const std::invalid_argument&) {
    // It was no plan, and says so.
  }
  return 0;
}
