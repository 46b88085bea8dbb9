#include "heat/network.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "base/simd.hpp"
#include "base/units.hpp"
#include "heat/film.hpp"

namespace platetally::heat {

namespace {

/// Several at once, as in motion/move_block.cpp.
PLATETALLY_WIDE void film_flows(std::size_t count, const double* __restrict conductance_w_k,
                                const double* __restrict film_w_k54,
                                const double* __restrict rays_w_k4, const double* __restrict from_c,
                                const double* __restrict to_c, double* __restrict flow_w) {
  for (std::size_t i = 0; i < count; ++i) {
    const double difference_k = from_c[i] - to_c[i];
    const double from_k = base::k_from_c(from_c[i]);
    const double to_k = base::k_from_c(to_c[i]);
    const double from4 = from_k * from_k * from_k * from_k;
    const double to4 = to_k * to_k * to_k * to_k;
    flow_w[i] = conductance_w_k[i] * difference_k +
                film_w_k54[i] * std::sqrt(std::sqrt(std::abs(difference_k))) * difference_k +
                rays_w_k4[i] * (from4 - to4);
  }
}

PLATETALLY_WIDE void plain_flows(std::size_t first, std::size_t last,
                                 const double* __restrict conductance_w_k,
                                 const double* __restrict from_c, const double* __restrict to_c,
                                 double* __restrict flow_w) {
  for (std::size_t i = first; i < last; ++i)
    flow_w[i] = conductance_w_k[i] * (from_c[i] - to_c[i]);
}

Flow flow_through(const Link& link, double from_c, double to_c) {
  Flow flow{link.conductance_w_k * (from_c - to_c), link.conductance_w_k, link.conductance_w_k};
  if (link.area_m2 <= 0.0)
    return flow;
  if (link.convection_factor > 0.0) {
    const Flow air = convection(link.area_m2, link.convection_factor, link.length_m, from_c, to_c);
    flow.w += air.w;
    flow.w_per_k += air.w_per_k;
    flow.w_per_k_cold += air.w_per_k_cold;
  }
  if (link.emissivity > 0.0) {
    const Flow rays = radiation(link.area_m2, link.emissivity, from_c, to_c);
    flow.w += rays.w;
    flow.w_per_k += rays.w_per_k;
    flow.w_per_k_cold += rays.w_per_k_cold;
  }
  return flow;
}

}  // namespace

int Network::add_node(double heat_capacity_j_k) {
  heat_capacity_j_k_.push_back(heat_capacity_j_k);
  return size() - 1;
}

std::size_t Network::add_link(const Link& link) {
  links_.push_back(link);
  columns_ = {};
  return links_.size() - 1;
}

void Network::build_columns() {
  const std::size_t count = links_.size();
  columns_.links.resize(count);
  std::iota(columns_.links.begin(), columns_.links.end(), std::size_t{0});
  const auto without_film =
      std::stable_partition(columns_.links.begin(), columns_.links.end(),
                            [this](std::size_t link) { return links_[link].area_m2 > 0.0; });
  columns_.with_film = static_cast<std::size_t>(without_film - columns_.links.begin());
  for (std::vector<double>* column :
       {&columns_.conductance_w_k, &columns_.film_w_k54, &columns_.rays_w_k4, &columns_.from_c,
        &columns_.to_c, &columns_.flow_w})
    column->resize(count);
  for (std::vector<std::size_t>* column : {&columns_.places, &columns_.from, &columns_.to})
    column->resize(count);
  for (std::size_t place = 0; place < count; ++place) {
    columns_.places[columns_.links[place]] = place;
    fill(place);
  }
  list_ends();
  ends_c_.resize(heat_capacity_j_k_.size() + 1);
  changed_.clear();
}

void Network::list_ends() {
  const std::size_t nodes = heat_capacity_j_k_.size() + 1;
  columns_.ends.clear();
  columns_.first_to.clear();
  columns_.first_from.clear();
  const auto list = [this](const std::vector<std::size_t>& column, std::size_t node) {
    for (std::size_t place = 0; place < column.size(); ++place)
      if (column[place] == node)
        columns_.ends.push_back(place);
  };
  for (std::size_t node = 0; node < nodes; ++node) {
    columns_.first_to.push_back(columns_.ends.size());
    list(columns_.to, node);
    columns_.first_from.push_back(columns_.ends.size());
    list(columns_.from, node);
  }
  columns_.first_to.push_back(columns_.ends.size());
}

void Network::fill(std::size_t place) {
  const Link& link = links_[columns_.links[place]];
  const std::size_t room = heat_capacity_j_k_.size();
  columns_.from[place] = static_cast<std::size_t>(link.from);
  columns_.to[place] = link.to == kRoom ? room : static_cast<std::size_t>(link.to);
  columns_.conductance_w_k[place] = link.conductance_w_k;
  if (place >= columns_.with_film)
    return;
  columns_.film_w_k54[place] =
      convection(link.area_m2, link.convection_factor, link.length_m, 1.0, 0.0).w;
  columns_.rays_w_k4[place] = radiation_strength(link.area_m2, link.emissivity);
}

// The same as flow_through(), without derivatives.
double Network::inflow(const Eigen::VectorXd& t_c, const Eigen::VectorXd& source_w,
                       Eigen::VectorXd& w) {
  if (columns_.links.size() != links_.size() || ends_c_.size() != heat_capacity_j_k_.size() + 1)
    build_columns();
  for (const std::size_t link : changed_) {
    const std::size_t place = columns_.places[link];
    if ((links_[link].area_m2 > 0.0) != (place < columns_.with_film)) {
      build_columns();
      break;
    }
    fill(place);
  }
  changed_.clear();
  const std::size_t nodes = heat_capacity_j_k_.size();
  std::copy_n(t_c.data(), nodes, ends_c_.data());
  ends_c_[nodes] = room_c_;
  const std::size_t count = columns_.from.size();
  for (std::size_t i = 0; i < count; ++i) {
    columns_.from_c[i] = ends_c_[columns_.from[i]];
    columns_.to_c[i] = ends_c_[columns_.to[i]];
  }
  film_flows(columns_.with_film, columns_.conductance_w_k.data(), columns_.film_w_k54.data(),
             columns_.rays_w_k4.data(), columns_.from_c.data(), columns_.to_c.data(),
             columns_.flow_w.data());
  plain_flows(columns_.with_film, count, columns_.conductance_w_k.data(), columns_.from_c.data(),
              columns_.to_c.data(), columns_.flow_w.data());
  const auto flows_into = [this](std::size_t node) {
    double into_w = 0.0;
    double away_w = 0.0;
    for (std::size_t i = columns_.first_to[node]; i < columns_.first_from[node]; ++i)
      into_w += columns_.flow_w[columns_.ends[i]];
    for (std::size_t i = columns_.first_from[node]; i < columns_.first_to[node + 1]; ++i)
      away_w += columns_.flow_w[columns_.ends[i]];
    return into_w - away_w;
  };
  for (std::size_t node = 0; node < nodes; ++node) {
    const auto row = static_cast<Eigen::Index>(node);
    w[row] = source_w[row] + flows_into(node);
  }
  return flows_into(nodes);
}

void Network::jacobian(const Eigen::VectorXd& t_c, Eigen::MatrixXd& w_per_k) const {
  w_per_k.setZero();
  for (const Link& link : links_) {
    const Flow flow = flow_through(link, temperature(link.from, t_c), temperature(link.to, t_c));
    w_per_k(link.from, link.from) -= flow.w_per_k;
    if (link.to == kRoom)
      continue;
    w_per_k(link.from, link.to) += flow.w_per_k_cold;
    w_per_k(link.to, link.from) += flow.w_per_k;
    w_per_k(link.to, link.to) -= flow.w_per_k_cold;
  }
}

}  // namespace platetally::heat
