/** @file
 * The version of the library, for the preprocessor of C and C++; docs/promise.md says what stays as it is within one. */
#ifndef PLATETALLY_VERSION_H
#define PLATETALLY_VERSION_H

/** Rises when something is taken away or changes its meaning. */
#define PLATETALLY_VERSION_MAJOR 0
/** Rises when something is added; while the first number is 0, also when something is taken away. */
#define PLATETALLY_VERSION_MINOR 1
/** Rises when something is mended. */
#define PLATETALLY_VERSION_PATCH 0
/** All three. */
#define PLATETALLY_VERSION "0.1.0"
/** One number to compare by: 10000 times the first, 100 times the second, and the third. */
#define PLATETALLY_VERSION_NUMBER \
  (PLATETALLY_VERSION_MAJOR * 10000 + PLATETALLY_VERSION_MINOR * 100 + PLATETALLY_VERSION_PATCH)

#endif
