// Records and strokes in program order, copied, to be handed to another thread.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "reading/interpreter/strokes.hpp"

namespace platetally::interpreter {

class MoveBatch {
 public:
  void add(std::span<const Record> records);
  void add(const Strokes& strokes);
  void clear();

  bool empty() const { return records_.empty() && runs_.empty(); }
  std::size_t bytes() const {
    return records_.size() * sizeof(Record) + columns_.size() * sizeof(double);
  }

  /// Gives everything to `sink`, in the order in which it came.
  void unpack(RecordSink& sink) const;

 private:
  struct Run {
    StrokesHead head;
    std::size_t size;
    std::size_t behind_records;  // how many come before it
  };

  std::vector<Record> records_;
  std::vector<Run> runs_;
  std::vector<double> columns_;  // four a run, one behind the other, and what is readable behind
};

}  // namespace platetally::interpreter
