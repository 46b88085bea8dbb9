// Pieces of work that do not depend on each other, on several threads.
#pragma once

#include <cstddef>
#include <functional>

namespace platetally::base {

/// As many threads as the machine has cores, at most 16.
int all_cores();

/// work(i) for every i below `count`, in any order, on at most so many `threads`, the asking one
/// counted. When one throws, those that have not begun are left out and it is thrown here.
void run_each(std::size_t count, int threads, const std::function<void(std::size_t)>& work);

}  // namespace platetally::base
