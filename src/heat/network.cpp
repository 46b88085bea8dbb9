#include "heat/network.hpp"

#include "heat/film.hpp"

namespace platetally::heat {

namespace {

/// The flow alone, which is asked for far more often than how it changes.
double watts_through(const Link& link, double from_c, double to_c) {
  const double plain_w = link.conductance_w_k * (from_c - to_c);
  if (link.area_m2 <= 0.0)
    return plain_w;
  double film_w = 0.0;
  if (link.convection_factor > 0.0)
    film_w += convection(link.area_m2, link.convection_factor, link.length_m, from_c, to_c).w;
  if (link.emissivity > 0.0)
    film_w += radiation(link.area_m2, link.emissivity, from_c, to_c).w;
  return plain_w + film_w;
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
  return links_.size() - 1;
}

double Network::inflow(const Eigen::VectorXd& t_c, const Eigen::VectorXd& source_w,
                       Eigen::VectorXd& w) const {
  w = source_w;
  double to_room_w = 0.0;
  for (const Link& link : links_) {
    const double flow_w =
        watts_through(link, temperature(link.from, t_c), temperature(link.to, t_c));
    w[link.from] -= flow_w;
    if (link.to == kRoom)
      to_room_w += flow_w;
    else
      w[link.to] += flow_w;
  }
  return to_room_w;
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
