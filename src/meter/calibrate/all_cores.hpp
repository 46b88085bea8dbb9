// Pieces of work that do not depend on each other, on all cores.
#pragma once

#include <cstddef>
#include <functional>

namespace platetally::calibrate {

/// work(i) for every i below `count`, in any order. When one throws, those that have not begun are
/// left out and it is thrown here.
void on_all_cores(std::size_t count, const std::function<void(std::size_t)>& work);

}  // namespace platetally::calibrate
