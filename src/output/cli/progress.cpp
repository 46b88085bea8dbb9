#include "output/cli/progress.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <string_view>
#include <system_error>

namespace platetally::cli {

namespace {

constexpr std::uint64_t kMegabyte = 1'000'000;

void put(std::string_view text) {
  // Progress that cannot be shown is no reason to stop.
  [[maybe_unused]] const auto written = ::write(STDERR_FILENO, text.data(), text.size());
}

/// The size that `read` will count up to, or 0: a packed file yields more bytes than it has.
std::uint64_t size_to_read(const std::filesystem::path& path) {
  static constexpr std::array<std::string_view, 5> kPacked{".gz", ".zst", ".xz", ".zip", ".bz2"};
  std::error_code error;
  if (!std::filesystem::is_regular_file(path, error) ||
      std::find(kPacked.begin(), kPacked.end(), path.extension().string()) != kPacked.end())
    return 0;
  const std::uintmax_t size = std::filesystem::file_size(path, error);
  return error ? 0 : size;
}

}  // namespace

Progress::Progress(const std::string& path, bool shown)
    : shown_(shown), size_(shown ? size_to_read(path) : 0) {}

void Progress::read(std::uint64_t bytes) {
  if (!shown_)
    return;
  const std::uint64_t now = size_ > 0 ? 100 * std::min(bytes, size_) / size_ : bytes / kMegabyte;
  if (now == drawn_)
    return;
  drawn_ = now;
  put(fmt::format("\rreading: {} {}", now, size_ > 0 ? "%" : "MB"));
}

void Progress::wipe() {
  if (drawn_ > 0)
    put("\r\x1b[K");
  drawn_ = 0;
}

void AuditProgressLine::draw(const AuditProgress& state) {
  constexpr auto kEvery = std::chrono::milliseconds(200);
  const auto now = std::chrono::steady_clock::now();
  if (!shown_ || (drawn_ && now - last_ < kEvery && state.files < state.files_in_all))
    return;
  last_ = now;
  drawn_ = true;
  const double seconds = std::max(std::chrono::duration<double>(now - begin_).count(), 1e-3);
  const auto megabytes = [](std::uint64_t bytes) { return static_cast<double>(bytes) / kMegabyte; };
  const double rate = megabytes(state.bytes) / seconds;
  const double left_s =
      rate > 0.0 ? (megabytes(state.bytes_in_all) - megabytes(state.bytes)) / rate : 0.0;
  put(fmt::format(
      "\r\x1b[K{} of {} files, {:.0f} of {:.0f} MB, {:.0f} MB/s, {:.0f} s left{}", state.files,
      state.files_in_all, megabytes(state.bytes), megabytes(state.bytes_in_all), rate,
      std::max(left_s, 0.0),
      state.from_history > 0 ? fmt::format(", {} from the history", state.from_history) : ""));
}

void AuditProgressLine::wipe() {
  if (drawn_)
    put("\r\x1b[K");
  drawn_ = false;
}

}  // namespace platetally::cli
