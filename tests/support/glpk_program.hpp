// The same programme by another solver (GLPK), to hold ours against. Only in tests and benchmarks:
// its licence (GPL) is not the product's.
#pragma once

#include <glpk.h>

#include <vector>

#include "plan/solve/linear_program.hpp"

namespace platetally::test {

/// Type of bounds, with GLPK's names for them.
inline int bounds_of(double low, double high) {
  const bool has_low = low != -solve::kUnbounded;
  const bool has_high = high != solve::kUnbounded;
  if (has_low && has_high)
    return low == high ? GLP_FX : GLP_DB;
  return has_low ? GLP_LO : has_high ? GLP_UP : GLP_FR;
}

/// By branch and cut, until it is optimal or `milliseconds` are over.
inline solve::LinearAnswer solve_by_glpk(const solve::LinearProgram& program, int milliseconds) {
  glp_term_out(GLP_OFF);
  glp_prob* glp = glp_create_prob();
  glp_set_obj_dir(glp, GLP_MIN);
  glp_add_cols(glp, static_cast<int>(program.columns.size()));
  for (std::size_t i = 0; i < program.columns.size(); ++i) {
    const solve::Column& column = program.columns[i];
    const int number = static_cast<int>(i) + 1;
    glp_set_col_kind(glp, number, column.whole ? GLP_IV : GLP_CV);
    glp_set_col_bnds(glp, number, bounds_of(column.low, column.high), column.low, column.high);
    glp_set_obj_coef(glp, number, column.cost);
  }
  for (const solve::Row& row : program.rows) {
    const int number = glp_add_rows(glp, 1);
    glp_set_row_bnds(glp, number, bounds_of(row.low, row.high), row.low, row.high);
    std::vector<int> columns{0};
    std::vector<double> factors{0.0};
    for (const solve::Term& term : row.terms) {
      columns.push_back(term.column + 1);
      factors.push_back(term.factor);
    }
    glp_set_mat_row(glp, number, static_cast<int>(row.terms.size()), columns.data(),
                    factors.data());
  }
  glp_iocp options;
  glp_init_iocp(&options);
  options.msg_lev = GLP_MSG_OFF;
  options.presolve = GLP_ON;
  options.mir_cuts = options.cov_cuts = options.gmi_cuts = GLP_ON;
  options.fp_heur = GLP_ON;
  options.tm_lim = milliseconds;
  solve::LinearAnswer answer;
  glp_intopt(glp, &options);
  const int status = glp_mip_status(glp);
  answer.optimal = status == GLP_OPT;
  answer.feasible = answer.optimal || status == GLP_FEAS;
  answer.value = glp_mip_obj_val(glp);
  glp_delete_prob(glp);
  return answer;
}

}  // namespace platetally::test
