#include "meter/calibrate/all_cores.hpp"

#include <algorithm>
#include <atomic>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

namespace platetally::calibrate {

void on_all_cores(std::size_t count, const std::function<void(std::size_t)>& work) {
  constexpr unsigned kMostThreads = 16;  // assumed: each may hold a machine and its prediction
  std::atomic<std::size_t> next{0};
  std::mutex guard;
  std::exception_ptr failure;
  const auto run = [&] {
    for (std::size_t i = next++; i < count; i = next++) {
      try {
        work(i);
      } catch (...) {
        const std::lock_guard lock(guard);
        failure = std::current_exception();
        next = count;
      }
    }
  };
  const std::size_t threads = std::min<std::size_t>(
      count, std::clamp(std::thread::hardware_concurrency(), 1U, kMostThreads));
  {
    std::vector<std::jthread> others;  // joined at the end of the block, whatever happens
    for (std::size_t i = 1; i < threads; ++i)
      others.emplace_back(run);
    run();
  }
  if (failure)
    std::rethrow_exception(failure);
}

}  // namespace platetally::calibrate
