// The best order against an integer programme solved here and now. The tools that a plate uses form
// one row of places; x[p, t, u] = 1 where place p holds t and place p + 1 holds u. Flow through the
// places and one place for every tool of a layer make it an order; precedence compares the numbers
// of the places.
#include <glpk.h>

#include "material/ordering/exact_order.hpp"
#include "material/ordering/support.hpp"

namespace platetally::ordering {
namespace {

class Programme {
 public:
  explicit Programme(const Problem& problem) : problem_(problem), glp_(glp_create_prob()) {
    for (const Tools& layer : problem.layers) {
      starts_.push_back(places_.size());
      places_.insert(places_.end(), layer.size(), layer);
    }
    add_columns();
    add_flow();
    for (std::size_t layer = 0; layer < problem.layers.size(); ++layer) {
      place_every_tool(layer);
      add_precedence(layer);
    }
  }
  ~Programme() { glp_delete_prob(glp_); }
  Programme(const Programme&) = delete;
  Programme& operator=(const Programme&) = delete;

  double solve() {
    glp_iocp options;
    glp_init_iocp(&options);
    options.msg_lev = GLP_MSG_OFF;
    options.presolve = GLP_ON;
    EXPECT_EQ(glp_intopt(glp_, &options), 0);
    EXPECT_EQ(glp_mip_status(glp_), GLP_OPT);
    return glp_mip_obj_val(glp_);
  }

 private:
  struct Terms {
    std::vector<int> columns{0};
    std::vector<double> factors{0.0};
    void add(int column, double factor) {
      columns.push_back(column);
      factors.push_back(factor);
    }
  };

  int add_column(double cost) {
    const int column = glp_add_cols(glp_, 1);
    glp_set_col_kind(glp_, column, GLP_BV);
    glp_set_obj_coef(glp_, column, cost);
    return column;
  }

  void add_row(const Terms& terms, int kind, double value) {
    const int row = glp_add_rows(glp_, 1);
    glp_set_row_bnds(glp_, row, kind, value, value);
    glp_set_mat_row(glp_, row, static_cast<int>(terms.columns.size()) - 1, terms.columns.data(),
                    terms.factors.data());
  }

  /// at_[p][i]: place p holds the i-th tool of its layer; go_[p][i][j] leads to the next place.
  void add_columns() {
    for (std::size_t p = 0; p < places_.size(); ++p) {
      at_.emplace_back();
      for (const int tool : places_[p]) {
        double cost = p == 0 && problem_.first ? problem_.change(*problem_.first, tool) : 0.0;
        if (p + 1 == places_.size() && problem_.kept)
          cost += problem_.change(tool, *problem_.kept);
        at_[p].push_back(add_column(cost));
      }
    }
    for (std::size_t p = 0; p + 1 < places_.size(); ++p) {
      go_.emplace_back();
      for (const int from : places_[p]) {
        go_[p].emplace_back();
        for (const int to : places_[p + 1])
          go_[p].back().push_back(add_column(problem_.change(from, to)));
      }
    }
  }

  void add_flow() {
    for (std::size_t p = 0; p < go_.size(); ++p) {
      for (std::size_t i = 0; i < at_[p].size(); ++i) {
        Terms out;
        out.add(at_[p][i], -1.0);
        for (const int column : go_[p][i])
          out.add(column, 1.0);
        add_row(out, GLP_FX, 0.0);
      }
      for (std::size_t j = 0; j < at_[p + 1].size(); ++j) {
        Terms in;
        in.add(at_[p + 1][j], -1.0);
        for (const auto& row : go_[p])
          in.add(row[j], 1.0);
        add_row(in, GLP_FX, 0.0);
      }
    }
  }

  void place_every_tool(std::size_t layer) {
    const std::size_t size = problem_.layers[layer].size();
    for (std::size_t i = 0; i < size; ++i) {
      Terms tool;
      Terms place;
      for (std::size_t j = 0; j < size; ++j) {
        tool.add(at_[starts_[layer] + j][i], 1.0);
        place.add(at_[starts_[layer] + i][j], 1.0);
      }
      add_row(tool, GLP_FX, 1.0);
      add_row(place, GLP_FX, 1.0);
    }
  }

  void add_precedence(std::size_t layer) {
    const Tools& tools = problem_.layers[layer];
    for (const Precedence& rule : problem_.precedence) {
      const auto before =
          static_cast<std::size_t>(std::ranges::find(tools, rule.before) - tools.begin());
      const auto after =
          static_cast<std::size_t>(std::ranges::find(tools, rule.after) - tools.begin());
      if (before == tools.size() || after == tools.size())
        continue;
      Terms distance;
      for (std::size_t j = 0; j < tools.size(); ++j) {
        distance.add(at_[starts_[layer] + j][after], static_cast<double>(j));
        distance.add(at_[starts_[layer] + j][before], -static_cast<double>(j));
      }
      add_row(distance, GLP_LO, 1.0);
    }
  }

  const Problem& problem_;
  glp_prob* glp_;
  std::vector<Tools> places_;  ///< what each may hold
  std::vector<std::size_t> starts_;
  std::vector<std::vector<int>> at_;
  std::vector<std::vector<std::vector<int>>> go_;
};

TEST(BestOrder, HundredRandomInstancesByIntegerProgramming) {
  glp_term_out(GLP_OFF);
  std::mt19937_64 random(100);
  int ruled = 0;
  for (int i = 0; i < 100;) {
    SCOPED_TRACE(i);
    const Problem problem = random_problem(random, {5, 4});
    if (std::ranges::all_of(problem.layers, [](const Tools& layer) { return layer.empty(); }))
      continue;
    ++i;
    ruled += problem.precedence.empty() ? 0 : 1;
    // The solver keeps to its rows within 1e-7 of costs up to 1031.
    EXPECT_NEAR(best_order(problem).cost, Programme(problem).solve(), 1e-3);
  }
  EXPECT_GT(ruled, 10);
  glp_free_env();
}

}  // namespace
}  // namespace platetally::ordering
