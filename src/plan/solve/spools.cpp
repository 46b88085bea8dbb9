#include "plan/solve/spools.hpp"

#include <bit>

namespace platetally::solve {

void change_spools(std::span<const Filaments> needs, Filaments loaded, int feeds,
                   std::vector<SpoolChange>& out) {
  out.resize(needs.size());
  const auto many = static_cast<int>(needs.size());
  for (int i = 0; i < many; ++i) {
    const Filaments need = needs[static_cast<std::size_t>(i)];
    const Filaments put_in = need & ~loaded;
    loaded |= need;
    int over = std::popcount(loaded) - feeds;
    if (over > 0) {
      // Walk ahead: what is met first stays longest; the last ones left give way.
      Filaments spare = loaded & ~need;
      for (int ahead = i + 1; ahead < many && std::popcount(spare) > over; ++ahead) {
        Filaments met = spare & needs[static_cast<std::size_t>(ahead)];
        while (met != 0 && std::popcount(spare) > over) {
          const Filaments one = met & (~met + 1);
          spare &= ~one;
          met &= ~one;
        }
      }
      for (; over > 0 && spare != 0; --over) {
        const Filaments one = spare & (~spare + 1);
        spare &= ~one;
        loaded &= ~one;
      }
    }
    out[static_cast<std::size_t>(i)] = {put_in, loaded};
  }
}

}  // namespace platetally::solve
