#include "press/heat.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/expects.hpp"

namespace goodside::press {
namespace {

constexpr double gamma = 1.0 - 1.0 / std::numbers::sqrt2;
constexpr int passes = 2;

/// From the centre of a cell to its face, for the part of the column that it covers.
double half_conductance(const Cell& cell, double temperature_K) {
  return cell.share * 2.0 * cell.conductivity->at(temperature_K) / cell.thickness_m;
}

}  // namespace

Column::Column(std::vector<Cell> cells, double temperature_K) : cells_{std::move(cells)} {
  EXPECTS(!cells_.empty());
  const std::size_t n = cells_.size();
  temperature_.assign(n, temperature_K);
  heat_.resize(n);
  for (std::size_t i = 0; i < n; ++i) heat_[i] = cells_[i].heat->heat_J_per_m3(temperature_K);
  for (auto* buffer : {&link_, &at_, &gain_, &first_gain_, &held_, &diagonal_, &right_})
    buffer->assign(n, 0.0);
}

void Column::set_temperature(std::size_t i, double temperature_K) {
  temperature_[i] = temperature_K;
  heat_[i] = cells_[i].heat->heat_J_per_m3(temperature_K);
}

double Column::heat_J_per_m2(std::size_t from, std::size_t to) const {
  double sum = 0.0;
  for (std::size_t i = from; i < to; ++i) sum += heat_[i] * cells_[i].thickness_m * cells_[i].share;
  return sum;
}

/// Links and ties at the temperatures given. A plane between two cells has no heat of its own:
/// eliminating its temperature leaves a star of three conductances as a triangle.
void Column::assemble(std::span<const double> at_K, std::span<const Exchange> exchanges) {
  const std::size_t n = cells_.size();
  std::size_t i = 0;
  for (; i + 1 < n; ++i) {
    if (!cells_[i].joined) {
      link_[i] = 0.0;
      continue;
    }
    const double touching = std::min(cells_[i].share, cells_[i + 1].share);
    link_[i] = 1.0 /
               (cells_[i].thickness_m / (2.0 * cells_[i].conductivity->at(at_K[i])) +
                cells_[i].resistance_m2K_per_W +
                cells_[i + 1].thickness_m / (2.0 * cells_[i + 1].conductivity->at(at_K[i + 1]))) *
               touching;
  }
  ties_.clear();
  for (std::size_t e = 0; e < exchanges.size(); ++e) {
    const Exchange& one = exchanges[e];
    if (one.film_W_per_m2K <= 0.0) continue;
    const double first = half_conductance(cells_[one.cell], at_K[one.cell]);
    if (!one.plane) {
      ties_.push_back(
          {one.cell, 1.0 / (1.0 / first + 1.0 / one.film_W_per_m2K), one.temperature_K, e});
      continue;
    }
    const double second = half_conductance(cells_[one.cell + 1], at_K[one.cell + 1]);
    const double sum = first + second + one.film_W_per_m2K;
    link_[one.cell] = first * second / sum;
    ties_.push_back({one.cell, one.film_W_per_m2K * first / sum, one.temperature_K, e});
    ties_.push_back({one.cell + 1, one.film_W_per_m2K * second / sum, one.temperature_K, e});
  }
}

/// heat(T) = held + weight gain(T), linearised about at_; leaves T in at_.
void Column::solve(double weight_s, std::span<const double> held, std::span<const double> source) {
  const std::size_t n = cells_.size();
  for (std::size_t i = 0; i < n; ++i) {
    const double volume = cells_[i].thickness_m * cells_[i].share / weight_s;
    const double capacity = volume * cells_[i].heat->capacity_J_per_m3K(at_[i]);
    diagonal_[i] = capacity;
    right_[i] = volume * (held[i] - cells_[i].heat->heat_J_per_m3(at_[i])) + capacity * at_[i] +
                (source.empty() ? 0.0 : source[i]);
  }
  for (std::size_t i = 0; i + 1 < n; ++i) {
    diagonal_[i] += link_[i];
    diagonal_[i + 1] += link_[i];
  }
  for (const Tie& tie : ties_) {
    diagonal_[tie.cell] += tie.conductance;
    right_[tie.cell] += tie.conductance * tie.temperature_K;
  }
  // Symmetric and diagonally dominant: elimination without pivots [Golub and Van Loan, 4.3].
  for (std::size_t i = 1; i < n; ++i) {
    const double factor = link_[i - 1] / diagonal_[i - 1];
    diagonal_[i] -= factor * link_[i - 1];
    right_[i] += factor * right_[i - 1];
  }
  at_[n - 1] = right_[n - 1] / diagonal_[n - 1];
  for (std::size_t i = n - 1; i-- > 0;) at_[i] = (right_[i] + link_[i] * at_[i + 1]) / diagonal_[i];
}

/// What each cell gains [W/m2] at at_, and what each exchange gives.
void Column::rates(std::span<const double> source) {
  const std::size_t n = cells_.size();
  for (std::size_t i = 0; i < n; ++i) gain_[i] = source.empty() ? 0.0 : source[i];
  for (std::size_t i = 0; i + 1 < n; ++i) {
    const double flux = link_[i] * (at_[i] - at_[i + 1]);
    gain_[i] -= flux;
    gain_[i + 1] += flux;
  }
  std::ranges::fill(flow_, 0.0);
  for (const Tie& tie : ties_) {
    const double flux = tie.conductance * (tie.temperature_K - at_[tie.cell]);
    gain_[tie.cell] += flux;
    flow_[tie.exchange] += flux;
  }
}

void Column::step(double time_s,
                  std::span<Exchange> exchanges,
                  const Reservoirs& reservoirs,
                  std::span<const double> source_W_per_m2,
                  std::span<double> given_J_per_m2) {
  const std::size_t n = cells_.size();
  EXPECTS(given_J_per_m2.size() == exchanges.size());
  EXPECTS(source_W_per_m2.empty() || source_W_per_m2.size() == n);
  flow_.assign(exchanges.size(), 0.0);
  first_flow_.assign(exchanges.size(), 0.0);
  at_ = temperature_;
  const auto stage = [&](double after_s, std::span<const double> held) {
    reservoirs(after_s, exchanges);
    for (int pass = 0; pass < passes; ++pass) {
      assemble(at_, exchanges);
      solve(gamma * time_s, held, source_W_per_m2);
    }
    rates(source_W_per_m2);
  };
  stage(gamma * time_s, heat_);
  std::swap(gain_, first_gain_);
  std::swap(flow_, first_flow_);
  for (std::size_t i = 0; i < n; ++i)
    held_[i] = heat_[i] +
               (1.0 - gamma) * time_s * first_gain_[i] / (cells_[i].thickness_m * cells_[i].share);
  stage(time_s, held_);
  for (std::size_t i = 0; i < n; ++i) {
    heat_[i] = held_[i] + gamma * time_s * gain_[i] / (cells_[i].thickness_m * cells_[i].share);
    temperature_[i] = cells_[i].heat->temperature_K(heat_[i]);
  }
  for (std::size_t e = 0; e < exchanges.size(); ++e)
    given_J_per_m2[e] += time_s * ((1.0 - gamma) * first_flow_[e] + gamma * flow_[e]);
}

Column::Faces Column::faces(std::size_t i) const {
  const Cell &one = cells_[i], &next = cells_[i + 1];
  const double before = one.thickness_m / (2.0 * one.conductivity->at(temperature_[i]));
  const double behind = next.thickness_m / (2.0 * next.conductivity->at(temperature_[i + 1]));
  const double flux =
      (temperature_[i] - temperature_[i + 1]) / (before + one.resistance_m2K_per_W + behind);
  return {temperature_[i] - before * flux, temperature_[i + 1] + behind * flux};
}

double Column::plane_K(const Exchange& one) const {
  const double first = half_conductance(cells_[one.cell], temperature_[one.cell]);
  const double second = half_conductance(cells_[one.cell + 1], temperature_[one.cell + 1]);
  return (first * temperature_[one.cell] + second * temperature_[one.cell + 1] +
          one.film_W_per_m2K * one.temperature_K) /
         (first + second + one.film_W_per_m2K);
}

}  // namespace goodside::press
