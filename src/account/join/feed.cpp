// Bytes that are handed over, to a thread that asks for them: a bounded queue between the two.
#include "platetally/feed.hpp"

#include <algorithm>
#include <atomic>
#include <cstring>
#include <exception>
#include <stdexcept>
#include <thread>
#include <utility>
#include <vector>

#include "base/bounded_queue.hpp"
#include "platetally/analyze.hpp"

namespace platetally {

namespace {

constexpr std::size_t kPieceBytes = std::size_t{256} * 1024;
constexpr std::size_t kPieces = 4;

/// Nobody wants the account any more.
struct Dropped {};

}  // namespace

struct PlateFeed::Reading {
  Reading(Machine machine_in, AnalyzeOptions options_in)
      : machine(std::move(machine_in)), options(std::move(options_in)) {
    thread = std::thread([this] { read(); });
  }

  void read() {
    try {
      account = analyze_supply([this](char* room, std::size_t size) { return next(room, size); },
                               machine, options);
    } catch (...) {
      failure = std::current_exception();
    }
    pieces.abandon();
  }

  std::size_t next(char* room, std::size_t size) {
    if (given == piece.size()) {
      given = 0;
      if (!pieces.pop(piece))
        piece.clear();
    }
    if (dropped)
      throw Dropped{};
    const std::size_t count = std::min(size, piece.size() - given);
    if (count > 0)
      std::memcpy(room, piece.data() + given, count);
    given += count;
    return count;
  }

  bool hand_over() {
    const bool taken = pieces.push(gathered);
    gathered.clear();
    return taken;
  }

  Machine machine;
  AnalyzeOptions options;
  std::vector<char> gathered;  // of the thread that hands over: small pieces make a large one
  base::BoundedQueue<std::vector<char>> pieces{kPieces};
  std::atomic<bool> dropped{false};
  std::vector<char> piece;  // of the reading thread, as what follows until it has ended
  std::size_t given = 0;
  Account account;
  std::exception_ptr failure;
  std::thread thread;
};

PlateFeed::PlateFeed(Machine machine, AnalyzeOptions options)
    : reading_(std::make_unique<Reading>(std::move(machine), std::move(options))) {}

PlateFeed::~PlateFeed() {
  if (!reading_->thread.joinable())
    return;
  reading_->dropped = true;
  reading_->pieces.close();
  reading_->thread.join();
}

bool PlateFeed::push(std::string_view bytes) {
  if (!reading_->thread.joinable())
    throw std::logic_error("the plate was finished; expected no more bytes");
  std::vector<char>& gathered = reading_->gathered;
  while (!bytes.empty()) {
    const std::size_t count = std::min(bytes.size(), kPieceBytes - gathered.size());
    gathered.insert(gathered.end(), bytes.begin(),
                    bytes.begin() + static_cast<std::ptrdiff_t>(count));
    bytes.remove_prefix(count);
    if (gathered.size() == kPieceBytes && !reading_->hand_over())
      return false;
  }
  return true;
}

Account PlateFeed::finish() {
  if (!reading_->thread.joinable())
    throw std::logic_error("the plate was finished before");
  reading_->hand_over();  // if reading has ended, why is said below
  reading_->pieces.close();
  reading_->thread.join();
  if (reading_->failure)
    std::rethrow_exception(reading_->failure);
  return std::move(reading_->account);
}

}  // namespace platetally
