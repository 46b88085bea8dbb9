#include "reading/interpreter/strokes.hpp"

namespace platetally::interpreter {

void RecordSink::take(const Strokes& strokes) {
  std::array<Record, kMostStrokes> records;
  for (std::size_t i = 0; i < strokes.size; ++i)
    records[i] = strokes.record(i);
  take(std::span<const Record>(records.data(), strokes.size));
}

}  // namespace platetally::interpreter
