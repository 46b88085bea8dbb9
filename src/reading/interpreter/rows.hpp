// Moves in rows, the one form in which they go from the interpreter to the books: what every move
// has for itself stands in columns, what the moves of a run share is said once. Motion writes its
// seconds beside them. Events (record.hpp) come between runs.
#pragma once

#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>

#include "reading/interpreter/record.hpp"

namespace platetally::interpreter {

/// What the moves of a run do.
enum class RunKind : std::uint8_t {
  stroke,  ///< lay material along a straight path
  path,    ///< go along another straight path: a travel, a wipe, a climb
  feed,    ///< E alone
  arc,     ///< an arc, which is a run of its own
  idle,    ///< a run of one: shorter than rounding, or longer than arithmetic bears
};

/// Shorter than a picometre is rounding of coordinates, not motion.
inline constexpr double kLeastLength_mm = 1e-9;
/// Longer than a million kilometres is a broken number.
inline constexpr double kMostLength_mm = 1e12;

/// What moves share that follow one another, each from where the one before ended and a line behind
/// it.
struct Run {
  std::uint64_t first_line = 0;  ///< 1-based
  std::uint32_t layer = 0;
  std::int16_t tool = -1;
  std::uint8_t flags = 0;  ///< RecordFlag
  RunKind kind = RunKind::path;
  bool is_level = true;               ///< no move changes its Z
  Plane plane = Plane::xy;            ///< of an arc
  std::array<double, 3> from_mm{};    ///< where the first one begins
  std::array<double, 2> centre_mm{};  ///< of an arc, as in Move
  double sweep_rad = 0.0;             ///< the same; 0 of everything else

  bool extrudes_by_switch() const { return (flags & kExtruderOn) != 0; }
};

/// The kind of a straight move.
inline RunKind kind_of(const std::array<double, 3>& from_mm, const std::array<double, 3>& to_mm,
                       double e_mm, std::uint8_t flags) {
  const double x_mm = to_mm[0] - from_mm[0];
  const double y_mm = to_mm[1] - from_mm[1];
  const double z_mm = to_mm[2] - from_mm[2];
  const double level_square = x_mm * x_mm + y_mm * y_mm;
  const double square = level_square + z_mm * z_mm;
  constexpr double kLeastSquare = kLeastLength_mm * kLeastLength_mm;
  if (!(square < kMostLength_mm * kMostLength_mm && std::abs(e_mm) < kMostLength_mm))
    return RunKind::idle;
  if (level_square >= kLeastSquare && (e_mm > 0.0 || (flags & kExtruderOn) != 0))
    return RunKind::stroke;
  if (square >= kLeastSquare)
    return RunKind::path;
  return std::abs(e_mm) >= kLeastLength_mm ? RunKind::feed : RunKind::idle;
}

/// So many numbers, whatever they are, may be read behind a run's columns, so that its length need
/// not be minded to the last one.
inline constexpr std::size_t kReadableBehind = 3;
inline constexpr std::size_t kMostRows = 256;  // of a run

/// A run's moves, or some of them; the columns belong to somebody else.
struct Rows {
  Run run;
  std::size_t size = 0;
  const double* to_x_mm = nullptr;
  const double* to_y_mm = nullptr;
  const double* to_z_mm = nullptr;
  const double* e_mm = nullptr;       ///< filament fed (negative: drawn back), factors applied
  const double* feed_mm_s = nullptr;  ///< as in Move
  const double* motion_s = nullptr;   ///< nothing before motion

  double from_x_mm(std::size_t i) const { return i == 0 ? run.from_mm[0] : to_x_mm[i - 1]; }
  double from_y_mm(std::size_t i) const { return i == 0 ? run.from_mm[1] : to_y_mm[i - 1]; }
  double from_z_mm(std::size_t i) const { return i == 0 ? run.from_mm[2] : to_z_mm[i - 1]; }

  /// `count` of them, from number `first` on, as a run of their own.
  Rows part(std::size_t first, std::size_t count) const {
    Rows part{run,
              count,
              to_x_mm + first,
              to_y_mm + first,
              to_z_mm + first,
              e_mm + first,
              feed_mm_s + first,
              motion_s == nullptr ? nullptr : motion_s + first};
    part.run.first_line += first;
    part.run.from_mm = {from_x_mm(first), from_y_mm(first), from_z_mm(first)};
    return part;
  }

  /// One of them laid open.
  Record record(std::size_t i) const {
    Record record;
    record.kind = RecordKind::move;
    record.flags = run.flags;
    record.tool = run.tool;
    record.layer = run.layer;
    record.line = run.first_line + i;
    record.motion_s = motion_s == nullptr ? 0.0 : motion_s[i];
    record.move = {{from_x_mm(i), from_y_mm(i), from_z_mm(i)},
                   {to_x_mm[i], to_y_mm[i], to_z_mm[i]},
                   e_mm[i],
                   feed_mm_s[i],
                   run.centre_mm,
                   run.sweep_rad,
                   run.plane};
    return record;
  }
};

/// An idle move that is longer than arithmetic bears, or no number at all.
inline bool is_broken(const Rows& idle) {
  const double x_mm = idle.to_x_mm[0] - idle.run.from_mm[0];
  const double y_mm = idle.to_y_mm[0] - idle.run.from_mm[1];
  const double z_mm = idle.to_z_mm[0] - idle.run.from_mm[2];
  return !(x_mm * x_mm + y_mm * y_mm + z_mm * z_mm < kMostLength_mm * kMostLength_mm &&
           std::abs(idle.e_mm[0]) < kMostLength_mm);
}

/// Where rows and events go, in program order. Both are valid during the call only.
class RowSink {
 public:
  virtual ~RowSink() = default;
  /// One at least, kMostRows at most.
  virtual void take(const Rows& rows) = 0;
  virtual void take(const Record& event) = 0;
};

}  // namespace platetally::interpreter
