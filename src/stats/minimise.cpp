#include "stats/minimise.hpp"

#include <nlopt.h>

#include <boost/math/tools/roots.hpp>
#include <cmath>
#include <cstdint>
#include <memory>

#include "base/expects.hpp"

namespace goodside::stats {
namespace {

constexpr int most_evaluations = 20000, most_restarts = 8;
constexpr double least_gain = 1e-13;

struct Free {
  void operator()(nlopt_opt search) const { nlopt_destroy(search); }
};

struct Counted {
  const std::function<double(std::span<const double>)>& function;
  int evaluations{};
};

double evaluate(unsigned count, const double* at, double*, void* data) {
  auto& counted = *static_cast<Counted*>(data);
  ++counted.evaluations;
  return counted.function({at, count});
}

nlopt_result run(const Search& search, Counted& counted, Minimum& best) {
  const auto count = static_cast<unsigned>(search.start.size());
  const std::unique_ptr<nlopt_opt_s, Free> engine{nlopt_create(NLOPT_LN_BOBYQA, count)};
  nlopt_set_lower_bounds(engine.get(), search.low.data());
  nlopt_set_upper_bounds(engine.get(), search.high.data());
  nlopt_set_min_objective(engine.get(), evaluate, &counted);
  nlopt_set_initial_step(engine.get(), search.first_step.data());
  std::vector<double> precision = search.first_step;
  for (double& one : precision) one *= search.tolerance;
  nlopt_set_xtol_abs(engine.get(), precision.data());
  nlopt_set_maxeval(engine.get(), most_evaluations);
  return nlopt_optimize(engine.get(), best.at.data(), &best.value);
}

}  // namespace

Result<Minimum> minimise(const std::function<double(std::span<const double>)>& function,
                         const Search& search) {
  const std::size_t count = search.start.size();
  EXPECTS(count > 0 && search.first_step.size() == count && search.low.size() == count &&
          search.high.size() == count);
  Counted counted{function};
  Minimum best{.at = search.start, .value = function(search.start)};
  for (int again = 0; again < most_restarts; ++again) {
    const double before = best.value;
    Minimum next = best;
    const nlopt_result ended = run(search, counted, next);
    // Rounding ends a search that has come as close as doubles let it.
    if (ended < 0 && ended != NLOPT_ROUNDOFF_LIMITED) break;
    if (ended == NLOPT_MAXEVAL_REACHED) break;
    if (next.value < best.value) best = next;
    if (search.once || !(before - best.value > least_gain * (1.0 + std::abs(best.value)))) {
      best.evaluations = counted.evaluations;
      return best;
    }
  }
  return Error{Fault::not_converged, "the search for the best fit did not settle"};
}

Result<double> root(const std::function<double(double)>& function,
                    double low,
                    double high,
                    int bits) {
  const double at_low = function(low), at_high = function(high);
  if (at_low == 0.0) return low;
  if (at_high == 0.0) return high;
  if ((at_low < 0.0) == (at_high < 0.0))
    return Error{Fault::not_converged, "no change of sign between the ends of the search"};
  std::uintmax_t steps = 200;
  const auto [from, to] = boost::math::tools::toms748_solve(
      function,
      low,
      high,
      at_low,
      at_high,
      boost::math::tools::eps_tolerance<double>(static_cast<unsigned>(bits)),
      steps);
  return 0.5 * (from + to);
}

}  // namespace goodside::stats
