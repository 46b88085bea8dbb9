// A vector that gives its memory back. `v = {}` only clears it: the empty list is copied into the
// memory that there is.
#pragma once

#include <vector>

namespace platetally::base {

template <typename T>
void give_back(std::vector<T>& vector) {
  std::vector<T>().swap(vector);
}

}  // namespace platetally::base
