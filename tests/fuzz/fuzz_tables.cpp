// Any text as a file of finished prints and as one of counted changes: numbers that can be used, or
// one line that says why not.
#include <cmath>
#include <cstdlib>
#include <string_view>

#include "platetally/meter.hpp"
#include "platetally/prints.hpp"

namespace {

void must(bool holds) {
  if (!holds)
    std::abort();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const unsigned char* data, std::size_t size) {
  using namespace platetally;
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  try {
    const FinishedPrints file = parse_finished_prints(text, "fuzz.csv");
    must(file.seconds_step_s > 0.0 && file.energy_step_wh > 0.0);
    for (const FinishedPrint& print : file.prints) {
      must(!print.plate.empty() && print.line > 0);
      for (const auto& value : {print.seconds, print.energy_wh, print.grams})
        must(!value || (std::isfinite(*value) && *value > 0.0));
    }
  } catch (const UnreadableLog& error) {
    must(std::string_view(error.what()).starts_with("fuzz.csv"));
  }
  try {
    const ChangesFile file = parse_changes(text, "fuzz.csv");
    const Machine machine = with_changes(Machine{}, file);
    for (const Range& range : {machine.swap.filament_change_s, machine.swap.head_change_s})
      must(range.low >= 0.0 && range.low <= range.expected && range.expected <= range.high &&
           range.high <= 3600.0);
    must(machine.swap.long_swap_probability >= 0.0 && machine.swap.long_swap_probability <= 1.0);
    must(machine.swap.long_swap_extra_s >= 0.0 && machine.swap.long_swap_extra_s <= 3600.0);
  } catch (const UnreadableLog& error) {
    must(std::string_view(error.what()).starts_with("fuzz.csv"));
  }
  return 0;
}
