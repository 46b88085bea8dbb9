# It tallies plates: that takes what joins the stages.
set(audit_test_libs platetally)
