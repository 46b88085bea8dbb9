#include "plan/solve/improve.hpp"

#include <algorithm>
#include <bit>
#include <cmath>

#include "base/units.hpp"
#include "plan/solve/chance.hpp"

namespace platetally::solve {

namespace {

constexpr std::int64_t kStepsBetweenLooks = 128;
constexpr double kCoolest = 1e-5;   // of the mean worth of a batch; assumed
constexpr double kTieShare = 1e-4;  // of what is asked for, for all that only decides ties; assumed

double in_hours(Seconds time_s) {
  return base::h_from_s(static_cast<double>(time_s));
}

class Chain {
 public:
  Chain(const Problem& problem, std::vector<Lane> lanes, const Start& start)
      : problem_(problem),
        timing_(problem),
        chance_(start.seed),
        over_lateness_(start.over_lateness),
        warmest_(start.warmest),
        lanes_(std::move(lanes)) {
    by_job_.resize(problem.jobs.size() * problem.kinds.size());
    for (std::size_t b = 0; b < problem.batches.size(); ++b)
      batches_of(problem.batches[b].job, problem.batches[b].kind).push_back(static_cast<int>(b));
    covered_.resize(problem.jobs.size());
    for (const Lane& lane : lanes_)
      for (const int batch : lane)
        covered_[job_of(batch)] += at(batch).copies;
    backup_.resize(lanes_.size());
    touched_.resize(lanes_.size());
    sums_.resize(lanes_.size());
    runs_.resize(lanes_.size());
  }

  Improved run(std::int64_t steps, const std::function<bool()>& stop);

 private:
  struct Worth {
    double value = 0.0;
    double tie = 0.0;
    double all() const { return value + tie; }
    bool is_better_than(const Worth& other) const {
      const double close = 1e-12 * (std::abs(value) + std::abs(other.value));
      return value < other.value - close || (value < other.value + close && tie < other.tie);
    }
  };
  struct Backup {
    Lane lane;
    LaneSums sums;
  };
  struct Spot {
    std::size_t lane = 0;
    std::size_t at = 0;
  };

  const Batch& at(int batch) const { return problem_.batches[static_cast<std::size_t>(batch)]; }
  std::size_t job_of(int batch) const { return static_cast<std::size_t>(at(batch).job); }
  std::vector<int>& batches_of(int job, int kind) {
    return by_job_[static_cast<std::size_t>(job) * problem_.kinds.size() +
                   static_cast<std::size_t>(kind)];
  }
  int kind_of(std::size_t lane) const { return timing_.places()[lane].kind; }

  Worth worth();
  void scale(const Worth& first, std::size_t many);
  void touch(std::size_t lane);
  void time_touched();
  void undo();
  std::size_t count() const;
  Spot any_spot();
  int at_least(int job, int kind, int copies);
  void take_out(const Spot& spot);
  void put_in(std::size_t lane, int batch);
  void put_in_beside_alike(int kind, int batch);
  bool step(Worth& now, double warmth);
  bool covers_all() const;
  bool change();
  bool move();
  bool exchange();
  bool join();
  bool split();
  bool trim();

  const Problem& problem_;
  Timing timing_;
  Chance chance_;
  bool over_lateness_;
  double warmest_;
  std::vector<Lane> lanes_;
  std::vector<std::vector<int>> by_job_;  ///< batches by job and kind, ascending copies
  std::vector<int> covered_;              ///< copies by job
  std::vector<int> covered_before_;
  std::vector<LaneSums> sums_;
  std::vector<std::vector<Run>> runs_;
  std::vector<Backup> backup_;
  std::vector<char> touched_;
  double tie_per_h_ = 0.0;
  double uneven_per_h2_ = 0.0;
};

Chain::Worth Chain::worth() {
  const Measures measures = timing_.measures_of(sums_);
  Worth worth;
  worth.value = timing_.value_of(measures);
  double squares_h2 = 0.0;
  for (const LaneSums& lane : sums_) {
    const double last_h = in_hours(std::max<Seconds>(0, lane.last_s - problem_.now_s));
    squares_h2 += last_h * last_h;
  }
  worth.tie =
      tie_per_h_ * in_hours(measures.finish_s - problem_.now_s) + uneven_per_h2_ * squares_h2;
  return worth;
}

/// How much an hour matters where only ties are decided.
void Chain::scale(const Worth& first, std::size_t many) {
  const double finish_h =
      std::max(1.0, in_hours(timing_.measures_of(sums_).finish_s - problem_.now_s));
  tie_per_h_ = kTieShare * std::max(std::abs(first.value), 1e-6) / finish_h;
  const double weight_h = problem_.weights.finish_h;
  uneven_per_h2_ = (tie_per_h_ + 0.1 * weight_h) /
                   (finish_h * static_cast<double>(std::max<std::size_t>(1, many)));
}

void Chain::touch(std::size_t lane) {
  if (touched_[lane] != 0)
    return;
  touched_[lane] = 1;
  backup_[lane].lane = lanes_[lane];
}

void Chain::time_touched() {
  if (!timing_.lanes_apart()) {
    timing_.time_all(lanes_, runs_);
    for (std::size_t lane = 0; lane < lanes_.size(); ++lane) {
      backup_[lane].sums = std::move(sums_[lane]);
      sums_[lane] = timing_.sums_of(runs_[lane]);
    }
    return;
  }
  for (std::size_t lane = 0; lane < lanes_.size(); ++lane)
    if (touched_[lane] != 0) {
      timing_.time_lane(lane, lanes_[lane], runs_[lane]);
      backup_[lane].sums = std::move(sums_[lane]);
      sums_[lane] = timing_.sums_of(runs_[lane]);
    }
}

void Chain::undo() {
  for (std::size_t lane = 0; lane < lanes_.size(); ++lane) {
    if (touched_[lane] != 0)
      std::swap(lanes_[lane], backup_[lane].lane);
    if (touched_[lane] != 0 || !timing_.lanes_apart())
      std::swap(sums_[lane], backup_[lane].sums);
  }
}

std::size_t Chain::count() const {
  std::size_t many = 0;
  for (const Lane& lane : lanes_)
    many += lane.size();
  return many;
}

Chain::Spot Chain::any_spot() {
  std::size_t at = chance_.below(count());
  for (std::size_t lane = 0;; ++lane) {
    if (at < lanes_[lane].size())
      return {lane, at};
    at -= lanes_[lane].size();
  }
}

/// The smallest batch of a job on a kind with that many copies, else the largest; -1: none.
int Chain::at_least(int job, int kind, int copies) {
  const std::vector<int>& batches = batches_of(job, kind);
  for (const int batch : batches)
    if (at(batch).copies >= copies)
      return batch;
  return batches.empty() ? -1 : batches.back();
}

void Chain::take_out(const Spot& spot) {
  touch(spot.lane);
  covered_[job_of(lanes_[spot.lane][spot.at])] -= at(lanes_[spot.lane][spot.at]).copies;
  lanes_[spot.lane].erase(lanes_[spot.lane].begin() + static_cast<std::ptrdiff_t>(spot.at));
}

void Chain::put_in(std::size_t lane, int batch) {
  touch(lane);
  covered_[job_of(batch)] += at(batch).copies;
  const std::size_t spot = chance_.below(lanes_[lane].size() + 1);
  lanes_[lane].insert(lanes_[lane].begin() + static_cast<std::ptrdiff_t>(spot), batch);
}

/// Beside the batch, of a few drawn by chance on machines of that kind, that shares most filaments.
void Chain::put_in_beside_alike(int kind, int batch) {
  constexpr int kDraws = 4;
  const Filaments needed = problem_.jobs[job_of(batch)].filaments;
  Spot best;
  int most = -1;
  for (int draw = 0; draw < kDraws && count() > 0; ++draw) {
    const Spot spot = any_spot();
    const Filaments theirs = problem_.jobs[job_of(lanes_[spot.lane][spot.at])].filaments;
    const int shared = std::popcount(needed & theirs) - std::popcount(needed & ~theirs);
    if (kind_of(spot.lane) == kind && (most < 0 || shared > most)) {
      most = std::max(0, shared);
      best = spot;
    }
  }
  if (most < 0)
    for (best = {}; kind_of(best.lane) != kind;)
      ++best.lane;
  touch(best.lane);
  covered_[job_of(batch)] += at(batch).copies;
  const std::size_t spot = most < 0 ? 0 : best.at + chance_.below(2);
  lanes_[best.lane].insert(lanes_[best.lane].begin() + static_cast<std::ptrdiff_t>(spot), batch);
}

bool Chain::move() {
  const Spot from = any_spot();
  const Batch& batch = at(lanes_[from.lane][from.at]);
  const std::size_t lane = chance_.below(lanes_.size());
  const int there = at_least(batch.job, kind_of(lane), batch.copies);
  if (there < 0)
    return false;
  const int kind = kind_of(lane);
  take_out(from);
  if (chance_.below(2) == 0)
    put_in(lane, there);
  else
    put_in_beside_alike(kind, there);
  return true;
}

bool Chain::exchange() {
  const Spot one = any_spot();
  const Spot other = any_spot();
  const int a = lanes_[one.lane][one.at];
  const int b = lanes_[other.lane][other.at];
  if (a == b)
    return false;
  const int a_there = at_least(at(a).job, kind_of(other.lane), at(a).copies);
  const int b_there = at_least(at(b).job, kind_of(one.lane), at(b).copies);
  if (a_there < 0 || b_there < 0)
    return false;
  touch(one.lane);
  touch(other.lane);
  covered_[job_of(a)] += at(a_there).copies - at(a).copies;
  covered_[job_of(b)] += at(b_there).copies - at(b).copies;
  lanes_[one.lane][one.at] = b_there;
  lanes_[other.lane][other.at] = a_there;
  return true;
}

/// Two batches of a job become one, or as much of one as a plate holds.
bool Chain::join() {
  const Spot one = any_spot();
  const int batch = lanes_[one.lane][one.at];
  std::vector<Spot> others;
  for (std::size_t lane = 0; lane < lanes_.size(); ++lane)
    for (std::size_t i = 0; i < lanes_[lane].size(); ++i)
      if (job_of(lanes_[lane][i]) == job_of(batch) && (lane != one.lane || i != one.at))
        others.push_back({lane, i});
  if (others.empty())
    return false;
  const Spot other = others[chance_.below(others.size())];
  const int second = lanes_[other.lane][other.at];
  const int both = at(batch).copies + at(second).copies;
  const int joined = at_least(at(batch).job, kind_of(one.lane), both);
  if (joined < 0 || joined == batch)
    return false;
  touch(one.lane);
  covered_[job_of(batch)] += at(joined).copies - at(batch).copies;
  lanes_[one.lane][one.at] = joined;
  touch(other.lane);
  const int left = both - at(joined).copies;
  if (left <= 0) {
    take_out(other);
    return true;
  }
  const int rest = at_least(at(second).job, kind_of(other.lane), left);
  covered_[job_of(second)] += at(rest).copies - at(second).copies;
  lanes_[other.lane][other.at] = rest;
  return true;
}

bool Chain::split() {
  const Spot spot = any_spot();
  const int batch = lanes_[spot.lane][spot.at];
  const std::vector<int>& smaller = batches_of(at(batch).job, kind_of(spot.lane));
  const int part = smaller[chance_.below(smaller.size())];
  const int left = at(batch).copies - at(part).copies;
  if (left <= 0)
    return false;
  const std::size_t lane = chance_.below(lanes_.size());
  const int rest = at_least(at(batch).job, kind_of(lane), left);
  if (rest < 0 || at(rest).copies < left)
    return false;
  touch(spot.lane);
  covered_[job_of(batch)] += at(part).copies - at(batch).copies;
  lanes_[spot.lane][spot.at] = part;
  put_in(lane, rest);
  return true;
}

/// Copies that nobody wants are left out.
bool Chain::trim() {
  const Spot spot = any_spot();
  const int batch = lanes_[spot.lane][spot.at];
  const int spare = covered_[job_of(batch)] - problem_.jobs[job_of(batch)].copies;
  if (spare <= 0)
    return false;
  if (spare >= at(batch).copies) {
    take_out(spot);
    return true;
  }
  const int smaller = at_least(at(batch).job, kind_of(spot.lane), at(batch).copies - spare);
  if (smaller == batch)
    return false;
  touch(spot.lane);
  covered_[job_of(batch)] += at(smaller).copies - at(batch).copies;
  lanes_[spot.lane][spot.at] = smaller;
  return true;
}

bool Chain::change() {
  constexpr std::size_t kParts = 20;
  const std::size_t part = chance_.below(kParts);
  if (part < 8)
    return move();
  if (part < 14)
    return exchange();
  if (part < 16)
    return join();
  return part < 18 ? split() : trim();
}

Improved Chain::run(std::int64_t steps, const std::function<bool()>& stop) {
  Improved best;
  best.lanes = lanes_;
  std::ranges::fill(touched_, 1);
  time_touched();
  std::ranges::fill(touched_, 0);
  const std::size_t many = count();
  if (many == 0)
    return best;
  scale(worth(), many);
  Worth now = worth();
  Worth best_worth = now;
  // Lateness weighs so much that a chain which is warm enough for the rest cannot pass over it.
  const double scale_of_all =
      over_lateness_ ? now.value : timing_.asked_of(timing_.measures_of(sums_));
  const double warmest =
      warmest_ * std::max(std::abs(scale_of_all) / static_cast<double>(many), std::abs(now.tie));
  const double cooling = std::log(kCoolest / warmest_);
  for (; best.steps < steps; ++best.steps) {
    if (best.steps % kStepsBetweenLooks == 0 && stop && stop()) {
      best.stopped = true;
      break;
    }
    const double warmth =
        warmest * std::exp(cooling * static_cast<double>(best.steps) / static_cast<double>(steps));
    if (!step(now, warmth) || !now.is_better_than(best_worth))
      continue;
    best_worth = now;
    best.lanes = lanes_;
  }
  best.value = best_worth.value;
  best.tie = best_worth.tie;
  return best;
}

/// One change, kept or taken back. True: kept.
bool Chain::step(Worth& now, double warmth) {
  covered_before_ = covered_;
  std::ranges::fill(touched_, 0);
  if (!change() || !covers_all()) {
    for (std::size_t lane = 0; lane < lanes_.size(); ++lane)
      if (touched_[lane] != 0)
        std::swap(lanes_[lane], backup_[lane].lane);
    covered_ = covered_before_;
    return false;
  }
  time_touched();
  const Worth then = worth();
  const double worse = then.all() - now.all();
  if (worse <= 0.0 || (warmth > 0.0 && chance_.share() < std::exp(-worse / warmth))) {
    now = then;
    return true;
  }
  undo();
  covered_ = covered_before_;
  return false;
}

/// A batch that moved to a machine with smaller plates may have left copies behind.
bool Chain::covers_all() const {
  for (std::size_t job = 0; job < covered_.size(); ++job)
    if (covered_[job] < covered_before_[job] && covered_[job] < problem_.jobs[job].copies)
      return false;
  return true;
}

}  // namespace

Improved improve(const Problem& problem, std::vector<Lane> lanes, const Start& start,
                 const std::function<bool()>& stop) {
  return Chain(problem, std::move(lanes), start).run(start.steps, stop);
}

}  // namespace platetally::solve
