// What the functions of the C interface have in common: no exception leaves them, and what C gave
// is checked once.
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdlib>
#include <cstring>
#include <new>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

#include "platetally/analyze.hpp"
#include "platetally/platetally.h"
#include "platetally/prices.hpp"

struct platetally_account {
  platetally::Account account;
};

namespace platetally::c {

/// A copy that C can free; null without memory.
inline char* text_for_c(std::string_view text) noexcept {
  auto* copy = static_cast<char*>(std::malloc(text.size() + 1));
  if (copy == nullptr)
    return nullptr;
  std::memcpy(copy, text.data(), text.size());
  copy[text.size()] = '\0';
  return copy;
}

/// What `work` returns; null if it throws, and then the reason in `error`.
template <typename Work>
auto guarded(char** error, const Work& work) noexcept -> decltype(work()) {
  if (error != nullptr)
    *error = nullptr;
  const auto fail = [error](std::string_view why) {
    if (error != nullptr)
      *error = text_for_c(why);
    return decltype(work()){};
  };
  try {
    return work();
  } catch (const std::bad_alloc&) {
    return fail("out of memory");
  } catch (const std::exception& failure) {
    return fail(failure.what());
  } catch (...) {
    return fail("failed for an unknown reason");
  }
}

template <typename Work>
char* text_of(const Work& work) noexcept {
  return guarded(nullptr, [&work] { return text_for_c(work()); });
}

/// Refuses NULL for what is needed.
template <typename Pointer>
void require(const Pointer* given, const char* what) {
  if (given == nullptr)
    throw std::invalid_argument(std::string("no ") + what);
}

/// Texts that C gave, none of them NULL.
std::vector<std::string> texts_of(const char* const* given, std::size_t count, const char* what);

/// The caller's options, as far as the caller's own version of them goes. Those before `least`
/// bytes were there from the beginning.
template <typename Options>
Options known(const Options* given, std::size_t least, const char* name) {
  Options options{};
  if (given != nullptr) {
    if (given->size < least)
      throw std::invalid_argument(std::string("options: 'size' must be sizeof(") + name + ")");
    std::memcpy(&options, given, std::min(given->size, sizeof(options)));
  }
  return options;
}
platetally_options known(const platetally_options* given);

/// Without the machine.
struct Job {
  AnalyzeOptions options;
  std::optional<Prices> prices;
  int copies = 1;
};

/// Throws for a machine that cannot be used; the message begins with its name or path.
Machine machine_of(const char* name_or_path);
/// `machine`: its tools have the colours.
Job job_of(const Machine& machine, const platetally_options& asked);

}  // namespace platetally::c
