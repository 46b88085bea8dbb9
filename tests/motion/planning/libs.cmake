set(planning_test_libs glpk)
