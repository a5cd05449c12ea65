#include "plan/run_length.hpp"

#include <fmt/format.h>

#include <Eigen/Dense>
#include <cmath>
#include <numbers>
#include <vector>

#include "base/expects.hpp"
#include "stats/interval.hpp"
#include "stats/minimise.hpp"
#include "stats/quadrature.hpp"

namespace goodside::plan {
namespace {

double density(double z) {
  return std::exp(-0.5 * z * z) / std::sqrt(2.0 * std::numbers::pi);
}

struct Node {
  double at, weight;
};
/// Gauss panels over a range, none wider than `widest`.
std::vector<Node> panels(double from, double to, double widest) {
  const int count = std::max(1, static_cast<int>(std::ceil((to - from) / widest)));
  const double width = (to - from) / count;
  std::vector<Node> nodes;
  for (int p = 0; p < count; ++p)
    for (const auto& [at, weight] : stats::gauss_legendre())
      nodes.push_back({from + width * (p + at), width * weight});
  return nodes;
}

Eigen::Index index(std::size_t i) {
  return static_cast<Eigen::Index>(i);
}

Outcome check(double points) {
  if (points >= 10.0 && points <= 1e6) return Done{};
  return Error{Fault::out_of_range,
               fmt::format("a false signal every {:g} points; 10 to 1e6", points)};
}

}  // namespace

double run_length_one_side(const CusumDesign& design, double shift) {
  EXPECTS(design.allowance >= 0.0 && design.decision > 0.0 && design.decision <= 50.0);
  const auto nodes = panels(0.0, design.decision, 2.0);
  const std::size_t n = nodes.size();
  // Unknowns: L at the nodes, and at nought.
  Eigen::MatrixXd matrix = Eigen::MatrixXd::Identity(index(n + 1), index(n + 1));
  const Eigen::VectorXd ones = Eigen::VectorXd::Ones(index(n + 1));
  for (std::size_t i = 0; i <= n; ++i) {
    const double u = i < n ? nodes[i].at : 0.0;
    const double edge = design.allowance - u - shift;
    for (std::size_t j = 0; j < n; ++j)
      matrix(index(i), index(j)) -= nodes[j].weight * density(nodes[j].at + edge);
    matrix(index(i), index(n)) -= stats::normal_below(edge);
  }
  return matrix.partialPivLu().solve(ones)(index(n));
}

double run_length(const CusumDesign& design, double shift) {
  return 1.0 /
         (1.0 / run_length_one_side(design, shift) + 1.0 / run_length_one_side(design, -shift));
}

double run_length(const EwmaDesign& design, double shift) {
  EXPECTS(design.weight >= 0.01 && design.weight <= 1.0);
  EXPECTS(design.width > 0.0 && design.width <= 6.0);
  const double w = design.weight;
  const double edge = design.width * std::sqrt(w / (2.0 - w));
  const auto nodes = panels(-edge, edge, 2.0 * w);
  const std::size_t n = nodes.size();
  Eigen::MatrixXd matrix = Eigen::MatrixXd::Identity(index(n), index(n));
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < n; ++j)
      matrix(index(i), index(j)) -=
          nodes[j].weight / w * density((nodes[j].at - (1.0 - w) * nodes[i].at) / w - shift);
  const Eigen::VectorXd lengths = matrix.partialPivLu().solve(Eigen::VectorXd::Ones(index(n)));
  double mean = 1.0;
  for (std::size_t j = 0; j < n; ++j)
    mean += nodes[j].weight / w * density(nodes[j].at / w - shift) * lengths(index(j));
  return mean;
}

Result<CusumDesign> cusum_for(double allowance, double points) {
  if (const auto checked = check(points); !checked) return checked.error();
  const auto beyond = [&](double h) {
    return std::log(run_length(CusumDesign{allowance, h}, 0.0) / points);
  };
  constexpr double least = 0.05, most = 50.0;
  double high = 2.0 * least;
  while (high < most && beyond(high) < 0.0) high *= 1.5;
  if (high >= most || beyond(least) > 0.0)
    return Error{Fault::out_of_range,
                 fmt::format("no decision gives a false signal every {:g} points with an allowance "
                             "of {:g}; take another allowance",
                             points,
                             allowance)};
  const auto decision = stats::root(beyond, least, high);
  if (!decision) return decision.error();
  return CusumDesign{allowance, *decision};
}

Result<EwmaDesign> ewma_for(double weight, double points) {
  if (const auto checked = check(points); !checked) return checked.error();
  const auto beyond = [&](double width) {
    return std::log(run_length(EwmaDesign{weight, width}, 0.0) / points);
  };
  constexpr double least = 0.1, most = 6.0;
  if (beyond(least) > 0.0 || beyond(most) < 0.0)
    return Error{Fault::out_of_range,
                 fmt::format("no width gives a false signal every {:g} points with a weight of "
                             "{:g}; take a greater weight",
                             points,
                             weight)};
  const auto width = stats::root(beyond, least, most);
  if (!width) return width.error();
  return EwmaDesign{weight, *width};
}

}  // namespace goodside::plan
