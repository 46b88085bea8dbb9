#include "base/run_each.hpp"

#include <algorithm>
#include <atomic>
#include <exception>
#include <mutex>
#include <system_error>
#include <thread>
#include <vector>

#include "base/threads.hpp"

namespace platetally::base {

int all_cores() {
  constexpr unsigned kMostThreads = 16;  // assumed: each may hold a machine and its prediction
  return static_cast<int>(std::clamp(std::thread::hardware_concurrency(), 1U, kMostThreads));
}

void run_each(std::size_t count, int threads, const std::function<void(std::size_t)>& work) {
  std::atomic<std::size_t> next{0};
  std::mutex guard;
  std::exception_ptr failure;
  const auto run = [&] {
    for (std::size_t i = next++; i < count; i = next++) {
      try {
        work(i);
      } catch (...) {
        const std::lock_guard lock(guard);
        if (!failure)
          failure = std::current_exception();
        next = count;
      }
    }
  };
  const auto most = static_cast<std::size_t>(std::max(threads_of(threads), 1));
  std::vector<std::thread> others;
  others.reserve(std::min(count, most));
  try {
    for (std::size_t i = 1; i < std::min(count, most); ++i)
      others.emplace_back(run);
  } catch (const std::system_error&) {
    // No more threads are to be had: those that there are do the rest.
  }
  run();
  for (std::thread& other : others)
    other.join();
  if (failure)
    std::rethrow_exception(failure);
}

}  // namespace platetally::base
