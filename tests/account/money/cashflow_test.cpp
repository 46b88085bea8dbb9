// Cash flows against printed examples (testdata/checks/energy_money.json names their sources).
#include "platetally/cashflow.hpp"

#include <gtest/gtest.h>

#include <fstream>
#include <nlohmann/json.hpp>

namespace platetally {
namespace {

const nlohmann::json& checks() {
  static const nlohmann::json all = [] {
    std::ifstream file(std::string(PLATETALLY_TESTDATA) + "/checks/energy_money.json");
    return nlohmann::json::parse(file);
  }();
  return all;
}

TEST(Cashflow, NetPresentValuesAndPaybackOfPrintedExamples) {
  for (const auto& row : checks()["npv"]) {
    SCOPED_TRACE(row["source"].get<std::string>());
    const auto flows = row["flows"].get<std::vector<double>>();
    const double rate = row["rate"];
    EXPECT_NEAR(net_present_value(rate, flows), row["npv"].get<double>(), 1e-9);
    if (row.contains("simple_payback_years")) {
      EXPECT_NEAR(payback_periods(0.0, flows).value_or(-1.0),
                  row["simple_payback_years"].get<double>(), 1e-9);
      EXPECT_NEAR(payback_periods(rate, flows).value_or(-1.0),
                  row["discounted_payback_years"].get<double>(), 1e-9);
    }
  }
}

TEST(Cashflow, InternalRateOfReturn) {
  for (const auto& row : checks()["irr"]) {
    const auto flows = row["flows"].get<std::vector<double>>();
    EXPECT_NEAR(internal_rate_of_return(flows).value_or(-1.0), row["irr"].get<double>(), 1e-9);
  }
  EXPECT_FALSE(internal_rate_of_return(std::vector<double>{1.0, 2.0}).has_value());
  EXPECT_FALSE(internal_rate_of_return(std::vector<double>{}).has_value());
}

TEST(Cashflow, UniformSeries) {
  for (const auto& row : checks()["uniform_series_P_over_A"])
    EXPECT_NEAR(annuity_factor(row["i"], row["n"]), row["PA"].get<double>(), 1e-12);
  EXPECT_EQ(annuity_factor(0.0, 7.0), 7.0);
}

TEST(Cashflow, PaybackIsTheFirstCrossing) {
  const std::vector<double> dips{-100, 150, -200, 300};
  EXPECT_NEAR(payback_periods(0.0, dips).value_or(-1.0), 100.0 / 150.0, 1e-12);
  EXPECT_FALSE(payback_periods(0.0, std::vector<double>{-100, 20, 20}).has_value());
  EXPECT_EQ(payback_periods(0.0, std::vector<double>{5.0}), 0.0);
}

}  // namespace
}  // namespace platetally
