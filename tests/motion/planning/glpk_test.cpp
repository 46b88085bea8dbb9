// Look-ahead against a linear programme solved here and now: maximise the sum of w under the caps
// and |w_i - w_(i-1)| <= r_i. The optimum is unique and the largest everywhere.
#include <glpk.h>

#include "motion/planning/lookahead.hpp"
#include "motion/planning/profile.hpp"
#include "motion/planning/support.hpp"

namespace platetally::motion {
namespace {

struct Segment {
  double length, speed, acceleration, cap;
  double reach() const { return 2.0 * acceleration * length; }
};

std::vector<double> solve(const std::vector<Segment>& segments) {
  const int count = static_cast<int>(segments.size());
  glp_prob* programme = glp_create_prob();
  glp_set_obj_dir(programme, GLP_MAX);
  glp_add_cols(programme, count + 1);
  for (int j = 0; j <= count; ++j) {
    const bool end = j == 0 || j == count;
    const double cap = end ? 0.0 : segments[static_cast<std::size_t>(j)].cap;
    glp_set_col_bnds(programme, j + 1, cap > 0.0 ? GLP_DB : GLP_FX, 0.0, cap);
    glp_set_obj_coef(programme, j + 1, 1.0);
  }
  glp_add_rows(programme, count);
  for (int i = 0; i < count; ++i) {
    const double reach = segments[static_cast<std::size_t>(i)].reach();
    glp_set_row_bnds(programme, i + 1, GLP_DB, -reach, reach);
    const std::array<int, 3> column{0, i + 1, i + 2};
    const std::array<double, 3> factor{0.0, -1.0, 1.0};
    glp_set_mat_row(programme, i + 1, 2, column.data(), factor.data());
  }
  glp_smcp options;
  glp_init_smcp(&options);
  options.msg_lev = GLP_MSG_OFF;
  EXPECT_EQ(glp_simplex(programme, &options), 0);
  EXPECT_EQ(glp_get_status(programme), GLP_OPT);
  std::vector<double> squares;
  for (int j = 0; j <= count; ++j)
    squares.push_back(std::max(0.0, glp_get_col_prim(programme, j + 1)));
  glp_delete_prob(programme);
  return squares;
}

std::vector<Segment> random_segments(std::mt19937_64& random) {
  const auto uniform = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  std::vector<Segment> segments(static_cast<std::size_t>(uniform(2.0, 60.0)));
  for (Segment& segment : segments)
    segment = {std::pow(10.0, uniform(-2.0, 1.3)), uniform(10.0, 300.0), uniform(500.0, 8000.0),
               0.0};
  for (std::size_t i = 1; i < segments.size(); ++i) {
    const double slower = std::min(segments[i - 1].speed, segments[i].speed);
    const double v = std::min(slower, uniform(0.0, 400.0));
    segments[i].cap = v * v;
  }
  return segments;
}

double total_s(const std::vector<Segment>& segments, std::span<const double> squares) {
  double total = 0.0;
  for (std::size_t i = 0; i < segments.size(); ++i) {
    const Segment& s = segments[i];
    total += travel_time_s({s.reach(), s.speed, 2.0 * s.acceleration}, std::sqrt(squares[i]),
                           squares[i], std::sqrt(squares[i + 1]), squares[i + 1]);
  }
  return total;
}

TEST(LookAheadByGlpk, TwoHundredRandomProgrammes) {
  std::mt19937_64 random(20251125);
  for (int instance = 0; instance < 200; ++instance) {
    SCOPED_TRACE(instance);
    const std::vector<Segment> segments = random_segments(random);
    LookAhead look_ahead(0);
    for (const Segment& segment : segments) {
      const double reach = segment.reach();
      test::push(look_ahead, segment.cap, reach);
    }
    ASSERT_EQ(look_ahead.settle(LookAhead::End::stop, [](std::size_t, std::size_t) {}),
              segments.size());
    const std::span<const double> found(look_ahead.squares(), segments.size() + 1);
    const std::vector<double> optimum = solve(segments);
    // Speeds, so that near rest the square root of the solver's 1e-9 in w does not count: where w
    // is small, compare w.
    for (std::size_t i = 0; i < optimum.size(); ++i)
      ASSERT_NEAR(found[i], optimum[i], 1e-6 * std::max(1.0, std::sqrt(optimum[i])));
    ASSERT_NEAR(total_s(segments, found), total_s(segments, optimum), 1e-6);
  }
}

}  // namespace
}  // namespace platetally::motion
