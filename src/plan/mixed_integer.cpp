#include "plan/mixed_integer.hpp"

#include <glpk.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <memory>

namespace goodside::plan {
namespace {

struct Freed {
  void operator()(glp_prob* problem) const { glp_delete_prob(problem); }
};
using Problem = std::unique_ptr<glp_prob, Freed>;

/// The library keeps an environment a thread; it goes with the answer, so that no thread leaves one behind.
struct Environment {
  Environment() { glp_term_out(GLP_OFF); }
  Environment(const Environment&) = delete;
  Environment& operator=(const Environment&) = delete;
  ~Environment() { glp_free_env(); }
};

struct Watch {
  int nodes{}, most{};
  double bound{-std::numeric_limits<double>::infinity()};
};

void count_nodes(glp_tree* tree, void* info) {
  auto* watch = static_cast<Watch*>(info);
  if (glp_ios_reason(tree) != GLP_ISELECT) return;
  const int best = glp_ios_best_node(tree);
  if (best != 0) watch->bound = glp_ios_node_bound(tree, best);
  if (++watch->nodes > watch->most) glp_ios_terminate(tree);
}

Problem pose(const MixedInteger& from) {
  Problem problem{glp_create_prob()};
  glp_set_obj_dir(problem.get(), GLP_MIN);
  glp_add_cols(problem.get(), static_cast<int>(from.columns.size()));
  for (std::size_t j = 0; j < from.columns.size(); ++j) {
    const auto& column = from.columns[j];
    const int number = static_cast<int>(j) + 1;
    glp_set_obj_coef(problem.get(), number, column.cost);
    if (column.whole && column.upper == 1.0) {
      glp_set_col_kind(problem.get(), number, GLP_BV);
    } else {
      glp_set_col_bnds(
          problem.get(), number, std::isfinite(column.upper) ? GLP_DB : GLP_LO, 0.0, column.upper);
      if (column.whole) glp_set_col_kind(problem.get(), number, GLP_IV);
    }
  }
  glp_add_rows(problem.get(), static_cast<int>(from.rows.size()));
  std::vector<int> places;
  std::vector<double> factors;
  for (std::size_t i = 0; i < from.rows.size(); ++i) {
    const auto& row = from.rows[i];
    const int number = static_cast<int>(i) + 1;
    const bool below = std::isfinite(row.low), above = std::isfinite(row.high);
    const int kind = below && above ? (row.low == row.high ? GLP_FX : GLP_DB)
                     : below        ? GLP_LO
                     : above        ? GLP_UP
                                    : GLP_FR;
    glp_set_row_bnds(problem.get(), number, kind, row.low, row.high);
    places.assign(1, 0);
    factors.assign(1, 0.0);
    for (const int column : row.columns) places.push_back(column + 1);
    factors.insert(factors.end(), row.factors.begin(), row.factors.end());
    glp_set_mat_row(
        problem.get(), number, static_cast<int>(row.columns.size()), places.data(), factors.data());
  }
  return problem;
}

}  // namespace

Result<MixedIntegerAnswer> solve(const MixedInteger& from, const MixedIntegerLimits& limits) {
  const Environment environment;
  const Problem problem = pose(from);
  glp_smcp simplex;
  glp_init_smcp(&simplex);
  simplex.msg_lev = GLP_MSG_OFF;
  simplex.meth = GLP_DUALP;
  simplex.it_lim = limits.pivots;
  simplex.presolve = GLP_OFF;
  if (glp_simplex(problem.get(), &simplex) != 0)
    return Error{Fault::not_converged,
                 "the relaxation met its budget of pivots; make the problem smaller"};
  if (glp_get_status(problem.get()) == GLP_NOFEAS || glp_get_status(problem.get()) == GLP_UNDEF ||
      glp_get_status(problem.get()) == GLP_INFEAS)
    return Error{Fault::out_of_range, "nothing is feasible"};
  MixedIntegerAnswer answer;
  answer.bound = glp_get_obj_val(problem.get());
  Watch watch{.nodes = 0, .most = limits.nodes};
  glp_iocp cuts;
  glp_init_iocp(&cuts);
  cuts.msg_lev = GLP_MSG_OFF;
  cuts.br_tech = GLP_BR_DTH;
  cuts.bt_tech = GLP_BT_BLB;
  cuts.cb_func = count_nodes;
  cuts.cb_info = &watch;
  const int ended = limits.nodes > 0 ? glp_intopt(problem.get(), &cuts) : GLP_ESTOP;
  const int status = limits.nodes > 0 ? glp_mip_status(problem.get()) : GLP_UNDEF;
  answer.proven = ended == 0 && status == GLP_OPT;
  answer.found = status == GLP_OPT || status == GLP_FEAS;
  if (answer.found) {
    answer.value = glp_mip_obj_val(problem.get());
    for (std::size_t j = 0; j < from.columns.size(); ++j)
      answer.values.push_back(glp_mip_col_val(problem.get(), static_cast<int>(j) + 1));
  }
  if (answer.proven)
    answer.bound = answer.value;
  else if (watch.nodes > 1)
    answer.bound = std::max(answer.bound, watch.bound);
  if (ended == 0 && status == GLP_NOFEAS) return Error{Fault::out_of_range, "nothing is feasible"};
  return answer;
}

}  // namespace goodside::plan
