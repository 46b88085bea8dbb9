// Any text as a machine file: a sound machine that survives writing and reading, or at least one
// error.
#include <cstdlib>
#include <string_view>

#include "platetally/machine.hpp"

extern "C" int LLVMFuzzerTestOneInput(const unsigned char* data, std::size_t size) {
  using namespace platetally;
  const MachineLoad load = parse_machine({reinterpret_cast<const char*>(data), size}, "fuzz.toml");
  if (!load.ok())
    return load.diagnostics.empty() ? std::abort(), 0 : 0;
  const MachineLoad again = parse_machine(machine_to_toml(load.machine()), "again.toml");
  if (!again.ok() || !(again.machine() == load.machine()))
    std::abort();
  return 0;
}
