// Collects diagnostics: one entry a code, in order of first appearance, repeats counted.
#pragma once

#include <string>
#include <vector>

#include "platetally/diagnostic.hpp"

namespace platetally::base {

/// Bounded whatever the input: codes come from our own small set. Not thread safe; one per thread,
/// then merge().
class Diagnostics {
 public:
  /// Counts `diagnostic` under its code; keeps line, column and message of the first.
  void add(Diagnostic diagnostic);

  /// True when `code` was seen before: then count_again(code) saves building the message.
  bool count_again(std::string_view code);

  /// Takes over the entries of `other`; for a code in both, the smaller line's message stays.
  void merge(const Diagnostics& other);

  const std::vector<Diagnostic>& entries() const { return entries_; }

 private:
  std::vector<Diagnostic> entries_;
};

}  // namespace platetally::base
