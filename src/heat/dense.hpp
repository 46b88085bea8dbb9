// A dense matrix times a vector, several rows at once.
#pragma once

#include <cstddef>

namespace platetally::heat {

/// product = matrix * vector; the matrix n x n, column by column. Columns whose entry of the vector
/// is zero are passed over: nodes that are held have no residual.
void multiply(const double* matrix, const double* vector, std::size_t n, double* product);

/// The inverse in its place, n x n, column by column. By Gauss and Jordan without a search for
/// pivots: each row's diagonal is larger than the rest of the row together, so none is small.
void invert(double* matrix, std::size_t n);

}  // namespace platetally::heat
