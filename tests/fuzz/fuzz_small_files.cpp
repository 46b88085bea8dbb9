// Any text as a prices file and as a materials file: read, or at least one error.
#include <cstdlib>
#include <string_view>

#include "platetally/material.hpp"
#include "platetally/prices.hpp"

extern "C" int LLVMFuzzerTestOneInput(const unsigned char* data, std::size_t size) {
  using namespace platetally;
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const PricesLoad prices = parse_prices(text, "fuzz.toml");
  for (const Diagnostic& diagnostic : prices.diagnostics)
    if (diagnostic.message.empty() && diagnostic.code != "toml-syntax")
      std::abort();
  const MaterialsLoad materials = parse_materials(text, "fuzz.toml");
  for (const Material& material : materials.materials)
    if (materials.ok() && (material.name.empty() || !(material.density_g_cm3 >= 0.5)))
      std::abort();
  return 0;
}
