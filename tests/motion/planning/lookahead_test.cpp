#include "motion/planning/lookahead.hpp"

#include <cstring>

#include "motion/planning/support.hpp"
#include "oracle/slow_planner.hpp"

namespace platetally::motion {
namespace {

struct Problem {
  std::vector<double> caps;
  std::vector<double> reaches;
  std::size_t size() const { return reaches.size(); }
  void add(double cap_speed, double acceleration, double length) {
    caps.push_back(cap_speed * cap_speed);
    reaches.push_back(2.0 * acceleration * length);
  }
};

std::vector<double> stream(const Problem& problem, std::size_t window, std::size_t* cuts = nullptr,
                           std::size_t* most_pending = nullptr) {
  LookAhead look_ahead(window);
  std::vector<double> squares{0.0};
  const auto collect = [&](LookAhead::End end) {
    std::size_t followed = 0;
    const std::size_t settled = look_ahead.settle(end, [&](std::size_t first, std::size_t last) {
      EXPECT_EQ(first, followed);  // each once, in order
      EXPECT_GE(last, first);
      followed = last;
    });
    EXPECT_EQ(followed, settled);
    for (std::size_t i = 0; i < settled; ++i) {
      EXPECT_EQ(look_ahead.squares()[i], squares.back());
      squares.push_back(look_ahead.squares()[i + 1]);
    }
    look_ahead.drop(settled);
  };
  for (std::size_t i = 0; i < problem.size(); ++i) {
    test::push(look_ahead, problem.caps[i], problem.reaches[i]);
    if (most_pending != nullptr)
      *most_pending = std::max(*most_pending, look_ahead.pending());
    if (look_ahead.due())
      collect(LookAhead::End::open);
  }
  collect(LookAhead::End::stop);
  if (cuts != nullptr)
    *cuts = look_ahead.cuts();
  return squares;
}

void expect_bitwise(const std::vector<double>& found, const std::vector<double>& expected) {
  ASSERT_EQ(found.size(), expected.size());
  for (std::size_t i = 0; i < found.size(); ++i)
    ASSERT_EQ(std::memcmp(&found[i], &expected[i], sizeof(double)), 0)
        << "junction " << i << ": " << found[i] << " is not " << expected[i];
}

Problem random_problem(unsigned seed, std::size_t count) {
  std::mt19937_64 random(seed);
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  Problem problem;
  const double shortest = uniform(-4.0, -1.0);
  for (std::size_t i = 0; i < count; ++i) {
    const double length = std::pow(10.0, uniform(shortest, 1.5));
    problem.add(uniform(0.0, 1.0) < 0.05 ? 0.0 : uniform(0.0, 400.0),
                uniform(0.0, 1.0) < 0.5 ? 1500.0 : uniform(100.0, 20000.0), length);
  }
  return problem;
}

Problem even(std::size_t count, double speed, double acceleration, double length) {
  Problem problem;
  for (std::size_t i = 0; i < count; ++i)
    problem.add(speed, acceleration, length);
  return problem;
}

TEST(LookAhead, StreamsToTheBitWhatTwoPassesOverTheWholeFileGive) {
  for (unsigned seed = 0; seed < 60; ++seed) {
    SCOPED_TRACE(seed);
    const Problem problem = random_problem(seed, 1 + (seed * 397U) % 9000U);
    expect_bitwise(stream(problem, 0), oracle::two_passes(problem.caps, problem.reaches));
  }
}

TEST(LookAhead, StreamsAdversarialPlatesToTheBit) {
  const auto check = [](const char* name, const Problem& problem) {
    SCOPED_TRACE(name);
    std::size_t cuts = 0;
    expect_bitwise(stream(problem, 0, &cuts), oracle::two_passes(problem.caps, problem.reaches));
    EXPECT_EQ(cuts, 0U);
  };
  check("short moves, soft machine", even(200000, 300.0, 500.0, 0.03));
  check("a million in a line", even(1000000, 300.0, 2000.0, 0.1));
  Problem reversals;
  Problem changing;
  for (std::size_t i = 0; i < 100000; ++i) {
    reversals.add(i % 2 == 0 ? 0.0 : 300.0, 2000.0, 0.5);
    changing.add(i % 2 == 0 ? 20.0 : 300.0, 2000.0, 0.4);
  }
  check("reversals", reversals);
  check("feed changes every move", changing);
  Problem unlimited = even(5000, 0.0, 1000.0, 0.1);
  for (double& cap : unlimited.caps)
    cap = std::numeric_limits<double>::infinity();
  check("nothing but the ends", unlimited);
}

TEST(LookAhead, BoundsItsMemoryByCuttingFeasiblyAndNeverFaster) {
  const Problem problem = even(300000, 5000.0, 10.0, 0.001);
  std::size_t cuts = 0;
  std::size_t most = 0;
  const std::vector<double> found = stream(problem, 0, &cuts, &most);
  const std::vector<double> exact = oracle::two_passes(problem.caps, problem.reaches);
  EXPECT_GT(cuts, 0U);
  EXPECT_LE(most, LookAhead::kMostPending);
  ASSERT_EQ(found.size(), exact.size());
  for (std::size_t i = 0; i + 1 < found.size(); ++i) {
    ASSERT_LE(found[i], exact[i]);
    // Differences of squares up to 6e3 round by 1e-12.
    ASSERT_LE(std::abs(found[i + 1] - found[i]), problem.reaches[i] + 1e-11);
  }
}

TEST(LookAhead, AWindowSettlesWhatItsSimulationSettles) {
  for (const std::size_t window : {1U, 2U, 3U, 7U, 16U, 64U, 333U, 1023U, 1024U, 1500U, 4000U}) {
    for (unsigned seed = 0; seed < 6; ++seed) {
      SCOPED_TRACE(testing::Message() << "window " << window << " seed " << seed);
      // The last of the seeds: moves so short that everything depends on the window.
      const Problem problem = seed == 5 ? even(9000, 300.0, 500.0, 0.003)
                                        : random_problem(100 + seed, 7000 + 311 * seed);
      const std::vector<double> found = stream(problem, window);
      const std::vector<double> slow =
          oracle::window_simulation(problem.caps, problem.reaches, window);
      ASSERT_EQ(found.size(), slow.size());
      // Sums of up to 4000 positive terms in another order: 4000 x 1.1e-16 at worst.
      for (std::size_t i = 0; i < found.size(); ++i)
        ASSERT_NEAR(found[i], slow[i], 1e-12 * (slow[i] + 1e-9)) << "junction " << i;
    }
  }
}

TEST(LookAhead, AWindowBeyondTheBrakingDistanceIsExact) {
  const Problem problem = random_problem(5, 20000);
  const auto exact = oracle::two_passes(problem.caps, problem.reaches);
  expect_bitwise(stream(problem, 100000), exact);
  expect_bitwise(stream(problem, LookAhead::kMostPending / 2), exact);
}

TEST(LookAhead, AWindowOfOneStopsAfterEveryMove) {
  for (const double square : stream(even(3000, 100.0, 1000.0, 1.0), 1))
    EXPECT_EQ(square, 0.0);
}

TEST(LookAhead, AgreesWithLinearProgrammesSolvedElsewhere) {
  const auto table = test::read_check("motion_lookahead_lp.json");
  ASSERT_EQ(table["instances"].size(), 3U);
  for (const auto& instance : table["instances"]) {
    SCOPED_TRACE(instance["name"].get<std::string>());
    Problem problem;
    const auto& segments = instance["segments"];
    for (std::size_t i = 0; i < segments.size(); ++i)
      problem.add(instance["node_cap_mm_s"][i], segments[i]["a"], segments[i]["L"]);
    const std::vector<double> squares = stream(problem, 0);
    double total_s = 0.0;
    for (std::size_t i = 0; i < segments.size(); ++i) {
      const double a = segments[i]["a"];
      const Reach reach{problem.reaches[i], segments[i]["v"], 2.0 * a};
      const double v0 = std::sqrt(squares[i]);
      const double v1 = std::sqrt(squares[i + 1]);
      EXPECT_NEAR(v1, instance["v_opt_mm_s"][i + 1].get<double>(), 1e-6);
      const double time_s = travel_time_s(reach, v0, squares[i], v1, squares[i + 1]);
      EXPECT_NEAR(time_s, instance["segment_time_s"][i].get<double>(), 1e-8);
      total_s += time_s;
    }
    EXPECT_NEAR(total_s, instance["total_time_s"].get<double>(), 1e-8);
  }
}

}  // namespace
}  // namespace platetally::motion
