// Any text as a plug's log: samples in order and finite, or one line that says why not.
#include <cmath>
#include <cstdlib>
#include <string_view>

#include "platetally/meter.hpp"

extern "C" int LLVMFuzzerTestOneInput(const unsigned char* data, std::size_t size) {
  using namespace platetally;
  try {
    const MeterLog log =
        parse_meter_log(std::string_view(reinterpret_cast<const char*>(data), size), "fuzz.csv");
    double last_s = -1.0;
    for (const MeterSample& sample : log.samples) {
      if (!(sample.t_s > last_s) || !std::isfinite(sample.w) || sample.w < 0.0 ||
          !(sample.lasts_s >= 0.0))
        std::abort();
      last_s = sample.t_s;
    }
    (void)mean_w(log, 0.0, log.duration_s());
  } catch (const UnreadableLog& error) {
    if (std::string_view(error.what()).find("fuzz.csv") != 0)
      std::abort();
  }
  return 0;
}
