#include "plan/solve/linear_program.hpp"

#include <CbcHeuristic.hpp>
#include <CbcHeuristicFPump.hpp>
#include <CbcModel.hpp>
#include <CglGomory.hpp>
#include <CglKnapsackCover.hpp>
#include <CglMixedIntegerRounding2.hpp>
#include <CglProbing.hpp>
#include <OsiClpSolverInterface.hpp>
#include <algorithm>
#include <cmath>

namespace platetally::solve {

namespace {

double finite_of(double value) {
  return value == kUnbounded ? COIN_DBL_MAX : value == -kUnbounded ? -COIN_DBL_MAX : value;
}

void load(const LinearProgram& program, bool with_whole, OsiClpSolverInterface& solver) {
  const std::size_t wide = program.columns.size();
  std::vector<double> low, high, cost;
  for (const Column& column : program.columns) {
    low.push_back(finite_of(column.low));
    high.push_back(finite_of(column.high));
    cost.push_back(column.cost);
  }
  CoinPackedMatrix matrix(false, 0, 0);
  matrix.setDimensions(0, static_cast<int>(wide));
  std::vector<double> row_low, row_high;
  std::vector<int> indices;
  std::vector<double> factors;
  for (const Row& row : program.rows) {
    indices.clear();
    factors.clear();
    for (const Term& term : row.terms) {
      indices.push_back(term.column);
      factors.push_back(term.factor);
    }
    matrix.appendRow(static_cast<int>(indices.size()), indices.data(), factors.data());
    row_low.push_back(finite_of(row.low));
    row_high.push_back(finite_of(row.high));
  }
  solver.loadProblem(matrix, low.data(), high.data(), cost.data(), row_low.data(), row_high.data());
  for (std::size_t i = 0; with_whole && i < wide; ++i)
    if (program.columns[i].whole)
      solver.setInteger(static_cast<int>(i));
  solver.messageHandler()->setLogLevel(0);
  solver.setHintParam(OsiDoReducePrint, true, OsiHintTry);
}

LinearAnswer answer_of(const double* columns, std::size_t wide, double value) {
  LinearAnswer answer;
  answer.feasible = true;
  answer.value = answer.bound = value;
  answer.columns.assign(columns, columns + wide);
  return answer;
}

}  // namespace

LinearAnswer solve_relaxed(const LinearProgram& program) {
  OsiClpSolverInterface solver;
  load(program, false, solver);
  solver.initialSolve();
  if (!solver.isProvenOptimal())
    return {};
  LinearAnswer answer =
      answer_of(solver.getColSolution(), program.columns.size(), solver.getObjValue());
  answer.optimal = true;
  return answer;
}

LinearAnswer solve_whole(const LinearProgram& program, const Effort& effort) {
  OsiClpSolverInterface solver;
  load(program, true, solver);
  CbcModel model(solver);
  model.setLogLevel(0);
  model.messageHandler()->setLogLevel(0);
  model.setMaximumNodes(effort.nodes);
  if (effort.seconds > 0.0) {
    model.setUseElapsedTime(true);
    model.setMaximumSeconds(effort.seconds);
  }
  model.setAllowableGap(1e-9);
  model.setAllowableFractionGap(1e-9);
  CglProbing probing;
  CglGomory gomory;
  CglKnapsackCover cover;
  CglMixedIntegerRounding2 rounding_cuts;
  model.addCutGenerator(&probing, -1, "probing");
  model.addCutGenerator(&gomory, -1, "gomory");
  model.addCutGenerator(&cover, -1, "cover");
  model.addCutGenerator(&rounding_cuts, -1, "rounding");
  CbcRounding rounding(model);
  model.addHeuristic(&rounding);
  CbcHeuristicFPump pump(model);
  model.addHeuristic(&pump);
  model.setNumberThreads(0);
  model.initialSolve();
  if (!model.isInitialSolveProvenOptimal())
    return {};
  const double relaxed = model.solver()->getObjValue();
  model.branchAndBound();
  if (model.bestSolution() == nullptr) {
    LinearAnswer answer;
    answer.out_of_time = model.isSecondsLimitReached();
    answer.bound = std::max(relaxed, model.getBestPossibleObjValue());
    return answer;
  }
  LinearAnswer answer =
      answer_of(model.bestSolution(), program.columns.size(), model.getObjValue());
  answer.optimal = model.isProvenOptimal();
  answer.bound = answer.optimal
                     ? answer.value
                     : std::min(answer.value, std::max(relaxed, model.getBestPossibleObjValue()));
  answer.nodes = model.getNodeCount();
  answer.out_of_time = model.isSecondsLimitReached();
  return answer;
}

}  // namespace platetally::solve
