// Queues of chance, as a workshop has them: machines with attended hours, jobs with dates, batches
// whose costs fall with the copies on a plate.
#pragma once

#include <algorithm>
#include <bit>
#include <cmath>
#include <iterator>
#include <tuple>

#include "plan/solve/chance.hpp"
#include "plan/solve/problem.hpp"

namespace platetally::test {

/// `machines` in two kinds, attended from 8 to 17 on working days and on Saturday morning.
inline solve::Problem queue_of(int jobs, int machines, std::uint64_t seed) {
  using namespace solve;
  constexpr Seconds kHour = 3600;
  constexpr Seconds kStart = 1777852800 / kDay_s * kDay_s + 8 * kHour;  // Monday, 2026-05-04
  Chance chance(seed);
  Problem problem;
  problem.now_s = kStart;
  for (int k = 0; k < 2; ++k) {
    Kind kind;
    const int count = k == 0 ? machines / 2 : machines - machines / 2;
    for (int i = 0; i < count; ++i)
      kind.instances.push_back({kStart, k == 0 ? Filaments{0b11111} : Filaments{0b1111} << i % 3});
    std::vector<Span> spans;
    for (Seconds day = 0; day < 6; ++day)
      spans.push_back({day * kDay_s + 8 * kHour, day * kDay_s + (day == 5 ? 12 : 17) * kHour});
    kind.attended = Calendar(spans);
    kind.handling_s = 600;
    kind.change_s = 300;
    kind.change_cost = 2.0;
    kind.feeds = k == 0 ? 5 : 4;
    problem.kinds.push_back(kind);
  }
  for (int j = 0; j < jobs; ++j) {
    Job job;
    job.copies = 1 + static_cast<int>(chance.below(8));
    // A workshop has a few sets of colours that go together.
    constexpr Filaments kPalettes[] = {0b00001111, 0b00110011, 0b11000101};
    const Filaments palette = kPalettes[chance.below(std::size(kPalettes))];
    const int colours = 1 + static_cast<int>(chance.below(4));
    while (std::popcount(job.filaments) < colours)
      job.filaments |= palette & Filaments{1} << chance.below(8);
    job.priority = 1.0 + static_cast<double>(chance.below(3));
    const double days = std::ceil(jobs * 0.6 / machines) + 2.0;
    if (chance.below(3) != 0)
      job.due_s = kStart + static_cast<Seconds>((1.0 + chance.share() * days) * kDay_s);
    problem.jobs.push_back(job);
    const double print_h = 0.5 + 3.0 * chance.share();
    const double swaps_h = 0.2 + 1.5 * chance.share();
    const double part_cost = 1.0 + 6.0 * chance.share();
    for (int k = 0; k < 2; ++k)
      for (int copies = 1; copies <= std::min(job.copies, 6); ++copies) {
        Batch batch;
        batch.job = j;
        batch.kind = k;
        batch.copies = copies;
        const double hours = print_h * copies * (k == 0 ? 1.1 : 1.0) + swaps_h * (k == 0 ? 0.5 : 1);
        batch.print_s = static_cast<Seconds>(hours * kHour);
        batch.waste_g = (k == 0 ? 5.0 : 40.0) * swaps_h;
        batch.energy_wh = hours * (k == 0 ? 180.0 : 140.0);
        batch.cost = part_cost * copies + 0.03 * batch.waste_g + 0.3 * batch.energy_wh / 1000.0 +
                     (k == 0 ? 0.35 : 0.2) * hours + 1.5;
        problem.batches.push_back(batch);
      }
  }
  std::ranges::stable_sort(problem.batches, [](const Batch& a, const Batch& b) {
    return std::tuple(a.job, a.kind, a.copies) < std::tuple(b.job, b.kind, b.copies);
  });
  return problem;
}

}  // namespace platetally::test
