// purge-by-layer PLATE MACHINE   grams purged in every layer.
#include <exception>
#include <iostream>

#include "platetally/analyze.hpp"

int main(int argc, char** argv) {
  if (argc != 3)
    return 2;
  try {
    const platetally::Machine machine = platetally::load_machine(argv[2]).machine();
    const platetally::Account account = platetally::analyze_file(argv[1], machine);
    for (const platetally::LayerAccount& layer : account.layers)
      if (layer.purge_g > 0.0)
        std::cout << layer.index << ' ' << layer.purge_g << " g\n";
  } catch (const std::exception& error) {
    std::cerr << error.what() << '\n';
    return 1;
  }
}
