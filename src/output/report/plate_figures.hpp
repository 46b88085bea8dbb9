// The four figures of a plate: time, material, energy, and cost where there are prices, else swaps.
#pragma once

#include <vector>

#include "output/report/page_parts.hpp"

namespace platetally::report {

std::vector<Figure> plate_figures(const Account& account);

std::vector<FigurePart> parts_of_time(const TimeBy& by);
std::vector<FigurePart> parts_of_energy(const EnergyBy& by);
std::vector<FigurePart> parts_of_cost(const PlateCost& cost);

}  // namespace platetally::report
