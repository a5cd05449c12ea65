#include "stats/minimise_within.hpp"

#include <nlopt.h>

#include <algorithm>
#include <memory>

#include "base/expects.hpp"

namespace goodside::stats {
namespace {

struct Free {
  void operator()(nlopt_opt search) const { nlopt_destroy(search); }
};

/// Value and margins are asked for apart, always at the place just weighed.
struct Asked {
  const std::function<Weighed(std::span<const double>)>& function;
  std::vector<double> at;
  Weighed weighed;
  int evaluations{};

  const Weighed& look(const double* place, std::size_t count) {
    const std::span<const double> here{place, count};
    if (!std::ranges::equal(here, at)) {
      at.assign(here.begin(), here.end());
      weighed = function(here);
      ++evaluations;
    }
    return weighed;
  }
};

double value(unsigned count, const double* at, double*, void* data) {
  return static_cast<Asked*>(data)->look(at, count).value;
}

void broken(unsigned margins, double* out, unsigned count, const double* at, double*, void* data) {
  const Weighed& weighed = static_cast<Asked*>(data)->look(at, count);
  EXPECTS(weighed.margins.size() == margins);
  for (std::size_t i = 0; i < margins; ++i) out[i] = -weighed.margins[i];
}

}  // namespace

Result<Minimum> minimise_within(const std::function<Weighed(std::span<const double>)>& function,
                                const Search& search,
                                std::size_t margins,
                                int most_evaluations) {
  const std::size_t count = search.start.size();
  EXPECTS(count > 0 && margins > 0 && search.first_step.size() == count &&
          search.low.size() == count && search.high.size() == count);
  Asked asked{function, {}, {}, 0};
  const std::unique_ptr<nlopt_opt_s, Free> engine{
      nlopt_create(NLOPT_LN_COBYLA, static_cast<unsigned>(count))};
  nlopt_set_lower_bounds(engine.get(), search.low.data());
  nlopt_set_upper_bounds(engine.get(), search.high.data());
  nlopt_set_min_objective(engine.get(), value, &asked);
  const std::vector<double> slack(margins, 1e-6);
  nlopt_add_inequality_mconstraint(
      engine.get(), static_cast<unsigned>(margins), broken, &asked, slack.data());
  nlopt_set_initial_step(engine.get(), search.first_step.data());
  std::vector<double> precision = search.first_step;
  for (double& one : precision) one *= search.tolerance;
  nlopt_set_xtol_abs(engine.get(), precision.data());
  nlopt_set_maxeval(engine.get(), most_evaluations);
  Minimum best{.at = search.start, .value = 0.0, .evaluations = 0};
  const nlopt_result ended = nlopt_optimize(engine.get(), best.at.data(), &best.value);
  best.evaluations = asked.evaluations;
  if (ended < 0 && ended != NLOPT_ROUNDOFF_LIMITED)
    return Error{Fault::not_converged, "the search within the limits did not settle"};
  return best;
}

}  // namespace goodside::stats
