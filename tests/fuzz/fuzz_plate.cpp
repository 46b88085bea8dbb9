// Any bytes as a plate or a container of one: an account whose sums hold, or one clear refusal.
#include <cmath>
#include <cstdlib>
#include <string_view>

#include "platetally/analyze.hpp"

namespace {

void require(bool holds) {
  if (!holds)
    std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const unsigned char* data, std::size_t size) {
  using namespace platetally;
  static const Machine machine = load_machine("changer-5").machine();
  AnalyzeOptions options;
  options.threads = 1;
  try {
    const Account account =
        analyze_bytes({reinterpret_cast<const char*>(data), size}, machine, options);
    double time_s = 0.0;
    double energy_wh = 0.0;
    for (const LayerAccount& layer : account.layers) {
      time_s += layer.time_by.sum_s();
      energy_wh += layer.energy_by.sum_wh();
    }
    require(std::isfinite(account.totals.time.expected) && std::isfinite(account.totals.energy_wh));
    require(std::abs(time_s - account.totals.time.expected) <= 1e-6 + 1e-9 * std::abs(time_s));
    require(std::abs(energy_wh - account.totals.energy_wh) <= 1e-6 + 1e-9 * std::abs(energy_wh));
    require(account.totals.energy_residual < 1e-6);
  } catch (const UnreadablePlate& refused) {
    require(*refused.what() != '\0');
  }
  return 0;
}
