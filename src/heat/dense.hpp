// A dense matrix times a vector, several rows at once.
#pragma once

#include <cstddef>

namespace platetally::heat {

/// product = matrix * vector; the matrix n x n, column by column. Columns whose entry of the vector
/// is zero are passed over: nodes that are held have no residual.
void multiply(const double* matrix, const double* vector, std::size_t n, double* product);

}  // namespace platetally::heat
