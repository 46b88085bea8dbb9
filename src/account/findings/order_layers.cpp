// A layer's tools may come in any order where it is visited once and each tool lays in it at once.
// Of a layer to which the plate comes back, or in which a tool lays several times, more would have
// to be known than the motion tells: what lies on what. It keeps its order. Objects printed one
// after the other begin at the bottom again, and their layers are layers of their own.
#include "account/findings/order_layers.hpp"

#include <algorithm>
#include <set>

namespace platetally {

namespace {

bool is_repeating(const std::vector<int>& order) {
  return std::set<int>(order.begin(), order.end()).size() < order.size();
}

/// By visit: whether the plate comes back to its layer before it begins anew at the bottom.
std::vector<bool> find_revisited(const std::vector<LayerVisit>& visits) {
  std::vector<bool> revisited(visits.size(), false);
  if (visits.empty())
    return revisited;
  const std::uint64_t lowest =
      std::min_element(visits.begin(), visits.end(), [](const LayerVisit& a, const LayerVisit& b) {
        return a.layer < b.layer;
      })->layer;
  for (std::size_t begin = 0; begin < visits.size();) {
    // One climb from the bottom, with what goes down again on its way.
    std::size_t end = begin + 1;
    while (end < visits.size() && visits[end].layer != lowest)
      ++end;
    std::uint64_t highest = visits[begin].layer;
    std::set<std::uint64_t> again;
    for (std::size_t i = begin + 1; i < end; ++i) {
      if (visits[i].layer > highest)
        highest = visits[i].layer;
      else
        again.insert(visits[i].layer);
    }
    for (std::size_t i = begin; i < end; ++i)
      revisited[i] = again.count(visits[i].layer) > 0;
    begin = end;
  }
  return revisited;
}

}  // namespace

OrderLayers order_layers(const Account& account, std::size_t tools) {
  OrderLayers planned;
  const auto known = [tools](std::vector<int> order) {
    std::erase_if(
        order, [tools](int tool) { return tool < 0 || static_cast<std::size_t>(tool) >= tools; });
    return order;
  };
  if (account.visits.empty()) {
    planned.by_height = true;
    for (const LayerAccount& layer : account.layers) {
      if (layer.order.empty())
        continue;
      planned.layers.push_back(known(layer.order));
      planned.visit_of.push_back(planned.visits++);
      planned.left_out += layer.order.size() > 1;
    }
    return planned;
  }
  const std::vector<bool> revisited = find_revisited(account.visits);
  std::set<std::uint64_t> left_out;
  planned.visits = account.visits.size();
  for (std::size_t i = 0; i < account.visits.size(); ++i) {
    const std::vector<int> order = known(account.visits[i].order);
    if (!revisited[i] && !is_repeating(order)) {
      planned.layers.push_back(order);
      planned.visit_of.push_back(i);
      continue;
    }
    left_out.insert(account.visits[i].layer);
    for (const int tool : order) {
      planned.layers.push_back({tool});
      planned.visit_of.push_back(i);
    }
  }
  planned.left_out = left_out.size();
  return planned;
}

ordering::Orders by_visit(const OrderLayers& layers, const ordering::Orders& orders) {
  ordering::Orders of_visits(layers.visits);
  for (std::size_t i = 0; i < orders.size(); ++i) {
    ordering::Tools& order = of_visits[layers.visit_of[i]];
    order.insert(order.end(), orders[i].begin(), orders[i].end());
  }
  return of_visits;
}

}  // namespace platetally
