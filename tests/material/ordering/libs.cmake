set(ordering_test_libs glpk)
