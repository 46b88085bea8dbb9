// The words that the trade as a whole shares. Words of one machine family belong into that family's
// machine file. docs/words.md lists every row; a test holds the two together.
#pragma once

#include <cstdint>
#include <span>

#include "reading/dialect/meaning.hpp"

namespace platetally::dialect {

struct BuiltinWord {
  char letter;  ///< 'G' or 'M'
  std::int16_t number;
  std::int16_t fraction;  ///< -1: none
  Meaning meaning;
};

std::span<const BuiltinWord> builtin_words();

}  // namespace platetally::dialect
