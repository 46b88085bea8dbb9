set(solve_test_libs glpk)
