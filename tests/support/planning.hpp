// A workshop whose queue is planned, and what is asked of every plan.
#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <stdexcept>
#include <string>

#include "platetally/account.hpp"
#include "platetally/analyze.hpp"
#include "platetally/plan.hpp"
#include "support/workshop.hpp"

namespace platetally::test {

class Planning : public testing::Test {
 protected:
  Plan make() const { return make_plan(shop_.queue, options_); }
  std::string refusal() const {
    try {
      make();
    } catch (const std::invalid_argument& error) {
      return error.what();
    }
    return "";
  }
  std::int64_t seconds_of(const std::string& path, std::size_t machine = 0) const {
    AnalyzeOptions options;
    options.findings = false;
    return static_cast<std::int64_t>(std::ceil(
        analyze_file(path, shop_.queue.machines[machine].machine, options).totals.time.expected));
  }
  static std::string option_of(const Plan& plan, const std::string& name) {
    for (const auto& [key, value] : plan.made_from.options)
      if (key == name)
        return value;
    return "(absent)";
  }
  /// The plan from its own words, as it is kept in a file.
  static EarlierPlan as_earlier(const Plan& plan) { return read_plan(to_json(plan)); }

  Workshop shop_;
  PlanOptions options_;
};

}  // namespace platetally::test
