/// @file
/// A plate whose bytes are handed over piece by piece, as they come from elsewhere.
#pragma once

#include <memory>
#include <string_view>

#include "platetally/account.hpp"
#include "platetally/machine.hpp"
#include "platetally/options.hpp"

namespace platetally {

/// Reads while it is fed, in a thread of its own; at most two mebibytes wait to be read. One thread
/// at a time may use it. Destroying it ends the reading.
class PlateFeed {
 public:
  /// Nothing is said of machine and options before finish().
  explicit PlateFeed(Machine machine, AnalyzeOptions options = {});
  ~PlateFeed();
  PlateFeed(const PlateFeed&) = delete;
  PlateFeed& operator=(const PlateFeed&) = delete;

  /// Hands over the next bytes, and waits while too many are unread. False where reading has ended
  /// already, for a reason that finish() gives: more bytes are of no use.
  bool push(std::string_view bytes);

  /// There are no more bytes: the account, as of analyze_bytes. Once. Throws as analyze_bytes does,
  /// what AnalyzeOptions::on_progress threw, and std::logic_error the second time.
  Account finish();

 private:
  struct Reading;
  std::unique_ptr<Reading> reading_;
};

}  // namespace platetally
