// The order of tools as JSON, schema "platetally.order/1".
#include <nlohmann/json.hpp>

#include "output/report/strings.hpp"
#include "platetally/order.hpp"
#include "platetally/report.hpp"

namespace platetally {

namespace {

using Json = nlohmann::ordered_json;

Json maybe(const std::optional<double>& value) {
  return value ? Json(*value) : Json(nullptr);
}

Json json_of(const OrderPair& pair) {
  return {{"from", pair.from},
          {"to", pair.to},
          {"kind", pair.kind == SwapKind::head_change ? "head_change" : "filament_change"},
          {"count", pair.count},
          {"swap_s", {pair.swap_s.low, pair.swap_s.expected, pair.swap_s.high}},
          {"purged_g", pair.purged_g},
          {"needed_mm3_each", maybe(pair.needed_mm3)},
          {"needed_g_each", maybe(pair.needed_g)},
          {"over_purge_g", pair.needed_g ? Json(pair.over_purge_g) : Json(nullptr)},
          {"plan_g_each", pair.plan_g},
          {"plan_s_each", pair.plan_s}};
}

Json json_of(const OrderOutcome& row) {
  return {{"name", row.name},     {"swaps", row.swaps}, {"purge_g", row.purge_g},
          {"time_s", row.time_s}, {"money", row.money}, {"cost", row.cost}};
}

}  // namespace

std::string to_json(const OrderReport& report) {
  Json out;
  out["schema"] = "platetally.order/1";
  out["made_from"] = nlohmann::ordered_json::parse(to_json(report.made_from));
  out["job"] = {{"path", report::valid_utf8(report.path)}};
  out["machine"] = {{"name", report::valid_utf8(report.machine)}};
  out["objective"] = report.unit;
  out["colours"] = Json::array();
  for (const std::string& colour : report.colours)
    out["colours"].push_back(report::valid_utf8(colour));
  out["pairs"] = Json::array();
  for (const OrderPair& pair : report.pairs)
    out["pairs"].push_back(json_of(pair));
  out["outcomes"] = Json::array();
  for (const OrderOutcome& row : report.outcomes)
    out["outcomes"].push_back(json_of(row));
  out["proof"] = {{"optimal", report.optimal},
                  {"bound", report.bound},
                  {"gap", report.gap},
                  {"left_out", report.left_out},
                  {"text", report.proof}};
  out["plan"] = report.plan;
  out["orders"] = report.orders;
  if (report.heads)
    out["heads"] = {{"tool_to_head", report.heads->tool_to_head},
                    {"cost", report.heads->cost},
                    {"cost_as_is", report.heads->cost_as_is},
                    {"proven", report.heads->proven}};
  out["assumptions"] = report.assumptions;
  return out.dump(1) + "\n";
}

}  // namespace platetally
