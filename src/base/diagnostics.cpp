#include "base/diagnostics.hpp"

#include <algorithm>
#include <utility>

namespace platetally {

std::string_view name_of(Severity severity) {
  switch (severity) {
    case Severity::note:
      return "note";
    case Severity::warning:
      return "warning";
    case Severity::error:
      return "error";
  }
  return "error";
}

}  // namespace platetally

namespace platetally::base {

namespace {

auto find_code(std::vector<Diagnostic>& entries, std::string_view code) {
  return std::find_if(entries.begin(), entries.end(),
                      [code](const Diagnostic& entry) { return entry.code == code; });
}

}  // namespace

void Diagnostics::add(Diagnostic diagnostic) {
  if (auto known = find_code(entries_, diagnostic.code); known != entries_.end()) {
    known->count += diagnostic.count;
    return;
  }
  entries_.push_back(std::move(diagnostic));
}

bool Diagnostics::count_again(std::string_view code) {
  auto known = find_code(entries_, code);
  if (known == entries_.end())
    return false;
  ++known->count;
  return true;
}

void Diagnostics::merge(const Diagnostics& other) {
  for (const Diagnostic& entry : other.entries_) {
    auto known = find_code(entries_, entry.code);
    if (known == entries_.end()) {
      entries_.push_back(entry);
    } else if (entry.line < known->line) {
      const auto count = known->count + entry.count;
      *known = entry;
      known->count = count;
    } else {
      known->count += entry.count;
    }
  }
}

}  // namespace platetally::base
