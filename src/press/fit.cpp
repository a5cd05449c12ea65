#include "press/fit.hpp"

#include <fmt/format.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>

#include "press/input.hpp"
#include "stats/minimise.hpp"

namespace goodside::press {
namespace {

constexpr double thermocouple_K = 1.0, gauge_share = 0.02;  ///< of one reading, from memory
constexpr double unknown = std::numeric_limits<double>::quiet_NaN();

/// An unknown that is found on a logarithmic scale, and what is believed of it beforehand.
struct Unknown {
  const char* name;
  double believed;  ///< standard deviation of its logarithm
};

/// The residuals of a setup, each over what one reading is good to; empty where it cannot run.
using Residuals = std::function<std::vector<double>(const CycleSetup&)>;

CycleSetup with(const CycleSetup& setup,
                const std::vector<Unknown>& unknowns,
                std::span<const double> logs) {
  CycleSetup other = setup;
  for (std::size_t i = 0; i < unknowns.size(); ++i) {
    const Input& input = **find_input(unknowns[i].name);
    set_both(other, input, input.get(setup, 0) * std::exp(logs[i]));
  }
  return other;
}

double rms(const std::vector<double>& residuals, double one) {
  double sum = 0.0;
  for (const double each : residuals) sum += each * each;
  return residuals.empty() ? unknown : one * std::sqrt(sum / static_cast<double>(residuals.size()));
}

struct Search {
  CycleSetup setup;
  std::vector<Fitted::Factor> factors;
  std::vector<double> before, after;
};

Result<Search> least_squares(const CycleSetup& setup,
                             const std::vector<Unknown>& unknowns,
                             const Residuals& residuals) {
  const std::size_t count = unknowns.size();
  const auto cost = [&](std::span<const double> logs) {
    const auto all = residuals(with(setup, unknowns, logs));
    double sum = all.empty() ? 1e12 : 0.0;
    for (const double one : all) sum += one * one;
    for (std::size_t i = 0; i < count; ++i)
      sum += logs[i] * logs[i] / (unknowns[i].believed * unknowns[i].believed);
    return sum;
  };
  stats::Search bounds{.start = std::vector<double>(count, 0.0),
                       .first_step = std::vector<double>(count, 0.15),
                       .low = {},
                       .high = {},
                       .tolerance = 1e-2,
                       .once = true};
  for (const Unknown& one : unknowns) {
    bounds.low.push_back(-3.0 * one.believed);
    bounds.high.push_back(3.0 * one.believed);
  }
  const auto found = stats::minimise(cost, bounds);
  if (!found) return found.error();
  Search out{.setup = with(setup, unknowns, found->at),
             .factors = {},
             .before = residuals(setup),
             .after = residuals(with(setup, unknowns, found->at))};
  if (out.after.empty())
    return Error{Fault::not_converged,
                 "the fit met no cycle that can run; look at the log's times"};

  // Gauss and Newton's normal matrix, the beliefs among the observations.
  const auto rows = static_cast<Eigen::Index>(out.after.size());
  const auto columns = static_cast<Eigen::Index>(count);
  Eigen::MatrixXd slope(rows, columns);
  constexpr double step = 0.02;
  for (Eigen::Index j = 0; j < columns; ++j) {
    std::vector<double> place = found->at;
    place[static_cast<std::size_t>(j)] += step;
    const auto beyond = residuals(with(setup, unknowns, place));
    for (Eigen::Index i = 0; i < rows; ++i) {
      const auto k = static_cast<std::size_t>(i);
      slope(i, j) = beyond.size() == out.after.size() ? (beyond[k] - out.after[k]) / step : 0.0;
    }
  }
  Eigen::MatrixXd normal = slope.transpose() * slope;
  // Readings that follow one another say less: (1 + r)/(1 - r) of an AR(1) residual.
  double square = 0.0, next = 0.0;
  for (std::size_t i = 0; i < out.after.size(); ++i) {
    square += out.after[i] * out.after[i];
    if (i > 0) next += out.after[i] * out.after[i - 1];
  }
  const double r = square > 0.0 ? std::clamp(next / square, 0.0, 0.98) : 0.0;
  const double scatter = std::max(1.0, square / std::max(1.0, static_cast<double>(rows - columns)));
  normal /= scatter * (1.0 + r) / (1.0 - r);
  for (Eigen::Index j = 0; j < columns; ++j) {
    const double believed = unknowns[static_cast<std::size_t>(j)].believed;
    normal(j, j) += 1.0 / (believed * believed);
  }
  const Eigen::MatrixXd covariance = normal.inverse();
  for (std::size_t i = 0; i < count; ++i) {
    const auto j = static_cast<Eigen::Index>(i);
    const Input& input = **find_input(unknowns[i].name);
    out.factors.push_back(
        {unknowns[i].name, input.get(out.setup, 0), std::sqrt(std::max(0.0, covariance(j, j)))});
    std::erase_if(out.setup.fitted, [&](const auto& one) { return one.first == unknowns[i].name; });
    out.setup.fitted.emplace_back(unknowns[i].name, out.factors.back().deviation);
  }
  return out;
}

double at_time(const std::vector<Moment>& moments,
               double time_s,
               const std::function<double(const Moment&)>& value) {
  const auto after = std::ranges::lower_bound(moments, time_s, {}, &Moment::time_s);
  if (after == moments.end() || after == moments.begin())
    return moments.empty() || time_s > moments.back().time_s + 1e-6
               ? unknown
               : value(after == moments.end() ? moments.back() : *after);
  const Moment &b = *after, &a = *std::prev(after);
  const double span = b.time_s - a.time_s;
  const double share = span > 0.0 ? (time_s - a.time_s) / span : 1.0;
  return value(a) + share * (value(b) - value(a));
}

}  // namespace

Result<Fitted> fit_thermocouples(const CycleSetup& setup, const std::vector<Readings>& readings) {
  CycleOptions options{.numerics = {}, .keep_moments = true, .steel = {}};
  std::size_t known = 0;
  for (const Readings& one : readings) {
    for (const double value : one.temperature_K) known += std::isnan(value) ? 0U : 1U;
    if (!one.probe.side || !one.probe.depth_m) continue;
    const Side& side = setup.sides[*one.probe.side];
    if (*one.probe.depth_m > side.die_thickness_m)
      return Error{
          Fault::bad_input,
          fmt::format("{}: the die is {:.4g} mm thick, and the thermocouple would sit behind "
                      "it; mend its depth",
                      one.probe.name,
                      1e3 * side.die_thickness_m)};
    options.steel.push_back({*one.probe.side, *one.probe.depth_m});
  }
  constexpr std::size_t fewest = 20;
  if (known < fewest)
    return Error{Fault::bad_input,
                 fmt::format("{} readings are too few for a fit; give {} or more", known, fewest)};
  State guess;
  int cycles = 0;
  const auto residuals = [&](const CycleSetup& at) {
    std::vector<double> all;
    const auto periodic = periodic_state(at, {}, guess);
    if (!periodic) return all;
    guess = periodic->state;
    cycles += periodic->cycles + 1;
    const auto cycle = run_cycle(at, periodic->state, options);
    std::size_t steel = 0;
    for (const Readings& one : readings) {
      const bool in_steel = one.probe.side && one.probe.depth_m;
      const std::size_t index = in_steel ? steel++ : 0;
      const auto value = [&](const Moment& moment) {
        if (in_steel) return moment.steel_K[index];
        if (one.probe.side) return moment.face_K[*one.probe.side];
        return moment.closed ? moment.middle_K : unknown;
      };
      for (std::size_t i = 0; i < one.time_s.size(); ++i) {
        if (std::isnan(one.temperature_K[i])) continue;
        const double model = at_time(cycle.moments, one.time_s[i], value);
        if (!std::isnan(model)) all.push_back((model - one.temperature_K[i]) / thermocouple_K);
      }
    }
    return all;
  };
  const std::vector<Unknown> unknowns{{"steam_factor", 0.5},
                                      {"water_factor", 0.3},
                                      {"contact_factor", 0.7},
                                      {"steam_lag", 0.7},
                                      {"water_lag", 0.7}};
  auto found = least_squares(setup, unknowns, residuals);
  if (!found) return found.error();
  return Fitted{.setup = std::move(found->setup),
                .factors = std::move(found->factors),
                .rms_K = rms(found->after, thermocouple_K),
                .rms_before_K = rms(found->before, thermocouple_K),
                .rms_share = 0.0,
                .rms_before_share = 0.0,
                .cycles = cycles};
}

Result<Fitted> fit_ladder(const CycleSetup& setup, const std::vector<Rung>& rungs) {
  const double seated = 1.01 * setup.stop();
  if (std::ranges::none_of(rungs, [&](const Rung& one) { return one.thickness_m > seated; }))
    return Error{
        Fault::bad_input,
        fmt::format("every charge of the ladder came out at the stop of {:.4g} mm, which tells "
                    "its volume and not its flow; press with less force or time, or without "
                    "the stop",
                    1e3 * setup.stop())};
  const auto periodic = periodic_state(setup);
  if (!periodic) return periodic.error();
  std::vector<CycleSetup> charges;
  for (const Rung& rung : rungs) {
    CycleSetup one = setup;
    one.biscuit.mass_kg = rung.mass_kg;
    if (const auto held = check(one); !held)
      return Error{held.error().fault,
                   fmt::format("charge of {:.4g} g: {}", 1e3 * rung.mass_kg, held.error().text)};
    charges.push_back(std::move(one));
  }
  int cycles = periodic->cycles;
  const auto residuals = [&](const CycleSetup& at) {
    std::vector<double> all;
    for (std::size_t i = 0; i < rungs.size(); ++i) {
      CycleSetup one = at;
      one.biscuit.mass_kg = rungs[i].mass_kg;
      const auto cycle = run_cycle(one, periodic->state);
      ++cycles;
      all.push_back(std::log(cycle.final_gap_m / rungs[i].thickness_m) / gauge_share);
      all.push_back(std::log(2.0 * cycle.final_radius_m / rungs[i].diameter_m) / gauge_share);
    }
    return all;
  };
  std::vector<Unknown> unknowns{{"consistency_factor", 1.1}};
  constexpr std::size_t enough_for_exponent = 4;
  if (rungs.size() >= enough_for_exponent) unknowns.push_back({"flow_exponent", 0.12});
  auto found = least_squares(setup, unknowns, residuals);
  if (!found) return found.error();
  return Fitted{.setup = std::move(found->setup),
                .factors = std::move(found->factors),
                .rms_K = 0.0,
                .rms_before_K = 0.0,
                .rms_share = rms(found->after, gauge_share),
                .rms_before_share = rms(found->before, gauge_share),
                .cycles = cycles};
}

}  // namespace goodside::press
