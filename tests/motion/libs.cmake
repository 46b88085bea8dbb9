set(motion_test_libs glpk)
